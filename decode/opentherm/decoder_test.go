package opentherm

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
	"tundish/decode"
)

var noon = time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)

func newDecoder(t testing.TB) *Decoder {
	t.Helper()
	d, err := New(Config{Source: "boiler"})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// step is one record of a conversation: after so many milliseconds, this line.
type step struct {
	afterMS int
	line    string
}

// converse decodes a conversation and gives its readings as text: "record series value quality why".
func converse(t testing.TB, d *Decoder, steps []step) []string {
	t.Helper()
	at := time.Duration(0)
	var got []string
	for i, s := range steps {
		at += time.Duration(s.afterMS) * time.Millisecond
		rec := capture.Record{Seq: uint64(i + 1), Run: 1, At: at, Time: noon.Add(at), Source: "boiler", Payload: []byte(s.line + "\r\n")}
		if note, ok := strings.CutPrefix(s.line, "note "); ok {
			rec.Note, rec.Payload = note, nil
		}
		err := d.Decode(rec, func(r decode.Reading) {
			got = append(got, strings.TrimSpace(fmt.Sprintf("%d %s %v %s %s", r.Seq, r.Series.Point, r.Value, r.Quality, r.Why)))
		})
		if err != nil && !errors.Is(err, ErrOddParity) && !errors.Is(err, ErrReservedType) && !errors.Is(err, ErrImpossible) {
			t.Fatalf("%q: %v", s.line, err)
		}
	}
	return got
}

func line(kind MsgType, id uint8, word uint16) string { return NewFrame(kind, id, word).String() }

func TestConversations(t *testing.T) {
	askStatus, status := step{500, "00000300"}, step{100, "C000030A"}
	tests := []struct {
		name   string
		steps  []step
		want   []string
		counts map[string]uint64
	}{
		{"status", []step{askStatus, status},
			[]string{"1 heat-demand 1 good", "2 fault 0 good", "2 heat-active 1 good", "2 hot-water-active 0 good", "2 flame 1 good"},
			map[string]uint64{"lines": 2, "frames": 2, "requests": 1, "replies paired": 1}},
		{"demand is known though the boiler does not answer", []step{askStatus, {1000, "80000200"}, {1000, "80190000"}},
			[]string{"1 heat-demand 1 good", "2 heat-demand 0 good"}, map[string]uint64{"requests": 3, "requests unanswered": 2}},
		{"flow", []step{{0, "80190000"}, {100, "40193D80"}}, []string{"2 flow 61.5 good"}, nil},
		{"reply to another id", []step{{0, "80190000"}, {100, "C01C3040"}}, nil, map[string]uint64{"replies without request": 1}},
		{"the right reply after a wrong one", []step{{0, "80190000"}, {100, "C01C3040"}, {100, "40193D80"}},
			[]string{"3 flow 61.5 good"}, map[string]uint64{"replies without request": 1, "replies paired": 1}},
		{"reply twice", []step{{0, "80190000"}, {100, "40193D80"}, {10, "40193D80"}},
			[]string{"2 flow 61.5 good"}, map[string]uint64{"replies without request": 1}},
		{"another request between", []step{{0, "80190000"}, {100, line(ReadData, 28, 0)}, {100, "40193D80"}},
			nil, map[string]uint64{"replies without request": 1, "requests unanswered": 1}},
		{"reply at the limit", []step{{0, "80190000"}, {5000, "40193D80"}}, []string{"2 flow 61.5 good"}, nil},
		{"reply too late", []step{{0, "80190000"}, {5001, "40193D80"}}, nil,
			map[string]uint64{"replies without request": 1, "requests unanswered": 1}},
		{"source lost between", []step{{0, "80190000"}, {10, "note lost: no such device"}, {100, "40193D80"}}, nil,
			map[string]uint64{"notes passed over": 1, "requests unanswered": 1, "replies without request": 1}},
		{"no request at all", []step{{0, "C000030A"}, {1000, "40193D80"}},
			[]string{"1 heat-demand 1 doubtful no request seen", "1 fault 0 doubtful no request seen",
				"1 heat-active 1 doubtful no request seen", "1 hot-water-active 0 doubtful no request seen",
				"1 flame 1 doubtful no request seen", "2 flow 61.5 doubtful no request seen"},
			map[string]uint64{"replies before any request": 2, "replies without request": 0}},
		{"replies stand alone only until a request is seen", []step{{0, "40193D80"}, {100, "80190000"}, {100, "40193D80"}, {500, "C01C3040"}},
			[]string{"1 flow 61.5 doubtful no request seen", "3 flow 61.5 good"}, map[string]uint64{"replies without request": 1}},
		{"write answers standing alone", []step{{0, "50013700"}, {0, "D0040180"}, {0, line(WriteAck, 24, 0x1480)}, {0, "E01C0000"}},
			[]string{"1 flow-setpoint 55 doubtful no request seen", "2 reset-request 1 doubtful no request seen",
				"3 room 20.5 doubtful no request seen"}, nil},
		{"data invalid", []step{{0, line(ReadData, 28, 0)}, {100, "E01C0000"}}, nil,
			map[string]uint64{"invalid answers": 1, "replies paired": 1}},
		{"unknown id", []step{{0, line(ReadData, 18, 0)}, {100, "F0120000"}}, nil, map[string]uint64{"unknown-id answers": 1}},
		{"broken parity", []step{{0, "80190000"}, {100, "C0193D80"}}, nil,
			map[string]uint64{"parity errors": 1, "frames": 2, "replies paired": 0}},
		{"broken frames end no request", []step{{0, "80190000"}, {10, "C0193D80"}, {10, "B0190000"}, {10, "hello"}, {10, "40193D80"}},
			[]string{"5 flow 61.5 good"}, map[string]uint64{"parity errors": 1, "reserved type": 1, "lines without a frame": 1}},
		{"reset asked for", []step{{0, "90040100"}, {100, "D0040180"}}, []string{"1 reset-request 1 good"}, nil},
		{"water filling is no reset", []step{{0, line(WriteData, 4, 0x0200)}}, nil, nil},
		{"fault code", []step{{0, line(ReadData, 5, 0)}, {100, "40050A1C"}},
			[]string{"2 fault-flags 10 good", "2 fault-code 28 good"}, nil},
		{"output", []step{{0, line(ReadData, 15, 0)}, {100, "400F1819"}},
			[]string{"2 output-max 24 good", "2 modulation-min 25 good"}, nil},
		{"output not stated", []step{{0, line(ReadData, 15, 0)}, {100, line(ReadAck, 15, 0x0019)}}, nil,
			map[string]uint64{"output or least modulation not stated": 2}},
		{"least modulation not stated", []step{{0, line(ReadData, 15, 0)}, {100, line(ReadAck, 15, 0x1800)}},
			[]string{"2 output-max 24 good"}, map[string]uint64{"output or least modulation not stated": 1}},
		{"least modulation of 200 %", []step{{0, line(ReadData, 15, 0)}, {100, line(ReadAck, 15, 0x18C8)}},
			[]string{"2 output-max 24 good"}, map[string]uint64{"values that cannot be": 1}},
		{"pressure above its range", []step{{0, line(ReadData, 18, 0)}, {100, line(ReadAck, 18, 0x0600)}},
			[]string{"2 pressure 6 doubtful outside 0 to 5 bar, the range of OpenTherm v2.2"}, nil},
		{"a flow that water cannot have", []step{{0, "80190000"}, {100, line(ReadAck, 25, 0x8000)}}, nil,
			map[string]uint64{"values that cannot be": 1}},
		{"modulation above 100 %", []step{{0, line(ReadData, 17, 0)}, {100, line(ReadAck, 17, 0x6480)}}, nil,
			map[string]uint64{"values that cannot be": 1}},
		{"out of range and alone", []step{{0, line(ReadAck, 18, 0x0600)}},
			[]string{"1 pressure 6 doubtful no request seen; outside 0 to 5 bar, the range of OpenTherm v2.2"}, nil},
		{"no point", []step{{0, line(ReadData, 29, 0)}, {100, line(ReadAck, 29, 0x3C00)}}, nil,
			map[string]uint64{"data id 29 (solar store temperature), no point": 1}},
		{"diagnostic code", []step{{0, line(ReadData, 115, 0)}, {100, "C07300E9"}}, []string{"2 diagnostic-code 233 good"}, nil},
		{"read answered as a write", []step{{0, line(ReadData, 56, 0)}, {100, line(WriteAck, 56, 0x3C00)}}, nil,
			map[string]uint64{"replies without request": 1}},
		{"write answered as a read", []step{{0, line(WriteData, 56, 0x3C00)}, {100, line(ReadAck, 56, 0x3C00)}},
			[]string{"2 hot-water-setpoint 60 doubtful the appliance answered a write as if it were a read"}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := newDecoder(t)
			if diff := cmp.Diff(tt.want, converse(t, d, tt.steps)); diff != "" {
				t.Errorf("readings differ (-want +got):\n%s", diff)
			}
			checkTally(t, d, tt.counts)
		})
	}
}

func checkTally(t *testing.T, d *Decoder, want map[string]uint64) {
	t.Helper()
	got := map[string]uint64{}
	for _, c := range d.Tally() {
		got[c.Name] = c.N
	}
	for name, n := range want {
		if have, ok := got[name]; !ok || have != n {
			t.Errorf("tally: %d %s, want %d", have, name, n)
		}
	}
}

// The master's values: 1, 14 and 56 may be changed by the slave, 16 and 24 are the room unit's own.
func TestWrittenValues(t *testing.T) {
	const next = "80190000"
	tests := []struct {
		name  string
		steps []step
		want  []string
	}{
		{"set-point accepted", []step{{0, "90013700"}, {100, "50013700"}}, []string{"2 flow-setpoint 55 good"}},
		{"set-point changed by the slave", []step{{0, "90013700"}, {100, line(WriteAck, 1, 0x3200)}}, []string{"2 flow-setpoint 50 good"}},
		{"set-point acknowledged as 0", []step{{0, "90013700"}, {100, line(WriteAck, 1, 0)}},
			[]string{"2 flow-setpoint 0 doubtful acknowledged as 0, which is not what was asked for"}},
		{"set-point of 0 accepted", []step{{0, line(WriteData, 1, 0)}, {100, line(WriteAck, 1, 0)}}, []string{"2 flow-setpoint 0 good"}},
		{"set-point not confirmed", []step{{0, "90013700"}, {1000, next}},
			[]string{"1 flow-setpoint 55 doubtful not confirmed: the appliance did not answer"}},
		{"set-point refused", []step{{0, "90013700"}, {100, line(UnknownDataID, 1, 0x3700)}, {100, line(WriteData, 56, 0x3C00)},
			{100, line(DataInvalid, 56, 0x3C00)}, {1000, next}}, nil},
		{"set-point invalid", []step{{0, "20010000"}, {100, line(DataInvalid, 1, 0)}, {1000, next}}, nil},
		{"ceiling", []step{{0, "900E6400"}, {100, line(WriteAck, 14, 0x6400)}}, []string{"2 modulation-ceiling 100 good"}},
		{"hot-water set-point written", []step{{0, line(WriteData, 56, 0x3700)}, {100, line(WriteAck, 56, 0x3700)}},
			[]string{"2 hot-water-setpoint 55 good"}},
		{"hot-water set-point read", []step{{0, line(ReadData, 56, 0)}, {100, line(ReadAck, 56, 0x3700)}},
			[]string{"2 hot-water-setpoint 55 good"}},
		{"room accepted: the master's value", []step{{0, line(WriteData, 24, 0x1480)}, {100, line(WriteAck, 24, 0)}}, []string{"1 room 20.5 good"}},
		{"room not supported", []step{{0, line(WriteData, 24, 0x1480)}, {100, line(UnknownDataID, 24, 0)}}, []string{"1 room 20.5 good"}},
		{"room called invalid", []step{{0, line(WriteData, 24, 0x1480)}, {100, line(DataInvalid, 24, 0)}}, []string{"1 room 20.5 good"}},
		{"room not confirmed", []step{{0, line(WriteData, 24, 0x1480)}, {1000, next}},
			[]string{"1 room 20.5 doubtful not confirmed: the appliance did not answer"}},
		{"room set-point", []step{{0, line(WriteData, 16, 0x1500)}, {100, line(WriteAck, 16, 0x1500)}}, []string{"1 room-setpoint 21 good"}},
		{"room invalid", []step{{0, line(InvalidData, 24, 0)}, {100, line(UnknownDataID, 24, 0)}, {1000, next}}, nil},
		{"confirmed too late", []step{{0, "90013700"}, {6000, "50013700"}},
			[]string{"1 flow-setpoint 55 doubtful not confirmed: the appliance did not answer"}},
		{"source lost", []step{{0, "90013700"}, {10, "note lost: no such device"}},
			[]string{"1 flow-setpoint 55 doubtful not confirmed: the appliance did not answer"}},
		{"counter reset", []step{{0, line(WriteData, 116, 0)}, {100, line(WriteAck, 116, 0)}, {1000, next}}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, converse(t, newDecoder(t), tt.steps)); diff != "" {
				t.Errorf("readings differ (-want +got):\n%s", diff)
			}
		})
	}
	d := newDecoder(t)
	converse(t, d, []step{{0, "90013700"}, {100, line(UnknownDataID, 1, 0)}})
	checkTally(t, d, map[string]uint64{"set-points refused": 1})
}

// Each of the worked frames with a value, asked for first, gives the readings it should.
func TestPoints(t *testing.T) {
	tests := []struct{ hex, want string }{
		{"40193D80", "flow 61.5"}, {"C01C3040", "return 48.25"}, {"C01BFAC0", "outside -5.25"}, {"401BFF80", "outside -0.5"},
		{"C01B0000", "outside 0"}, {"C0112580", "modulation 37.5"}, {"C0120180", "pressure 1.5"},
		{"C0130866", "hot-water-rate 8.3984375"}, {"C0210044", "flue 68"}, {"4021FFFD", "flue -3"},
		{"C0743039", "burner-starts 12345"}, {"407810E1", "burner-hours 4321"}, {"C0710011", "failed-starts 17"},
		{line(ReadAck, 114, 3), "flame-losses 3"}, {line(ReadAck, 36, 0x0480), "flame-current 4.5"},
		{line(ReadAck, 26, 0x3280), "hot-water 50.5"},
	}
	for _, tt := range tests {
		f, err := ParseFrame(tt.hex)
		if err != nil {
			t.Fatal(err)
		}
		got := converse(t, newDecoder(t), []step{{0, line(ReadData, f.ID(), 0)}, {100, tt.hex}})
		if want := "2 " + tt.want + " good"; len(got) != 1 || got[0] != want {
			t.Errorf("%s gives %q, want %q", tt.hex, got, want)
		}
	}
}

func TestHotWaterPoint(t *testing.T) {
	for _, p := range []decode.Point{decode.NoPoint, decode.HotWater, decode.Cylinder} {
		d, err := New(Config{Source: "boiler", HotWater: p})
		if err != nil {
			t.Fatal(err)
		}
		want := "2 hot-water 50 good"
		if p == decode.Cylinder {
			want = "2 cylinder 50 good"
		}
		got := converse(t, d, []step{{0, line(ReadData, 26, 0)}, {100, line(ReadAck, 26, 0x3200)}})
		if len(got) != 1 || got[0] != want {
			t.Errorf("%s: %q, want %q", p, got, want)
		}
	}
}

func TestNewRefuses(t *testing.T) {
	tests := []struct {
		name, want string
		c          Config
	}{
		{"no source", "no name", Config{}},
		{"hot water in the flow", "cylinder or hot-water", Config{Source: "boiler", HotWater: decode.Flow}},
		{"pattern without a group", "no group named frame", Config{Source: "boiler", Pattern: "[0-9A-F]{8}"}},
		{"pattern that is none", "missing closing", Config{Source: "boiler", Pattern: "("}},
	}
	for _, tt := range tests {
		if _, err := New(tt.c); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want one with %q", tt.name, err, tt.want)
		}
	}
}

// Between request and reply the wall clock may be stepped and the logger restarted.
func TestReplyAge(t *testing.T) {
	ask := capture.Record{Seq: 1, Run: 1, At: time.Second, Time: noon, Payload: []byte("80190000")}
	tests := []struct {
		name string
		rec  capture.Record
		want int
	}{
		{"wall clock stepped an hour on", capture.Record{Seq: 2, Run: 1, At: 1100 * time.Millisecond, Time: noon.Add(time.Hour)}, 1},
		{"wall clock stepped an hour back", capture.Record{Seq: 2, Run: 1, At: 1100 * time.Millisecond, Time: noon.Add(-time.Hour)}, 1},
		{"too late by the monotonic clock", capture.Record{Seq: 2, Run: 1, At: 7 * time.Second, Time: noon.Add(time.Second)}, 0},
		{"another run", capture.Record{Seq: 2, Run: 2, At: 1100 * time.Millisecond, Time: noon.Add(100 * time.Millisecond)}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, n := newDecoder(t), 0
			tt.rec.Payload = []byte("40193D80")
			for _, rec := range []capture.Record{ask, tt.rec} {
				if err := d.Decode(rec, func(decode.Reading) { n++ }); err != nil {
					t.Fatal(err)
				}
			}
			if n != tt.want {
				t.Errorf("%d readings, want %d", n, tt.want)
			}
		})
	}
}

func TestErrorsSayWhere(t *testing.T) {
	d := newDecoder(t)
	for text, want := range map[string]error{"bus: C0193D80\n": ErrOddParity, "bus: B0190000\n": ErrReservedType} {
		err := d.Decode(capture.Record{Seq: 1, Payload: []byte(text)}, func(decode.Reading) { t.Error("a reading") })
		e, ok := errors.AsType[*decode.Error](err)
		if !ok || e.Offset != 5 || !errors.Is(err, want) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestFlush(t *testing.T) {
	d := newDecoder(t)
	converse(t, d, []step{{0, line(WriteData, 24, 0x1480)}})
	n := 0
	for range 2 {
		d.Flush(func(r decode.Reading) {
			n++
			if r.Seq != 1 || r.Series.Point != decode.Room || r.Value != 20.5 || r.Quality != decode.Doubtful {
				t.Errorf("flushed %v", r)
			}
		})
	}
	if n != 1 {
		t.Errorf("%d readings flushed, want 1", n)
	}
}

// A value that its point cannot have is told with its series. An s8.8 of 0x8000 is −128 °C.
func TestImpossibleIsTold(t *testing.T) {
	d := newDecoder(t)
	var err error
	for i, l := range []string{"80190000", line(ReadAck, 25, 0x8000)} {
		err = d.Decode(capture.Record{Seq: uint64(i + 1), Run: 1, At: time.Duration(i) * 100 * time.Millisecond, Time: noon, Source: "boiler", Payload: []byte(l)}, func(decode.Reading) {})
	}
	e, ok := errors.AsType[*decode.Error](err)
	if want := (decode.Series{Source: "boiler", Point: decode.Flow}); !ok || e.Series != want || e.Fault != decode.Impossible || e.Value != -128 {
		t.Errorf("%+v", err)
	}
	if err := d.Decode(capture.Record{Seq: 3, Run: 1, At: time.Second, Time: noon, Source: "boiler", Payload: []byte("80190000")}, func(decode.Reading) {}); err != nil {
		t.Errorf("told again: %v", err)
	}
}
