package decodetest_test

import (
	"errors"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/decodetest"
)

// letters is the least decoder there is: a payload "on" or "off" is a flame.
type letters struct{ n uint64 }

func (l *letters) Decode(rec capture.Record, emit func(decode.Reading)) error {
	if rec.Note != "" {
		return nil
	}
	l.n++
	r := decode.Reading{Seq: rec.Seq, Time: rec.Time, Series: decode.Series{Source: rec.Source, Point: decode.Flame},
		Quality: decode.Good}
	switch string(rec.Payload) {
	case "on":
		r.Value = 1
	case "off":
	default:
		return &decode.Error{Rule: "neither on nor off"}
	}
	emit(r)
	return nil
}

func (l *letters) Tally() []decode.Count { return []decode.Count{{Name: "payloads", N: l.n}} }

func lightRecords() []capture.Record {
	start := time.Date(2026, 1, 12, 7, 0, 0, 0, time.UTC)
	var records []capture.Record
	for i, p := range []string{"on", "off", "what", "on"} {
		records = append(records, capture.Record{Seq: uint64(i + 1), Time: start.Add(time.Duration(i) * time.Second),
			Source: "light", Payload: []byte(p)})
	}
	return records
}

func TestSoundDecoderPasses(t *testing.T) {
	decodetest.TestDecoder(t, func() decode.Decoder { return &letters{} }, lightRecords())
}

func TestCheck(t *testing.T) {
	flame := decode.Series{Source: "boiler", Point: decode.Flame}
	tests := []struct {
		name  string
		r     decode.Reading
		sound bool
	}{
		{"good", decode.Reading{Series: flame, Value: 1, Quality: decode.Good}, true},
		{"doubtful with a reason", decode.Reading{Series: flame, Quality: decode.Doubtful, Why: "no request seen"}, true},
		{"half a flame", decode.Reading{Series: flame, Value: 0.5, Quality: decode.Good}, false},
		{"not a number", decode.Reading{Series: flame, Value: math.NaN(), Quality: decode.Good}, false},
		{"unknown", decode.Reading{Series: flame}, false},
		{"doubtful without a reason", decode.Reading{Series: flame, Quality: decode.Doubtful}, false},
		{"good with a reason", decode.Reading{Series: flame, Quality: decode.Good, Why: "so"}, false},
		{"no source", decode.Reading{Series: decode.Series{Point: decode.Flame}, Quality: decode.Good}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if err := decodetest.Check(tt.r); (err == nil) != tt.sound {
				t.Errorf("Check gives %v", err)
			}
		})
	}
}

// broken are decoders that each break one promise, by the name of the part of the suite that must notice.
var broken = map[string]func(l *letters, rec capture.Record, emit func(decode.Reading)) error{
	"readings": func(l *letters, rec capture.Record, emit func(decode.Reading)) error {
		return l.Decode(rec, func(r decode.Reading) { r.Seq++; emit(r) })
	},
	"order": func(l *letters, rec capture.Record, emit func(decode.Reading)) error {
		return l.Decode(rec, func(r decode.Reading) { r.Time = r.Time.Add(-2 * time.Duration(l.n) * time.Second); emit(r) })
	},
	"payload": func(l *letters, rec capture.Record, emit func(decode.Reading)) error {
		err := l.Decode(rec, emit)
		clear(rec.Payload)
		return err
	},
	"garbage_between": func(l *letters, rec capture.Record, emit func(decode.Reading)) error {
		n := l.n
		return l.Decode(rec, func(r decode.Reading) { r.Value = float64(n % 2); emit(r) })
	},
	"garbage_alone": func(l *letters, rec capture.Record, emit func(decode.Reading)) error {
		if rec.Channel == "no such channel" {
			rec.Payload = []byte("on")
		}
		return l.Decode(rec, emit)
	},
	"notes": func(l *letters, rec capture.Record, emit func(decode.Reading)) error {
		rec.Note = ""
		return l.Decode(rec, emit)
	},
}

type brokenDecoder struct {
	letters
	decode func(*letters, capture.Record, func(decode.Reading)) error
}

func (b *brokenDecoder) Decode(rec capture.Record, emit func(decode.Reading)) error {
	return b.decode(&b.letters, rec, emit)
}

// brokenEnv names the broken decoder that the test binary, run again by [TestBrokenDecoderFails], is to try.
const brokenEnv = "DECODETEST_BROKEN"

// The suite is worth something only if it fails: here it must, in a process of its own.
func TestBrokenDecoderFails(t *testing.T) {
	if name := os.Getenv(brokenEnv); name != "" {
		decodetest.TestDecoder(t, func() decode.Decoder { return &brokenDecoder{decode: broken[name]} }, lightRecords())
		return
	}
	for name := range broken {
		t.Run(name, func(t *testing.T) {
			cmd := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestBrokenDecoderFails$", "-test.v")
			cmd.Env = append(os.Environ(), brokenEnv+"="+name)
			out, err := cmd.CombinedOutput()
			if _, failed := errors.AsType[*exec.ExitError](err); !failed {
				t.Fatalf("the suite passes it: %v", err)
			}
			if want := "--- FAIL: TestBrokenDecoderFails/" + name; !strings.Contains(string(out), want) {
				t.Errorf("no %q in\n%s", want, out)
			}
		})
	}
}
