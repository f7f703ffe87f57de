package opentherm

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/decodetest"
)

var update = flag.Bool("update", false, "rewrite the expectations in testdata")

// timedLines reads a log whose lines are an RFC 3339 time, white space and what the adapter printed.
func timedLines(t testing.TB, name string) []capture.Record {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	var records []capture.Record
	for l := range bytes.Lines(text) {
		if len(bytes.TrimSpace(l)) == 0 || l[0] == '#' {
			continue
		}
		stamp, rest, _ := bytes.Cut(l, []byte(" "))
		at, err := time.Parse(time.RFC3339Nano, string(stamp))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		records = append(records, capture.Record{Seq: uint64(len(records) + 1), Run: 1, Time: at.UTC(), Source: "boiler", Payload: rest})
		if n := len(records); n > 1 {
			records[n-1].At = at.Sub(records[0].Time)
		}
	}
	return records
}

func cylinderDecoder(t testing.TB) *Decoder {
	t.Helper()
	d, err := New(Config{Source: "boiler", HotWater: decode.Cylinder})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestGolden(t *testing.T) {
	logs, err := filepath.Glob(filepath.Join("testdata", "*.log"))
	if err != nil || len(logs) == 0 {
		t.Fatalf("no logs: %v", err)
	}
	for _, log := range logs {
		name := filepath.Base(log)
		t.Run(name, func(t *testing.T) {
			got := transcript(t, timedLines(t, name))
			expectation := strings.TrimSuffix(log, ".log") + ".readings"
			if *update {
				if err := os.WriteFile(expectation, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(expectation)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), got); diff != "" {
				t.Errorf("%s differs (-want +got):\n%s", expectation, diff)
			}
		})
	}
}

// transcript is what a log says, as text: each record with its readings behind it, then the tally.
func transcript(t *testing.T, records []capture.Record) string {
	var b strings.Builder
	d := cylinderDecoder(t)
	emit := func(r decode.Reading) {
		fmt.Fprintf(&b, "    %-3d %-26s %v %s", r.Seq, r.Series, r.Value, r.Series.Point.Unit())
		if r.Quality != decode.Good {
			fmt.Fprintf(&b, "  %s: %s", r.Quality, r.Why)
		}
		b.WriteString("\n")
	}
	for _, rec := range records {
		fmt.Fprintf(&b, "%-3d %s\n", rec.Seq, bytes.TrimSpace(rec.Payload))
		if err := d.Decode(rec, emit); err != nil {
			fmt.Fprintf(&b, "    error: %v\n", err)
		}
	}
	b.WriteString("end of the log\n")
	d.Flush(emit)
	for _, c := range d.Tally() {
		fmt.Fprintf(&b, "%6d %s\n", c.N, c.Name)
	}
	return b.String()
}

func TestConformance(t *testing.T) {
	decodetest.TestDecoder(t, func() decode.Decoder { return cylinderDecoder(t) }, timedLines(t, "conversation.log"))
}

// Lines without a frame and broken frames, put in anywhere, change no reading.
func TestGarbageChangesNothing(t *testing.T) {
	records := timedLines(t, "conversation.log")
	want := decodeAll(t, records)
	rapid.Check(t, func(rt *rapid.T) {
		var mixed []capture.Record
		for _, rec := range records {
			mixed = append(mixed, rec)
			for range rapid.IntRange(0, 2).Draw(rt, "lines") {
				rec.Payload = garbageLine(rt)
				mixed = append(mixed, rec)
			}
		}
		if diff := cmp.Diff(want, decodeAll(t, mixed)); diff != "" {
			rt.Fatalf("readings differ (-clean +mixed):\n%s", diff)
		}
	})
}

// garbageLine draws a line that holds no frame, or a frame with one bit flipped.
func garbageLine(t *rapid.T) []byte {
	if rapid.Bool().Draw(t, "broken frame") {
		f := NewFrame(MsgType(rapid.IntRange(0, 7).Draw(t, "type")), rapid.Uint8().Draw(t, "id"), rapid.Uint16().Draw(t, "word"))
		return []byte((f ^ 1<<rapid.IntRange(0, 31).Draw(t, "bit")).String())
	}
	line := rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "bytes")
	if _, ok := FindFrame(line, nil); ok {
		return nil
	}
	return line
}

func decodeAll(t testing.TB, records []capture.Record) []decode.Reading {
	var all []decode.Reading
	d := cylinderDecoder(t)
	for _, rec := range records {
		err := d.Decode(rec, func(r decode.Reading) { all = append(all, r) })
		if err != nil && !errors.Is(err, ErrOddParity) && !errors.Is(err, ErrReservedType) {
			t.Fatal(err)
		}
	}
	return all
}

// FuzzDecode takes lines of any content, a second apart: no panic, and no reading that cannot be.
func FuzzDecode(f *testing.F) {
	var all []byte
	for _, rec := range timedLines(f, "conversation.log") {
		f.Add(rec.Payload, false)
		all = append(all, rec.Payload...)
	}
	f.Add(all, false)
	f.Add(all, true)
	f.Fuzz(func(t *testing.T, stream []byte, patterned bool) {
		c := Config{Source: "boiler"}
		if patterned {
			c.Pattern = `(?P<frame>[0-9A-Fa-f]{8})`
		}
		d, err := New(c)
		if err != nil {
			t.Fatal(err)
		}
		const mostOfOneLine = 6 // a doubtful written value, then the five of a status that stands alone
		seq := uint64(0)
		for l := range bytes.Lines(stream) {
			seq++
			n := 0
			rec := capture.Record{Seq: seq, Run: 1, At: time.Duration(seq) * time.Second, Time: noon.Add(time.Duration(seq) * time.Second), Payload: l}
			err := d.Decode(rec, func(r decode.Reading) {
				n++
				if e := decodetest.Check(r); e != nil || r.Seq == 0 || r.Seq > seq {
					t.Errorf("%q: record %d of %d: %v", l, r.Seq, seq, e)
				}
			})
			// A frame may hold two values, of which its points can have one only.
			if n > mostOfOneLine || err != nil && n > 0 && !errors.Is(err, ErrImpossible) {
				t.Errorf("%q: %d readings, error %v", l, n, err)
			}
		}
		if lines := d.Tally()[0]; lines.N != seq {
			t.Errorf("%d lines counted, want %d", lines.N, seq)
		}
	})
}

// hotPath is a conversation whose every line is sound.
func hotPath() []capture.Record {
	var records []capture.Record
	for i, l := range []string{"00000300", "C000030A", "80190000", "40193D80", "801C0000", "90013700", "50013700", "bus: 00120000", "C0120180"} {
		at := time.Duration(i) * 500 * time.Millisecond
		records = append(records, capture.Record{Seq: uint64(i + 1), Run: 1, At: at, Time: noon.Add(at), Source: "boiler", Payload: []byte(l + "\r\n")})
	}
	return records
}

func TestNothingAllocated(t *testing.T) {
	d, records := newDecoder(t), hotPath()
	n := 0
	emit := func(decode.Reading) { n++ }
	allocs := testing.AllocsPerRun(100, func() {
		for _, rec := range records {
			if err := d.Decode(rec, emit); err != nil {
				t.Fatal(err)
			}
		}
	})
	if allocs != 0 || n == 0 {
		t.Errorf("%v allocations, %d readings", allocs, n)
	}
}

func BenchmarkDecode(b *testing.B) {
	d, records := newDecoder(b), hotPath()
	emit := func(decode.Reading) {}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if err := d.Decode(records[i%len(records)], emit); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFindFrame(b *testing.B) {
	line := []byte("40193D80\r\n")
	b.ReportAllocs()
	for b.Loop() {
		if _, ok := FindFrame(line, nil); !ok {
			b.Fatal("no frame")
		}
	}
}

func ExampleDecoder() {
	d, err := New(Config{Source: "boiler"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, line := range []string{"80190000\r\n", "40193D80\r\n"} {
		err := d.Decode(capture.Record{Seq: uint64(i + 1), Payload: []byte(line)}, func(r decode.Reading) {
			fmt.Println(r.Series, r.Value, r.Series.Point.Unit(), r.Quality)
		})
		if err != nil {
			fmt.Println(err)
		}
	}
	// Output:
	// boiler/flow 61.5 °C good
}

func BenchmarkFindFrameByPattern(b *testing.B) {
	re, err := CompilePattern(`^\d+ (?P<frame>[0-9A-F]{8})$`)
	if err != nil {
		b.Fatal(err)
	}
	line := []byte("17 40193D80\r\n")
	b.ReportAllocs()
	for b.Loop() {
		if _, ok := FindFrame(line, re); !ok {
			b.Fatal("no frame")
		}
	}
}
