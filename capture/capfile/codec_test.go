package capfile

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/capture"
)

// TestCRC8 checks the 1-Wire CRC on the worked example of Maxim application note 27, figure 4 (ROM family 0x02,
// serial 00000001B81C, CRC 0xA2).
func TestCRC8(t *testing.T) {
	if got := crc8([]byte{0x02, 0x1c, 0xb8, 0x01, 0x00, 0x00, 0x00}); got != 0xa2 {
		t.Errorf("CRC %#02x, want 0xa2", got)
	}
}

// TestScratchText checks the temperatures of the DS18B20 datasheet, table 1.
func TestScratchText(t *testing.T) {
	for _, c := range []struct {
		lo, hi byte
		milli  int
	}{{0xd0, 0x07, 125000}, {0x50, 0x05, 85000}, {0x91, 0x01, 25062}, {0xa2, 0x00, 10125}, {0x08, 0x00, 500},
		{0x00, 0x00, 0}, {0xf8, 0xff, -500}, {0x5e, 0xff, -10125}, {0x6f, 0xfe, -25062}, {0x90, 0xfc, -55000}} {
		s := [scratchLen]byte{c.lo, c.hi, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10}
		s[8] = crc8(s[:8])
		dump := fmt.Sprintf("% 02x ", s[:])
		want := fmt.Sprintf("%s: crc=%02x YES\n%st=%d\n", dump, s[8], dump, c.milli)
		if got := string(appendScratch(nil, &s)); got != want {
			t.Errorf("%d: %q, want %q", c.milli, got, want)
		}
		if got, ok := scratchOf([]byte(want)); !ok || got != s {
			t.Errorf("%q is not taken apart: % x %v", want, got, ok)
		}
	}
}

// payloads draws what an adapter may give, near enough to the known forms to miss them narrowly.
func payloads(t *rapid.T) []byte {
	switch rapid.IntRange(0, 5).Draw(t, "form") {
	case 0:
		return rapid.SliceOfN(rapid.Byte(), 0, 40).Draw(t, "bytes")
	case 1:
		return []byte(rapid.StringMatching(`[ a-z]{0,2}([0-9A-F]{8}|[0-9a-f]{8}|[0-9a-fA-F]{7,9})[ x]?([0-9a-f]{8})?\r?\n?`).Draw(t, "line"))
	case 2:
		return frameLine(rapid.Uint32().Draw(t, "frame"))
	case 3:
		return fmt.Appendf(nil, "%08x\n", flipParity(rapid.Uint32().Draw(t, "frame")))
	}
	s := [scratchLen]byte(rapid.SliceOfN(rapid.Byte(), scratchLen, scratchLen).Draw(t, "scratchpad"))
	p := appendScratch(nil, &s)
	if rapid.Bool().Draw(t, "spoilt") {
		p[rapid.IntRange(0, len(p)-1).Draw(t, "place")] ^= rapid.Byte().Draw(t, "by")
	}
	return p
}

func drawRecord(t *rapid.T, run uint32) capture.Record {
	return capture.Record{Run: run, Source: rapid.SampledFrom([]string{"boiler", "probes", "ö", "a b"}).Draw(t, "source"),
		At:      time.Duration(rapid.Int64Range(0, int64(MaxAt)).Draw(t, "at")),
		Channel: rapid.SampledFrom([]string{"", "28-0000a71c01f4", "28-0000a71c039b", "\xff"}).Draw(t, "channel"),
		Sweep:   rapid.Uint32().Draw(t, "sweep"), Payload: payloads(t),
		Note: rapid.SampledFrom([]string{"", "", "", "probe gone", "\x00"}).Draw(t, "note")}
}

// encode gives the block of a stream of records, all of one source.
func encode(t testing.TB, list []capture.Record) (blockRow, []byte) {
	enc, err := newEncoder()
	must(t, err)
	defer enc.Close()
	s := &stream{run: 1, source: "x"}
	for i := range list {
		s.add(&list[i], uint64(i+1))
	}
	w := columnWriter{enc: enc}
	return s.row(), w.encodeBlock(s)
}

func decode(t testing.TB, b blockRow, body []byte, each func(*capture.Record)) error {
	dec, err := newDecoder()
	must(t, err)
	defer dec.Close()
	d := &blockDecoder{}
	d.dec = dec
	if err := d.load(&b, body); err != nil {
		return err
	}
	for {
		if _, ok := d.more(); !ok {
			return nil
		}
		var rec capture.Record
		d.next(&rec)
		each(&rec)
	}
}

// TestBlockIdentity: encode then decode is the identity, for any records.
func TestBlockIdentity(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(rt, "n")
		var list, got []capture.Record
		for range n {
			rec := drawRecord(rt, 1)
			rec.Source = "x"
			list = append(list, rec)
		}
		b, body := encode(t, list)
		must(t, decode(t, b, body, func(rec *capture.Record) { got = append(got, keep(*rec)) }))
		same(t, got, list)
	})
}

// TestManyShapes goes over every bound of the dictionaries.
func TestManyShapes(t *testing.T) {
	var list, got []capture.Record
	for i := range 3000 {
		list = append(list, capture.Record{Run: 1, Source: "x", Channel: fmt.Sprint("c", i%700), Note: fmt.Sprint("n", i%1000),
			Payload: fmt.Appendf(nil, "%d %08x", i%100, uint32(i)*2654435761)})
	}
	b, body := encode(t, list)
	must(t, decode(t, b, body, func(rec *capture.Record) { got = append(got, keep(*rec)) }))
	same(t, got, list)
}

func TestDecodeAllocatesNothing(t *testing.T) {
	list := system(1, 0, 1000, rand.New(rand.NewPCG(1, 1)))
	w := create(t, filepath.Join(t.TempDir(), "a.capture"), 4096)
	startRun(t, w, Record, noon)
	appendAll(t, w, list)
	must(t, w.Close())
	r, err := Open(w.path)
	must(t, err)
	defer r.Close()
	read := func() {
		for _, err := range r.Records(t.Context(), Window{}) {
			must(t, err)
		}
	}
	if perRecord := testing.AllocsPerRun(5, read) / float64(len(list)); perRecord > 0.05 {
		t.Errorf("%.3f allocations a record", perRecord)
	}
}

func FuzzBlock(f *testing.F) {
	for _, list := range [][]capture.Record{odd(1), system(1, 0, 20, rand.New(rand.NewPCG(1, 1)))} {
		b, body := encode(f, list)
		f.Add(body, b.count)
	}
	dec, err := newDecoder()
	must(f, err)
	d := &blockDecoder{}
	d.dec = dec
	f.Fuzz(func(t *testing.T, body []byte, count int64) {
		b := blockRow{n: 1, group: 1, run: 1, source: "x", coding: codingColumns, count: count, firstSeq: 1, lastSeq: uint64(max(count, 1)), lastAt: maxMicros}
		err := d.load(&b, body)
		if err != nil && d.n == 0 {
			return
		}
		// Whether or not it agrees with its row, what is well-formed must come apart without harm.
		for range d.n {
			var rec capture.Record
			d.next(&rec)
			if len(rec.Payload) > MaxPayload+2*MaxText {
				t.Fatalf("payload of %d bytes", len(rec.Payload))
			}
		}
	})
}
