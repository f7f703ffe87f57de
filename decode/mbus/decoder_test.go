package mbus

import (
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/decodetest"
)

var start = time.Date(2026, 1, 12, 6, 45, 0, 0, time.UTC)

// heat is a source with one heat meter.
func heat() Config {
	return Config{Source: "meter", Meters: []Meter{{Name: "main", Address: 1, Medium: MediumUnknown, ByMedium: true}}}
}

func record(n int, payload []byte) capture.Record {
	return capture.Record{Seq: uint64(n), Run: 1, At: time.Duration(n) * time.Minute, Time: start.Add(time.Duration(n) * time.Minute),
		Source: "meter", Channel: "main", Sweep: uint32(n), Payload: payload}
}

func mustNew(t testing.TB, c Config) *Decoder {
	t.Helper()
	d, err := New(c)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// told decodes records and prints what came: readings, and named values behind a dash.
func told(t testing.TB, d *Decoder, records ...capture.Record) (out []string, errs []error) {
	for _, rec := range records {
		err := d.DecodeNamed(rec, func(r decode.Reading) {
			if err := decodetest.Check(r); err != nil {
				t.Error(err)
			}
			line := r.Series.String() + "=" + trim(r.Value)
			if r.Why != "" {
				line += " ? " + r.Why
			}
			out = append(out, line)
		}, func(n decode.Named) {
			line := "- " + n.Series() + "="
			if n.Text != "" {
				line += n.Text
			} else {
				line += trim(n.Value) + n.Unit
			}
			out = append(out, line)
		})
		if err != nil {
			errs = append(errs, err)
		}
	}
	return out, errs
}

func TestSuite(t *testing.T) {
	text := record(2, []byte(strings.ReplaceAll(heatMeter, "\n", "")+"\r\n"))
	named := record(3, []byte("main: "+strings.ToLower(strings.Join(strings.Fields(heatMeter), ""))+"\n"))
	named.Channel, named.Sweep, text.Channel, text.Sweep = "", 0, "", 0
	records := []capture.Record{record(1, frame(t, heatMeter)), text, named, record(4, frame(t, fixedHeat))}
	decodetest.TestDecoder(t, func() decode.Decoder { return mustNew(t, heat()) }, records)
}

// TestPoints: by quantity and unit, of now and in total only; all else keeps the meter's own terms. Numbers: 0.645 m³/h =
// 10.75 l/min; the others stand in the telegram.
func TestPoints(t *testing.T) {
	got, errs := told(t, mustNew(t, heat()), record(1, frame(t, heatMeter)))
	want := []string{
		"- meter/fabrication-number=12345678", "meter/heat-energy=12345", "- meter/volume=987.65m³", "meter/heat-power=12.8",
		"meter/flow-rate=10.75", "meter/flow=58.5", "meter/return=41.2", "- meter/temperature-difference=17.3K",
		"- meter/on-time=8760h", "- meter/operating-time=8712h", "- meter/date-time=2026-01-12 07:45",
		"- meter/date storage 1=2025-12-31", "- meter/energy storage 1=11800kWh", "- meter/error-flags=0",
	}
	if diff := cmp.Diff(want, got); diff != "" || errs != nil {
		t.Errorf("%v\n%s", errs, diff)
	}
	got, _ = told(t, mustNew(t, heat()), record(1, frame(t, fixedHeat)))
	if diff := cmp.Diff([]string{"meter/heat-energy=12345", "- meter/volume=6.78m³"}, got); diff != "" {
		t.Error(diff)
	}
}

// header is a long header of a medium with a status.
func header(medium Medium, status byte) []byte {
	return []byte{0x78, 0x56, 0x34, 0x12, 0x43, 0x04, 1, byte(medium), 0x2A, status, 0, 0}
}

func from(t *testing.T, n int, medium Medium, status byte, records string) capture.Record {
	return record(n, built(0x08, 1, 0x72, append(header(medium, status), frame(t, records)...)...))
}

// TestWhatBecomesAReading has one circumstance a line.
func TestWhatBecomesAReading(t *testing.T) {
	for _, c := range []struct {
		name    string
		medium  Medium
		status  byte
		records string
		want    []string
	}{
		{"MJ", MediumHeatInflow, 0, "01 0E 24", []string{"meter/heat-energy=10"}}, // 36 MJ = 10 kWh
		{"GJ/h", MediumHeat, 0, "01 FB 31 09", []string{"meter/heat-power=2500"}}, // 9 GJ/h = 2500 kW
		{"°F", MediumHeat, 0, "02 FB 5B 8C00", []string{"meter/flow=60"}},         // 140 °F = 60 °C
		{"power going back", MediumHeat, 0, "02 2B 18FC", []string{"meter/heat-power=-1"}},
		{"electricity", MediumElectricity, 0, "01 06 05 02 2B F401", []string{"meter/electric-energy=5", "meter/electric-power=0.5"}},
		{"gas", MediumGas, 0, "01 13 FA 01 16 05", []string{"meter/gas-volume=5"}},
		{"water", MediumWater, 0, "01 16 05 01 3E 01", []string{"- meter/volume=5m³", "- meter/volume-flow=1m³/h"}},
		{"medium unknown", MediumUnknown, 0, "01 06 05", []string{"- meter/energy=5kWh"}},
		{"another storage, tariff, function", MediumHeat, 0, "41 06 05 81 10 06 05 11 2E 05", []string{"- meter/energy storage 1=5kWh", "- meter/energy tariff 1=5kWh", "- meter/power max=5kW"}},
		{"forward only", MediumHeat, 0, "01 86 3B 05", []string{"- meter/energy, forward=5kWh"}},
		{"digits that are none", MediumHeat, 0, "0A 5A D50B 0A 5E 1204", []string{"- meter/flow-temperature=digits that are none (0BD5)", "meter/return=41.2"}},
		{"no data available", MediumHeat, 0, "02 DA 15 0000", []string{"- meter/flow-temperature, no data available=the meter says that there is no value (0000)"}},
		{"power low", MediumHeat, 4, "01 06 05", []string{"meter/heat-energy=5"}},
		{"permanent error", MediumHeat, 8, "01 06 05", []string{"meter/heat-energy=5 ? the meter reports a permanent error"}},
		{"temporary error", MediumHeat, 0x10, "01 06 05", []string{"meter/heat-energy=5 ? the meter reports a temporary error"}},
		{"given twice", MediumHeat, 0, "01 06 05 01 0E 12", []string{"meter/heat-energy=5", "- meter/energy=18MJ"}},
	} {
		got, errs := told(t, mustNew(t, heat()), from(t, 1, c.medium, c.status, c.records))
		if c.name == "gas" { // 250 is −6 in 8 bits: gas does not run backwards past 0
			if len(errs) != 1 || len(got) != 2 || got[1] != c.want[0] {
				t.Errorf("%s: %q, %v", c.name, got, errs)
			}
			continue
		}
		if diff := cmp.Diff(c.want, got); diff != "" || errs != nil {
			t.Errorf("%s: %v\n%s", c.name, errs, diff)
		}
	}
}

// TestSweep: of two telegrams of one answer a point counts once, of the next answer again.
func TestSweep(t *testing.T) {
	d := mustNew(t, heat())
	a, b, c := from(t, 1, MediumHeat, 0, "01 06 05 1F"), from(t, 2, MediumHeat, 0, "01 06 06 01 5B 32"), from(t, 3, MediumHeat, 0, "01 06 07")
	b.Sweep = a.Sweep
	got, errs := told(t, d, a, b, c)
	want := []string{"meter/heat-energy=5", "- meter/energy=6kWh", "meter/flow=50", "meter/heat-energy=7"}
	if diff := cmp.Diff(want, got); diff != "" || errs != nil {
		t.Errorf("%v\n%s", errs, diff)
	}
}

// TestJobSheetSaysOtherwise: what it gives counts before the meter's medium, and what it takes away is named.
func TestJobSheetSaysOtherwise(t *testing.T) {
	c := heat()
	c.Meters[0].Points = map[Key]decode.Point{{Quantity: FlowTemperature}: decode.NoPoint, {Quantity: ReturnTemperature}: decode.Cylinder,
		{Quantity: Energy, Tariff: 1}: decode.HeatEnergy}
	c.Meters = append(c.Meters, Meter{Name: "gas", Address: -1, ID: "876543FF", Medium: MediumUnknown, Points: map[Key]decode.Point{{Quantity: Volume}: decode.GasVolume}})
	d := mustNew(t, c)
	got, errs := told(t, d, from(t, 1, MediumHeat, 0, "01 06 05 81 10 06 04 01 5B 32 01 5F 28"))
	want := []string{"- meter/main/energy=5kWh", "meter/heat-energy=4", "- meter/main/flow-temperature=50°C", "meter/cylinder=40"}
	if diff := cmp.Diff(want, got); diff != "" || errs != nil {
		t.Errorf("%v\n%s", errs, diff)
	}
	// A line without a name is told by the number in it.
	gas := record(2, []byte("68 13 13 68 08 FD 72 21 43 65 87 43 04 01 03 2A 00 00 00 02 16 39 30 BD 16\n"))
	gas.Channel = ""
	got, errs = told(t, d, gas)
	if diff := cmp.Diff([]string{"meter/gas-volume=12345"}, got); diff != "" || errs != nil {
		t.Errorf("%v\n%s", errs, diff)
	}
}

// TestTally names what was passed over, and what was seen of values without a point.
func TestTally(t *testing.T) {
	d := mustNew(t, heat())
	broken := frame(t, heatMeter)
	broken[40]++
	stranger := from(t, 5, MediumHeat, 0, "01 06 05")
	stranger.Channel = "other"
	locked := record(6, built(0x08, 1, 0x7A, 0x2A, 0, 0x10, 0x05, 1, 2, 3))
	_, errs := told(t, d, record(1, frame(t, heatMeter)), record(2, broken), record(3, []byte{0xE5}), record(4, frame(t, "10 7B 01 7C 16")),
		stranger, locked, from(t, 7, MediumHeat, 4, "01 06 05 44 06 18"), record(8, built(0x08, 1, 0x70, 9)), record(9, built(0x08, 1, 0x79, 9)))
	if len(errs) != 4 {
		t.Errorf("%d errors: %v", len(errs), errs)
	}
	got := map[string]uint64{}
	for _, n := range d.Tally() {
		got[n.Name] = n.N
	}
	for name, want := range map[string]uint64{"records": 9, "telegrams": 3, "readings": 6, "damaged frames": 1, "acknowledgements": 1,
		"requests overheard": 1, "meter not in the job sheet": 1, "encrypted telegrams": 1, "telegrams that break off": 1,
		"errors answered": 1, "kinds of answer not read here": 1, "telegrams of a meter with low power": 1,
		"volume, no point": 1, "energy storage 1, no point": 1} {
		if got[name] != want {
			t.Errorf("%q counted %d, want %d", name, got[name], want)
		}
	}
}

func TestRefusedConfigs(t *testing.T) {
	for _, c := range []Config{
		{},
		{Source: "m", Meters: []Meter{{Name: "a"}, {Name: "a"}}},
		{Source: "m", Meters: []Meter{{Name: ""}}},
		{Source: "m", Meters: []Meter{{Name: "a", Points: map[Key]decode.Point{{Quantity: Energy}: decode.Flow}}}},
		{Source: "m", Meters: []Meter{{Name: "a", Points: map[Key]decode.Point{{Quantity: TemperatureDifference}: decode.Flow}}}},
		{Source: "m", Meters: []Meter{{Name: "a", Points: map[Key]decode.Point{{Quantity: Energy}: decode.HeatEnergy}},
			{Name: "b", Points: map[Key]decode.Point{{Quantity: Energy}: decode.HeatEnergy}}}},
	} {
		if _, err := New(c); err == nil {
			t.Errorf("%+v was taken", c)
		}
	}
}

// TestNoAllocations: a telegram whose values are known costs the heap nothing.
func TestNoAllocations(t *testing.T) {
	d, rec := mustNew(t, heat()), record(1, frame(t, heatMeter))
	n := 0
	emit := func(decode.Reading) { n++ }
	if got := testing.AllocsPerRun(100, func() { rec.Sweep++; _ = d.Decode(rec, emit) }); got > 0 || n == 0 {
		t.Errorf("%v allocations a telegram", got)
	}
}

// FuzzDecode: no panic, every reading can be, whatever the bytes.
func FuzzDecode(f *testing.F) {
	f.Add(frame(f, heatMeter))
	f.Add(frame(f, fixedHeat))
	f.Add([]byte(heatMeter))
	f.Add([]byte("main: 68 03 03 68 53 01 50 A4 16"))
	f.Add(built(0x08, 1, 0x78, frame(f, "0D FD 11 BF 434241")...))
	f.Fuzz(func(t *testing.T, b []byte) {
		told(t, mustNew(t, heat()), record(1, b))
	})
}

// FuzzRecords puts any bytes into a sound frame, so that the application layer is reached.
func FuzzRecords(f *testing.F) {
	f.Add(byte(0x72), frame(f, heatMeter)[7:91])
	f.Add(byte(0x78), frame(f, "0D FD 11 03 434241 01 7C 03 68 57 6B 05 1F 01"))
	f.Add(byte(0x73), frame(f, fixedHeat)[7:23])
	f.Add(byte(0x7A), frame(f, "2A 08 0000 84 80 80 80 40 FB DA 75 05 00 00 00"))
	f.Add(byte(0x76), frame(f, "12345678 0443 01 04 2A 00 0000 04 06 00003039"))
	f.Fuzz(func(t *testing.T, ci byte, data []byte) {
		b := built(0x08, 1, ci, data[:min(len(data), 252)]...)
		told(t, mustNew(t, heat()), record(1, b))
		if lines, _, _ := list(b); len(lines) > 252 {
			t.Errorf("%d values of %d bytes", len(lines), len(b))
		}
	})
}

func trim(v float64) string { return strconv.FormatFloat(math.Round(v*1e9)/1e9, 'f', -1, 64) }
