package capfile

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
)

// noon is the wall clock of the invented recordings.
var noon = time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)

// must fails the test on an error.
func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func create(t testing.TB, path string, block int) *Writer {
	t.Helper()
	w, err := Create(path, Options{BlockRecords: block})
	must(t, err)
	t.Cleanup(func() {
		if w.conn != nil {
			w.release()
		}
	})
	return w
}

func startRun(t testing.TB, w *Writer, kind RunKind, started time.Time) uint32 {
	t.Helper()
	n, err := w.StartRun(RunInfo{Kind: kind, Program: "tundish test", Started: started, Sources: []string{"boiler", "probes"}})
	must(t, err)
	return n
}

// frameLine is a bus line as an invented adapter prints it.
func frameLine(v uint32) []byte { return fmt.Appendf(nil, "frame %08X\r\n", v) }

// odd are records that no adapter should give, and that must be kept all the same.
func odd(run uint32) []capture.Record {
	probe := []byte("91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n")
	cold := []byte("5e ff 4b 46 7f ff 02 10 00 : crc=00 YES\n5e ff 4b 46 7f ff 02 10 00 t=-10125\n")
	payloads := [][]byte{nil, {}, {0}, {0xff, 0xfe}, []byte("no frame here"), frameLine(0x80190000), frameLine(0x40193c80),
		[]byte("c0ffee00\n"), []byte("C0FFEE00\n"), []byte("C0ffee00\n"), []byte("12345678 12345678"), []byte("123456789"),
		[]byte("12345678"), []byte("12345678\x00"), probe, cold, bytes.ToUpper(probe), probe[:40],
		[]byte("91 01 4b 46 7f ff 0f 10 25 : crc=25 NO\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"),
		[]byte("91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25063\n"), bytes.Repeat([]byte("x"), 5000)}
	var list []capture.Record
	for i, p := range payloads {
		list = append(list, capture.Record{Run: run, At: time.Duration(i) * 333 * time.Millisecond, Source: "odd",
			Channel: []string{"", "28-0000a71c01f4", "\xff\x00"}[i%3], Sweep: uint32(i / 2), Payload: p,
			Note: []string{"", "", "", "lost: no such device", "\xc0"}[i%5]})
	}
	list[3].Sweep = 1<<32 - 1
	return list
}

// system gives what a bus and two probes deliver in n seconds.
func system(run uint32, from, n int, rnd *rand.Rand) []capture.Record {
	ids := []byte{0, 1, 14, 16, 17, 18, 24, 25, 26, 27, 28, 57}
	var list []capture.Record
	flow, back := 45.0, 38.0
	for s := from; s < from+n; s++ {
		base := time.Duration(s) * time.Second
		id := ids[s%len(ids)]
		jitter := time.Duration(rnd.IntN(8000)) * time.Microsecond
		flow, back = flow+rnd.NormFloat64()*0.05, back+rnd.NormFloat64()*0.03
		value := uint32(int16(flow * 256))
		if s%len(ids) < 3 {
			value = uint32(s / 600 % 4)
		}
		ask, answer := uint32(id)<<16, 0x40000000|uint32(id)<<16|value
		list = append(list,
			capture.Record{Run: run, At: base + jitter, Source: "boiler", Payload: frameLine(flipParity(ask))},
			capture.Record{Run: run, At: base + jitter + 80*time.Millisecond + time.Duration(rnd.IntN(20000))*time.Microsecond, Source: "boiler", Payload: frameLine(flipParity(answer))})
		tick := base + 750*time.Millisecond + time.Duration(rnd.IntN(3000))*time.Microsecond
		for i, v := range []float64{flow, back} {
			word := int16(v * 16)
			p := [scratchLen]byte{byte(word), byte(word >> 8), 0x4b, 0x46, 0x7f, 0xff, byte(0x10 - word&15), 0x10}
			p[8] = crc8(p[:8])
			list = append(list, capture.Record{Run: run, At: tick, Source: "probes", Channel: []string{"28-0000a71c01f4", "28-0000a71c039b"}[i],
				Sweep: uint32(s + 1), Payload: appendScratch(nil, &p)})
		}
	}
	return list
}

func appendAll(t testing.TB, w *Writer, list []capture.Record) {
	t.Helper()
	for _, rec := range list {
		must(t, w.Append(rec))
	}
}

// keep copies a record out of the reader's memory, with nil and empty payloads made equal.
func keep(rec capture.Record) capture.Record {
	rec.Payload = append([]byte{}, rec.Payload...)
	return rec
}

// dump is everything that a Reader yields.
type dump struct {
	Sheets  []Sheet
	Runs    []Run
	Marks   []Mark
	Losses  []Loss
	Head    Head
	Records []capture.Record
}

func dumpOf(path string) (d dump, err error) {
	r, err := Open(path)
	if err != nil {
		return d, err
	}
	defer r.Close()
	d = dump{Sheets: r.Sheets(), Runs: r.Runs(), Marks: r.Marks(), Losses: r.Losses(), Head: r.Head()}
	for rec, e := range r.Records(context.Background(), Window{}) {
		if e != nil {
			err = errors.Join(err, e)
			continue
		}
		d.Records = append(d.Records, keep(rec))
	}
	return d, err
}

func mustDump(t testing.TB, path string) dump {
	t.Helper()
	d, err := dumpOf(path)
	must(t, err)
	return d
}

func verify(t testing.TB, path string) Proof {
	t.Helper()
	p, err := Verify(context.Background(), path)
	must(t, err)
	return p
}

// same compares records with what was appended.
func same(t testing.TB, got, want []capture.Record) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d records, want %d", len(got), len(want))
	}
	for i := range got {
		g, w := got[i], keep(want[i])
		g.Time, w.Seq, w.At = time.Time{}, uint64(i+1), w.At.Truncate(time.Microsecond)
		if d := difference(w, g); d != "" {
			t.Fatalf("record %d (-want +got):\n%s", i+1, d)
		}
	}
}

// difference is cmp.Diff, but fast where there is none.
func difference(want, got any) string {
	if reflect.DeepEqual(want, got) {
		return ""
	}
	return cmp.Diff(want, got)
}

// small makes a capture with every kind of entry in it and gives its records.
func small(t testing.TB, path string, end bool) []capture.Record {
	t.Helper()
	w := create(t, path, 40)
	var list []capture.Record
	for i, kind := range []RunKind{Record, Import, Record} {
		run := startRun(t, w, kind, noon.Add(time.Duration(i)*time.Hour))
		must(t, w.Sheet(run, "job.toml", fmt.Appendf(nil, "[job]\nname = \"Mill Row %d\"\n", i)))
		must(t, w.Sheet(run, "odd", []byte{0xff, 0}))
		must(t, w.Observe(run, Observation{At: time.Second, Wall: noon.Add(time.Duration(i)*time.Hour + time.Second), Synced: i == 2}))
		recs := append(odd(run), system(run, 10, 20, rand.New(rand.NewPCG(1, uint64(i))))...)
		for k, rec := range recs {
			must(t, w.Append(rec))
			if k%15 == 14 {
				must(t, w.Commit())
			}
		}
		list = append(list, recs...)
		must(t, w.Mark(run, 2*time.Second, "householder: cold shower"))
		must(t, w.Observe(run, Observation{At: 20 * time.Second, Wall: noon.Add(time.Duration(i)*time.Hour + 50*time.Second), Synced: i == 2}))
		if i < 2 {
			must(t, w.EndRun(run, time.Minute, "stopped"))
		}
	}
	must(t, w.Commit())
	for i := range 3 {
		rec := capture.Record{Run: 3, At: time.Minute + time.Duration(i), Source: "boiler", Payload: frameLine(uint32(i))}
		must(t, w.Append(rec))
		list = append(list, rec)
		must(t, w.Commit())
	}
	if end {
		must(t, w.Close())
	} else {
		must(t, w.release())
	}
	return list
}

func TestRoundTrip(t *testing.T) {
	for _, closed := range []bool{true, false} {
		t.Run(fmt.Sprintf("closed=%v", closed), func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.capture")
			want := small(t, path, closed)
			d := mustDump(t, path)
			same(t, d.Records, want)
			p := verify(t, path)
			if p.Closed != closed || (p.Tail > 0) == closed || p.Records != uint64(len(want)) || p.Head != d.Head {
				t.Errorf("proof %+v of %d records, head %v", p, len(want), d.Head)
			}
			if len(d.Sheets) != 6 || !bytes.Equal(d.Sheets[1].Text, []byte{0xff, 0}) || len(d.Marks) != 3 || len(d.Runs) != 3 {
				t.Errorf("journal: %+v", d)
			}
			if r := d.Runs[2]; !r.Synced || r.EndedWhy != "" || len(r.Steps) != 1 || r.Steps[0].By != 30*time.Second {
				t.Errorf("run 3: %+v", r)
			}
			if names := leftBeside(t, path); closed && names != nil {
				t.Errorf("a closed capture leaves %v", names)
			}
		})
	}
}

// leftBeside lists the files beside the capture.
func leftBeside(t testing.TB, path string) (names []string) {
	t.Helper()
	list, err := os.ReadDir(filepath.Dir(path))
	must(t, err)
	for _, e := range list {
		if e.Name() != filepath.Base(path) {
			names = append(names, e.Name())
		}
	}
	return names
}

func TestWindow(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	w := create(t, path, 64)
	run := startRun(t, w, Record, noon)
	want := system(run, 0, 600, rand.New(rand.NewPCG(1, 2)))
	appendAll(t, w, want)
	must(t, w.Close())
	r, err := Open(path)
	must(t, err)
	defer r.Close()
	for _, win := range []Window{{}, {From: noon.Add(time.Minute)}, {To: noon.Add(time.Minute)},
		{noon.Add(100 * time.Second), noon.Add(101 * time.Second)}, {noon.Add(time.Hour), noon.Add(2 * time.Hour)}} {
		var got, in []uint64
		for rec, err := range r.Records(t.Context(), win) {
			must(t, err)
			got = append(got, rec.Seq)
		}
		for i, rec := range want {
			if win.has(noon.Add(rec.At)) {
				in = append(in, uint64(i+1))
			}
		}
		if d := cmp.Diff(in, got); d != "" {
			t.Errorf("window %v (-want +got):\n%s", win, d)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for _, err := range r.Records(ctx, Window{}) {
		if !errors.Is(err, context.Canceled) {
			t.Errorf("ended context: %v", err)
		}
	}
}

func TestRefusals(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	w := create(t, path, 0)
	run := startRun(t, w, Record, noon)
	for name, rec := range map[string]capture.Record{
		"large payload": {Run: run, Source: "a", Payload: make([]byte, MaxPayload+1)},
		"large note":    {Run: run, Source: "a", Note: string(make([]byte, MaxText+1))},
		"large channel": {Run: run, Source: "a", Channel: string(make([]byte, MaxText+1))},
		"large source":  {Run: run, Source: string(bytes.Repeat([]byte("a"), MaxSource+1))},
	} {
		if err := w.Append(rec); !errors.Is(err, ErrTooLarge) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, err := range map[string]error{
		"no source":     w.Append(capture.Record{Run: run}),
		"no run":        w.Append(capture.Record{Run: run + 1, Source: "a"}),
		"before start":  w.Append(capture.Record{Run: run, Source: "a", At: -1}),
		"no reason":     w.EndRun(run, 0, ""),
		"no such year":  w.Observe(run, Observation{Wall: time.Time{}}),
		"mark, no run":  w.Mark(7, 0, "x"),
		"sheet too big": w.Sheet(run, "job.toml", make([]byte, MaxPayload+1)),
		"run kind":      func() error { _, err := w.StartRun(RunInfo{Kind: "x", Started: noon}); return err }(),
	} {
		if err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	must(t, w.Append(capture.Record{Run: run, Source: "a", Payload: make([]byte, MaxPayload)}))
	if _, err := Create(path, Options{}); !errors.Is(err, os.ErrExist) {
		t.Errorf("Create over a capture: %v", err)
	}
	must(t, w.Close())
	if err := w.Close(); !errors.Is(err, ErrClosed) {
		t.Errorf("second Close: %v", err)
	}
	if err := w.Append(capture.Record{Run: run, Source: "a"}); !errors.Is(err, ErrClosed) {
		t.Errorf("Append after Close: %v", err)
	}
	if p := verify(t, path); p.Records != 1 {
		t.Errorf("%d records, want 1", p.Records)
	}
}
