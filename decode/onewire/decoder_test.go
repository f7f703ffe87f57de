package onewire_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/decodetest"
	"tundish/decode/onewire"
)

const (
	flowProbe   = "28-0000a71c01f4"
	returnProbe = "28-0000a71c039b"
	oldProbe    = "10-000802e3d1aa"
)

// Files of w1_slave. The first is the example of the kernel's layout; checksums are computed.
const (
	warm    = "91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"
	hot     = "66 03 4b 46 7f ff 0a 10 57 : crc=57 YES\n66 03 4b 46 7f ff 0a 10 57 t=54375\n"
	frost   = "f8 ff 4b 46 7f ff 08 10 f8 : crc=f8 YES\nf8 ff 4b 46 7f ff 08 10 f8 t=-500\n"
	powerOn = "50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n50 05 4b 46 7f ff 0c 10 1c t=85000\n"
	at85    = "50 05 4b 46 7f ff 10 10 bd : crc=bd YES\n50 05 4b 46 7f ff 10 10 bd t=85000\n"
	noPower = "ff 07 4b 46 7f ff 0c 10 a6 : crc=a6 YES\nff 07 4b 46 7f ff 0c 10 a6 t=127937\n"
	refused = "ff ff ff ff ff ff ff ff ff : crc=c9 NO\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"
	zeros   = "00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t=0\n"
)

var noon = time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)

func newDecoder(t testing.TB) *onewire.Decoder {
	t.Helper()
	d, err := onewire.New(onewire.Config{Source: "probes", Points: map[string]onewire.Mapping{
		flowProbe:   {Point: decode.Flow},
		returnProbe: {Point: decode.Return, OffsetK: -0.19},
		oldProbe:    {Point: decode.Outside},
	}})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// at makes a record so many seconds after noon; Seq follows the time.
func at(seconds int, channel, payload string) capture.Record {
	return capture.Record{Seq: uint64(seconds + 1), At: time.Duration(seconds) * time.Second,
		Time: noon.Add(time.Duration(seconds) * time.Second), Source: "probes", Channel: channel, Payload: []byte(payload)}
}

func TestOneRecord(t *testing.T) {
	tests := []struct {
		name, channel, payload string
		want                   string // reading as text, or empty
		err                    error
		counted                string
	}{
		{"25.0625 °C", flowProbe, warm, "probes/flow 25.0625 good ", nil, "readings"},
		{"below zero", flowProbe, frost, "probes/flow -0.5 good ", nil, "readings"},
		{"offset", returnProbe, hot, "probes/return 54.185 good ", nil, "readings"},
		{"DS18S20", oldProbe, "32 00 4b 46 ff ff 0c 10 6b : crc=6b YES\n32 00 4b 46 ff ff 0c 10 6b t=25000\n", "probes/outside 25 good ", nil, "readings"},
		{"carriage returns", flowProbe, strings.ReplaceAll(warm, "\n", "\r\n"), "probes/flow 25.0625 good ", nil, "readings"},
		{"line 2 cut off whole", flowProbe, warm[:40], "probes/flow 25.0625 good ", nil, "readings"},
		{"millidegrees", flowProbe, "25062\n", "probes/flow 25.062 good ", nil, "readings"},
		{"millidegrees below zero", flowProbe, "-500", "probes/flow -0.5 good ", nil, "readings"},
		{"a line: both lines of the file", "", flowProbe + " " + strings.ReplaceAll(warm, "\n", " ") + "\r\n", "probes/flow 25.0625 good ", nil, "readings"},
		{"a line: the first line of the file", "", returnProbe + "\t" + hot[:40], "probes/return 54.185 good ", nil, "readings"},
		{"a line: millidegrees", "", strings.ToUpper(flowProbe) + "  25062\n", "probes/flow 25.062 good ", nil, "readings"},
		{"a line: kernel says NO", "", flowProbe + " " + strings.ReplaceAll(refused, "\n", " "), "", nil, "refused by the kernel (NO)"},
		{"a line: the probe did not answer", "", flowProbe + "\n", "", nil, "empty: the probe did not answer"},
		{"a line: probe not in the job sheet", "", "28-00000000ffff 25062\n", "", nil, "probe not in the job sheet"},
		{"a line: no probe", "", "25062\n", "", onewire.ErrLine, "not in the layout of w1_slave"},
		{"a line: the file as two lines and more", "", flowProbe + " " + strings.TrimSpace(warm[:40]) + " x\n" + warm[40:], "", onewire.ErrLayout, "not in the layout of w1_slave"},
		{"a line: °C", "", flowProbe + " 25.06\n", "", onewire.ErrLayout, "not in the layout of w1_slave"},
		{"a line: lines differ", "", flowProbe + " " + strings.ReplaceAll(warm[:40]+hot[40:], "\n", " "), "", onewire.ErrLines, "not in the layout of w1_slave"},
		{"kernel says NO", flowProbe, refused, "", nil, "refused by the kernel (NO)"},
		{"empty file", flowProbe, "", "", nil, "empty: the probe did not answer"},
		{"probe not in the job sheet", "28-00000000ffff", warm, "", nil, "probe not in the job sheet"},
		{"power-on", flowProbe, powerOn, "", onewire.ErrPowerOn, "power-on values"},
		{"too little power", flowProbe, noPower, "", onewire.ErrPower, "too little power"},
		{"too little power, millidegrees", flowProbe, "127937\n", "", onewire.ErrPower, "too little power"},
		{"all zero", flowProbe, zeros, "", onewire.ErrZero, "scratchpads that cannot be"},
		{"millidegrees out of range", flowProbe, "125500\n", "", onewire.ErrRange, "scratchpads that cannot be"},
		{"checksum wrong although YES", flowProbe, strings.ReplaceAll(warm, "91 01", "92 01"), "", onewire.ErrChecksum, "checksum errors"},
		{"lines differ", flowProbe, warm[:40] + hot[40:], "", onewire.ErrLines, "not in the layout of w1_slave"},
		{"cut off in line 1", flowProbe, warm[:36], "", onewire.ErrLayout, "not in the layout of w1_slave"},
		{"cut off in line 2", flowProbe, warm[:50], "", onewire.ErrLayout, "not in the layout of w1_slave"},
		{"cut off in t=", flowProbe, strings.TrimSuffix(warm, "25062\n"), "", onewire.ErrLayout, "not in the layout of w1_slave"},
		{"t= of another value", flowProbe, strings.Replace(warm, "t=25062", "t=25063", 1),
			"probes/flow 25.0625 doubtful the kernel's t= is not what the probe's bytes say", nil, "doubtful readings"},
		{"words", flowProbe, "no such device\n", "", onewire.ErrLayout, "not in the layout of w1_slave"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := newDecoder(t)
			var got []string
			err := d.Decode(at(0, tt.channel, tt.payload), func(r decode.Reading) {
				got = append(got, fmt.Sprintf("%s %v %s %s", r.Series, r.Value, r.Quality, r.Why))
			})
			if !errors.Is(err, tt.err) {
				t.Errorf("error %v, want %v", err, tt.err)
			}
			// What is no measurement names its series: whoever judges sensors wants to know of it.
			unmeasured := tt.err == onewire.ErrPowerOn || tt.err == onewire.ErrPower || tt.err == onewire.ErrZero || tt.err == onewire.ErrRange
			if e, ok := errors.AsType[*decode.Error](err); ok && (e.Series == decode.Series{Source: "probes", Point: decode.Flow}) != unmeasured {
				t.Errorf("the error is of series %v", e.Series)
			}
			if strings.Join(got, "\n") != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
			if n := tally(d)[tt.counted]; n != 1 {
				t.Errorf("%d %s counted", n, tt.counted)
			}
		})
	}
}

func tally(d *onewire.Decoder) map[string]uint64 {
	m := map[string]uint64{}
	for _, c := range d.Tally() {
		m[c.Name] = c.N
	}
	return m
}

// DS18B20 datasheet: 0550 is the power-on value, and also a true 85 °C. Only the neighbours can tell.
func TestEightyFive(t *testing.T) {
	tests := []struct {
		name    string
		records []capture.Record
		want    decode.Quality // of the last record
		why     string
	}{
		{"alone", []capture.Record{at(0, flowProbe, at85)}, decode.Doubtful, "no earlier reading"},
		{"after 84.9", []capture.Record{at(0, flowProbe, "84937\n"), at(1, flowProbe, at85)}, decode.Good, ""},
		{"reached at 3 K/s", []capture.Record{at(0, flowProbe, "76000\n"), at(3, flowProbe, at85)}, decode.Good, ""},
		{"faster than 3 K/s", []capture.Record{at(0, flowProbe, "75900\n"), at(3, flowProbe, at85)}, decode.Doubtful, "that fast"},
		{"20 K in 30 s", []capture.Record{at(0, flowProbe, "65000\n"), at(30, flowProbe, at85)}, decode.Good, ""},
		{"more than 20 K in 30 s", []capture.Record{at(0, flowProbe, "64900\n"), at(30, flowProbe, at85)}, decode.Doubtful, "that fast"},
		{"neighbour too old", []capture.Record{at(0, flowProbe, "84937\n"), at(61, flowProbe, at85)}, decode.Doubtful, "too old"},
		{"another probe is no neighbour", []capture.Record{at(0, returnProbe, "84937\n"), at(1, flowProbe, at85)},
			decode.Doubtful, "no earlier reading"},
		{"a doubtful 85 supports nothing", []capture.Record{at(0, flowProbe, at85), at(1, flowProbe, at85)},
			decode.Doubtful, "no earlier reading"},
		{"a good 85 does", []capture.Record{at(0, flowProbe, "84937\n"), at(1, flowProbe, at85), at(2, flowProbe, at85)}, decode.Good, ""},
		{"millidegrees", []capture.Record{at(0, flowProbe, "30000\n"), at(1, flowProbe, "85000\n")}, decode.Doubtful, "that fast"},
		{"DS18S20, 0C at 85 too", []capture.Record{at(0, oldProbe, "30000\n"),
			at(1, oldProbe, "aa 00 4b 46 ff ff 0c 10 87 : crc=87 YES\n")}, decode.Doubtful, "that fast"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := newDecoder(t)
			var last decode.Reading
			for _, rec := range tt.records {
				if err := d.Decode(rec, func(r decode.Reading) { last = r }); err != nil {
					t.Fatal(err)
				}
			}
			if last.Seq != tt.records[len(tt.records)-1].Seq || last.Value != 85 {
				t.Fatalf("the last reading is %v", last)
			}
			if last.Quality != tt.want || !strings.Contains(last.Why, tt.why) {
				t.Errorf("%s, why %q; want %s, %q", last.Quality, last.Why, tt.want, tt.why)
			}
		})
	}
}

func TestNewRefuses(t *testing.T) {
	tests := []struct {
		name, want string
		c          onewire.Config
	}{
		{"no source", "no name", onewire.Config{}},
		{"family", "family 1D", onewire.Config{Source: "p", Points: map[string]onewire.Mapping{"1d-0000a71c01f4": {Point: decode.Flow}}}},
		{"not a probe", "not the name", onewire.Config{Source: "p", Points: map[string]onewire.Mapping{"28-a71c01f4": {Point: decode.Flow}}}},
		{"no temperature", "not a temperature", onewire.Config{Source: "p", Points: map[string]onewire.Mapping{flowProbe: {Point: decode.Pressure}}}},
		{"offset", "outside ±12 K", onewire.Config{Source: "p", Points: map[string]onewire.Mapping{flowProbe: {Point: decode.Flow, OffsetK: 50}}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := onewire.New(tt.c); err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("error %v, want one with %q", err, tt.want)
			}
		})
	}
}

func sample() []capture.Record {
	return []capture.Record{at(0, flowProbe, warm), at(1, returnProbe, hot), at(2, flowProbe, refused), at(3, flowProbe, ""),
		at(4, flowProbe, hot), at(5, flowProbe, powerOn), at(6, oldProbe, "-500\n"), at(7, flowProbe, at85), at(8, returnProbe, frost)}
}

func TestConformance(t *testing.T) {
	decodetest.TestDecoder(t, func() decode.Decoder { return newDecoder(t) }, sample())
}

func FuzzDecode(f *testing.F) {
	for _, r := range sample() {
		f.Add(r.Channel, r.Payload)
	}
	f.Add(flowProbe, []byte(zeros))
	f.Add(oldProbe, []byte("85000"))
	f.Add("", []byte(flowProbe+" "+strings.ReplaceAll(warm, "\n", " ")))
	f.Add("", []byte(flowProbe+" 25062"))
	f.Fuzz(func(t *testing.T, channel string, payload []byte) {
		d := newDecoder(t)
		for _, p := range [][]byte{payload, []byte(warm), payload} {
			n := 0
			err := d.Decode(at(0, channel, string(p)), func(r decode.Reading) {
				n++
				if e := decodetest.Check(r); e != nil {
					t.Errorf("%q: %v", p, e)
				}
			})
			if n > 1 || n == 1 && err != nil {
				t.Errorf("%q: %d readings, error %v", p, n, err)
			}
		}
	})
}

func TestNothingAllocated(t *testing.T) {
	d := newDecoder(t)
	rec := at(0, flowProbe, warm)
	emit := func(decode.Reading) {}
	if n := testing.AllocsPerRun(100, func() { _ = d.Decode(rec, emit) }); n != 0 {
		t.Errorf("%v allocations a record, want none", n)
	}
}

func BenchmarkDecode(b *testing.B) {
	d := newDecoder(b)
	rec := at(0, flowProbe, warm)
	emit := func(decode.Reading) {}
	b.ReportAllocs()
	for b.Loop() {
		if err := d.Decode(rec, emit); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleDecoder() {
	d, err := onewire.New(onewire.Config{Source: "probes", Points: map[string]onewire.Mapping{
		"28-0000a71c039b": {Point: decode.Return, OffsetK: -0.5},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	rec := capture.Record{Seq: 1, Channel: "28-0000a71c039b", Payload: []byte(
		"91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n")}
	err = d.Decode(rec, func(r decode.Reading) { fmt.Println(r.Series, r.Value, r.Series.Point.Unit(), r.Quality) })
	fmt.Println(err)
	// Output:
	// probes/return 24.5625 °C good
	// <nil>
}

// What a sensor gave instead of a measurement is told apart. −127 °C is what thermometer software writes for a probe that
// does not answer (common practice, no source).
func TestSensorFault(t *testing.T) {
	for _, tt := range []struct {
		payload string
		fault   decode.SensorFault
		value   float64
	}{
		{"-127000\n", decode.Impossible, -127},
		{"850000\n", decode.Impossible, 850},
		{"127937\n", decode.Unmeasured, 0},
		{zeros, decode.NoAnswer, 0},
	} {
		err := newDecoder(t).Decode(at(0, flowProbe, tt.payload), func(r decode.Reading) { t.Errorf("reading %v", r) })
		e, ok := errors.AsType[*decode.Error](err)
		if !ok || e.Series.Point != decode.Flow || e.Fault != tt.fault || e.Value != tt.value {
			t.Errorf("%q: %+v", tt.payload, e)
		}
	}
}
