// Package decodetest is the suite that every decoder passes: what the interface promises and what no protocol's own
// tests should have to repeat. Call [TestDecoder] from a test of the decoder's package.
package decodetest

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
	"tundish/decode"
)

// TestDecoder holds a decoder to the promises of [decode.Decoder]. newDecoder makes a fresh one of the same
// configuration each time. The records must be in order of Seq and Time, fit that configuration, and yield at least
// one reading. They are not changed.
//
// The suite wants that garbage between records changes nothing, so the protocol must be one whose records are whole:
// a line, a scratchpad, a cell.
func TestDecoder(t *testing.T, newDecoder func() decode.Decoder, records []capture.Record) {
	t.Helper()
	checkRecords(t, records)
	want := decodeAll(t, newDecoder(), records)
	if len(want) == 0 {
		t.Fatal("the records yield no readings: there is nothing to test")
	}
	t.Run("readings", func(t *testing.T) { testReadings(t, newDecoder(), records) })
	t.Run("order", func(t *testing.T) { testOrder(t, want) })
	t.Run("same again", func(t *testing.T) { same(t, want, decodeAll(t, newDecoder(), records)) })
	t.Run("payload", func(t *testing.T) { testPayload(t, newDecoder(), records, want) })
	t.Run("garbage between", func(t *testing.T) { testGarbageBetween(t, newDecoder(), records, want) })
	t.Run("garbage alone", func(t *testing.T) { testGarbageAlone(t, newDecoder(), records[0]) })
	t.Run("notes", func(t *testing.T) { testNotes(t, newDecoder(), records) })
	t.Run("tally", func(t *testing.T) { testTally(t, newDecoder(), records) })
}

func checkRecords(t *testing.T, records []capture.Record) {
	t.Helper()
	for i, r := range records {
		if r.Seq == 0 || r.Time.IsZero() {
			t.Fatalf("record %d has no Seq or no Time", i)
		}
		if i > 0 && (r.Seq <= records[i-1].Seq || r.Time.Before(records[i-1].Time)) {
			t.Fatalf("record %d is not in order", i)
		}
	}
}

// decodeAll decodes the records and checks every error on the way.
func decodeAll(t *testing.T, d decode.Decoder, records []capture.Record) []decode.Reading {
	t.Helper()
	var all []decode.Reading
	for _, rec := range records {
		checkError(t, rec, d.Decode(rec, func(r decode.Reading) { all = append(all, r) }))
	}
	return all
}

func checkError(t *testing.T, rec capture.Record, err error) {
	t.Helper()
	if err == nil {
		return
	}
	e, ok := errors.AsType[*decode.Error](err)
	switch {
	case !ok:
		t.Errorf("record %d: %v is no *decode.Error", rec.Seq, err)
	case e.Rule == "":
		t.Errorf("record %d: the error %q names no rule", rec.Seq, err)
	case e.Offset < 0 || e.Offset > len(rec.Payload):
		t.Errorf("record %d: the error's offset %d is outside its %d bytes", rec.Seq, e.Offset, len(rec.Payload))
	}
}

// Check says what is wrong with a reading on its own, or nil. Fuzz targets use it.
func Check(r decode.Reading) error {
	switch {
	case !r.Series.Point.Holds(r.Value):
		return fmt.Errorf("%s cannot be %v", r.Series, r.Value)
	case r.Series.Source == "":
		return fmt.Errorf("%s has no source", r.Series)
	case r.Quality == decode.Unknown:
		return fmt.Errorf("%s is of unknown quality", r.Series)
	case (r.Quality == decode.Doubtful) != (r.Why != ""):
		return fmt.Errorf("%s is %s, why %q: only the doubtful has a reason, and always", r.Series, r.Quality, r.Why)
	}
	return nil
}

func testReadings(t *testing.T, d decode.Decoder, records []capture.Record) {
	seen := map[uint64]time.Time{}
	for _, rec := range records {
		seen[rec.Seq] = rec.Time
		_ = d.Decode(rec, func(r decode.Reading) {
			if err := Check(r); err != nil {
				t.Errorf("record %d: %v", rec.Seq, err)
			}
			if at, ok := seen[r.Seq]; !ok {
				t.Errorf("record %d: %s claims record %d, which has not come", rec.Seq, r.Series, r.Seq)
			} else if !at.Equal(r.Time) {
				t.Errorf("record %d: %s has time %s, its record %s", rec.Seq, r.Series, r.Time, at)
			}
		})
	}
}

func testOrder(t *testing.T, readings []decode.Reading) {
	for i := 1; i < len(readings); i++ {
		if a, b := readings[i-1], readings[i]; b.Time.Before(a.Time) {
			t.Errorf("%s of %s comes after %s of %s", b.Series, b.Time, a.Series, a.Time)
		}
	}
}

// testPayload reuses one buffer, as a source may: a decoder that keeps or changes a payload is found out.
func testPayload(t *testing.T, d decode.Decoder, records []capture.Record, want []decode.Reading) {
	var got []decode.Reading
	var buffer []byte
	for _, rec := range records {
		before := rec.Payload
		buffer = append(buffer[:0], before...)
		rec.Payload = buffer
		_ = d.Decode(rec, func(r decode.Reading) { got = append(got, r) })
		if !slices.Equal(buffer, before) {
			t.Errorf("record %d: the payload was changed", rec.Seq)
		}
		for i := range buffer {
			buffer[i] = '#'
		}
	}
	same(t, want, got)
}

// garbage are payloads that no protocol takes for its own.
func garbage() [][]byte {
	long := make([]byte, 1<<20)
	for i := range long {
		long[i] = byte('g' + i%20)
	}
	return [][]byte{nil, {}, []byte("\r\n"), {0}, []byte("\xff\xfe\xfd\xff\xff\xff\xff\xff"),
		[]byte("no such thing, line 17\n"), []byte("\x1b[2J~~~\x00\x00"), []byte("°Δ∑ ÄÖ"), long}
}

func testGarbageBetween(t *testing.T, d decode.Decoder, records []capture.Record, want []decode.Reading) {
	var got []decode.Reading
	emit := func(r decode.Reading) { got = append(got, r) }
	trash := garbage()
	for i, rec := range records {
		_ = d.Decode(rec, emit)
		n := len(got)
		rec.Payload = trash[i%len(trash)]
		checkError(t, rec, d.Decode(rec, emit))
		if len(got) != n {
			t.Errorf("record %d: the garbage %.20q gave a reading", rec.Seq, rec.Payload)
		}
	}
	same(t, want, got)
}

func testGarbageAlone(t *testing.T, d decode.Decoder, rec capture.Record) {
	for _, channel := range []string{rec.Channel, "", "no such channel", "\xff"} {
		for _, p := range garbage() {
			rec.Channel, rec.Payload = channel, p
			checkError(t, rec, d.Decode(rec, func(r decode.Reading) {
				t.Errorf("channel %q: the garbage %.20q gave %s = %v", channel, p, r.Series, r.Value)
			}))
		}
	}
}

func testNotes(t *testing.T, d decode.Decoder, records []capture.Record) {
	for _, rec := range records {
		rec.Note = "lost: no such device"
		err := d.Decode(rec, func(r decode.Reading) { t.Errorf("record %d has a note, yet it gave %s", rec.Seq, r.Series) })
		if err != nil {
			t.Errorf("record %d has a note, yet it is an error: %v", rec.Seq, err)
		}
	}
}

// testTally wants names that can be told apart, and counts that never fall.
func testTally(t *testing.T, d decode.Decoder, records []capture.Record) {
	tallier, ok := d.(decode.Tallier)
	if !ok {
		t.Log("the decoder counts nothing")
		return
	}
	last := map[string]uint64{}
	for _, rec := range records {
		_ = d.Decode(rec, func(decode.Reading) {})
		now := map[string]uint64{}
		for _, c := range tallier.Tally() {
			if _, twice := now[c.Name]; twice || c.Name == "" {
				t.Fatalf("the tally has the name %q twice, or it is empty", c.Name)
			}
			now[c.Name] = c.N
		}
		for name, n := range last {
			if now[name] < n {
				t.Errorf("record %d: %q fell from %d to %d", rec.Seq, name, n, now[name])
			}
		}
		last = now
	}
	if slices.Max(append(slices.Collect(maps.Values(last)), 0)) == 0 {
		t.Error("nothing was counted")
	}
}

func same(t *testing.T, want, got []decode.Reading) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("readings differ (-as decoded first +now):\n%s", diff)
	}
}
