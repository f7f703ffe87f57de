package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"log/slog"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/analyse"
	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
	"tundish/dashboards/findings"
	"tundish/decode"
)

// filler gives every field of a value something of its own.
type filler struct {
	t *testing.T
	n int
}

func (f *filler) fill(v reflect.Value, path string) {
	f.n++
	if v.Type() == reflect.TypeFor[time.Time]() {
		v.Set(reflect.ValueOf(time.Unix(1_700_000_000+int64(f.n), int64(f.n)*1_000_003%1_000_000_000).UTC()))
		return
	}
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		v.SetInt(int64(f.n%120 + 1))
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		v.SetUint(uint64(f.n%120 + 1))
	case reflect.Float32, reflect.Float64:
		v.SetFloat(float64(f.n) / 7)
	case reflect.String:
		v.SetString("°" + string(rune('a'+f.n%26)))
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		f.fill(v.Elem(), path)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		f.fill(v.Index(0), path+"[0]")
		f.fill(v.Index(1), path+"[1]")
	case reflect.Array:
		for i := range v.Len() {
			f.fill(v.Index(i), path)
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		key, value := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
		f.fill(key, path)
		f.fill(value, path)
		v.SetMapIndex(key, value)
	case reflect.Struct:
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if !field.IsExported() && !field.Anonymous {
				f.t.Fatalf("%s.%s is not exported: it would be lost when a day is kept", path, field.Name)
			}
			f.fill(v.Field(i), path+"."+field.Name)
		}
	default:
		f.t.Fatalf("%s: a %s cannot be kept", path, v.Kind())
	}
}

// Nothing of a part is lost on the way into a file and back: every field, of all that it holds.
func TestKeptPartsAreWhole(t *testing.T) {
	var kept keptChunk
	f := &filler{t: t}
	f.fill(reflect.ValueOf(&kept).Elem(), "chunk")
	if f.n < 500 {
		t.Fatalf("only %d fields were filled", f.n)
	}
	there(t, &kept)
}

// What is nothing stays nothing, and is not taken for empty; what is no usual number stays what it is.
func TestKeptPartsKeepNothing(t *testing.T) {
	nought, none := 0.0, math.NaN()
	kept := keptChunk{Parts: []*analyse.Part{{}}, Unread: map[string]uint64{}}
	f := &filler{t: t}
	f.fill(reflect.ValueOf(&kept.Parts).Elem(), "parts")
	kept.Parts[0].Facts.Lockouts[0].Preceding.Flow = nil
	kept.Parts[0].Facts.Lockouts[0].Preceding.Outside = &nought
	kept.Parts[0].Facts.Lockouts[1].Preceding.Outside = &none
	kept.Parts[0].Facts.Firings = kept.Parts[0].Facts.Firings[:0]
	kept.Parts[0].Facts.Sights = nil
	kept.Parts[0].First = time.Time{}
	kept.Parts[0].Series[0].Min = math.Inf(1)
	kept.Parts[0].Series[0].Max = math.Copysign(0, -1)
	there(t, &kept)
}

// there sends a chunk through a file and compares.
func there(t *testing.T, kept *keptChunk) {
	t.Helper()
	text, err := packChunk(kept, sha256.Sum256(nil))
	if err != nil {
		t.Fatal(err)
	}
	back, err := unpackChunk(text, sha256.Sum256(nil))
	if err != nil {
		t.Fatal(err)
	}
	bits := cmp.Comparer(func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) })
	all := cmp.Exporter(func(reflect.Type) bool { return true })
	times := cmp.Comparer(func(a, b time.Time) bool { return a == b })
	if d := cmp.Diff(kept, back, bits, all, times); d != "" {
		t.Errorf("kept and read again (-kept +read):\n%s", d)
	}
}

// growing is a capture that grows by days.
type growing struct {
	path string
	day  []capture.Record
	s    house.Scenario
	runs int
	last int // days written
}

func newGrowing(t *testing.T) *growing {
	t.Helper()
	g := &growing{path: filepath.Join(t.TempDir(), "job.capture")}
	g.s, _ = house.Find(demoScenario)
	g.s.Days, g.s.Bus.Every, g.s.Probes.Every = 1, 60*time.Second, 60*time.Second
	if _, err := g.s.Simulate(t.Context(), 1, house.Listener{Record: func(rec capture.Record) error {
		rec.Payload = slices.Clone(rec.Payload)
		g.day = append(g.day, rec)
		return nil
	}}); err != nil {
		t.Fatal(err)
	}
	return g
}

// grow adds a run of days. With seals false the last records stay unsealed, as while the logger runs. synced is how far
// the clock is found to be wrong at the end of the run; 0: nobody looked.
func (g *growing) grow(t *testing.T, days int, seals bool, wrong time.Duration) {
	t.Helper()
	const h24 = 24 * time.Hour
	check := func(err error) {
		if err != nil {
			t.Helper()
			t.Fatal(err)
		}
	}
	open := capfile.Continue
	if g.runs == 0 {
		open = capfile.Create
	}
	w, err := open(g.path, capfile.Options{})
	check(err)
	start := g.s.Start.Add(time.Duration(g.last) * h24)
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: start, Sources: []string{house.SourceBus, house.SourceProbes}})
	check(err)
	check(w.Sheet(run, "job.toml", g.s.JobSheet(1)))
	check(w.Observe(run, capfile.Observation{Wall: start, Synced: true}))
	for d := range days {
		for _, rec := range g.day {
			rec.Run, rec.At = run, rec.At+time.Duration(d)*h24
			check(w.Append(rec))
		}
		check(w.Commit())
	}
	end := time.Duration(days) * h24
	if wrong != 0 {
		check(w.Observe(run, capfile.Observation{At: end, Wall: start.Add(end + wrong), Synced: true}))
	}
	g.runs, g.last = g.runs+1, g.last+days
	if !seals {
		check(w.Commit())
		t.Cleanup(func() { w.Close() })
		return
	}
	check(w.EndRun(run, end, "a test ends"))
	check(w.Close())
}

// told analyses a capture and gives all that is told, and how many chunks were there and were worked on.
func (g *growing) told(t *testing.T, k *keeper, job string) (text string, chunks, worked int) {
	t.Helper()
	c, err := openCapture(g.path, job)
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	c.keep = k
	r, seen, err := c.analyseOn(t.Context(), 2)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := findings.WriteJSON(&b, r, findings.Options{Episodes: true, Warnings: c.warnings(seen)}); err != nil {
		t.Fatal(err)
	}
	for _, src := range c.sources() {
		b.WriteString(src.Name)
		for _, n := range seen.tally(src.Name) {
			b.WriteString(" " + n.Name)
			b.Write(binary.AppendUvarint(nil, n.N))
		}
	}
	if k != nil {
		return b.String(), k.chunks, k.worked
	}
	return b.String(), 0, 0
}

// A day added to a record is all that is worked on, and what is told is the same as when all is worked out anew.
func TestADayAddedCostsADay(t *testing.T) {
	g := newGrowing(t)
	k, err := newKeeper(t.TempDir(), slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	same := func(what string, most int) {
		t.Helper()
		got, chunks, worked := g.told(t, k, "")
		want, _, _ := g.told(t, nil, "")
		if got != want {
			t.Errorf("%s: told otherwise than anew: %s", what, cmp.Diff(want, got))
		}
		t.Logf("%s: %d of %d chunks worked on", what, worked, chunks)
		if most == 0 && worked > 0 || most > 0 && (worked == 0 || worked > most) {
			t.Errorf("%s: %d of %d chunks were worked on, want %d at the most", what, worked, chunks, most)
		}
	}
	g.grow(t, 21, true, 0)
	same("21 days", 7)
	same("again", 0)
	g.grow(t, 1, true, 0)
	same("a day more", 2)
	same("again", 0)
	g.grow(t, 1, false, 0)
	same("a day that is not sealed yet", 2)
	same("and again: what is not sealed is not kept", 2)
}

// A clock that is set right in the end moves the times before: what was kept of them holds no longer.
func TestKeptIsOfTheTimesThatAreTrueNow(t *testing.T) {
	g := newGrowing(t)
	k, err := newKeeper(t.TempDir(), slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	g.grow(t, 9, true, 0)
	first, _, _ := g.told(t, k, "")
	other := newGrowing(t)
	other.grow(t, 9, true, 20*time.Second)
	got, _, worked := other.told(t, k, "")
	want, _, _ := other.told(t, nil, "")
	if got != want || worked == 0 {
		t.Errorf("%d chunks worked on, told otherwise than anew: %s", worked, cmp.Diff(want, got))
	}
	if first == want {
		t.Error("the clock moved nothing")
	}
}

// Whatever the parts follow from, they are not taken for those of something else.
func TestKeptIsOfThisOnly(t *testing.T) {
	g := newGrowing(t)
	folder := t.TempDir()
	k, err := newKeeper(folder, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	g.grow(t, 5, true, 0)
	want, chunks, _ := g.told(t, k, "")
	job := filepath.Join(t.TempDir(), "other.toml")
	sheet := bytes.Replace(g.s.JobSheet(1), []byte("[plant]"), []byte("[plant]\n# another\n"), 1)
	if err := os.WriteFile(job, sheet, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, worked := g.told(t, k, job); worked != chunks {
		t.Errorf("another job sheet: %d of %d chunks were worked on", worked, chunks)
	}
	program := k.program
	k.program[7] ^= 1
	if _, _, worked := g.told(t, k, ""); worked != chunks {
		t.Errorf("another program: %d of %d chunks were worked on", worked, chunks)
	}
	k.program = program
	files, err := filepath.Glob(filepath.Join(folder, "*"+keptSuffix))
	if err != nil || len(files) != 3*chunks {
		t.Fatalf("%d files for %d chunks: %v", len(files), chunks, err)
	}
	for _, f := range files { // a bit is lost in each
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		text[len(text)*2/3] ^= 4
		if err := os.WriteFile(f, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	got, _, worked := g.told(t, k, "")
	if worked != chunks || got != want {
		t.Errorf("damaged files: %d of %d chunks were worked on; told otherwise: %t", worked, chunks, got != want)
	}
	if got, _, worked := g.told(t, k, ""); worked != 0 || got != want {
		t.Errorf("they were not made anew: %d chunks worked on", worked)
	}
	if err := k.trim(1); err != nil {
		t.Fatal(err)
	}
	if files, _ := filepath.Glob(filepath.Join(folder, "*")); len(files) > 0 {
		t.Errorf("more was left than may be: %q", files)
	}
	if info, err := os.Stat(folder); err != nil || info.Mode().Perm()&0o077 != 0 && info.Mode().Perm() != 0o755 {
		t.Errorf("folder: %v %v", info.Mode(), err)
	}
}

// Where nothing can be kept the analysis goes on.
func TestNowhereToKeep(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	log := slog.New(slog.DiscardHandler)
	t.Setenv(keepEnv, filepath.Join(file, "below"))
	if k := (keepFlags{}).keeper(log); k != nil {
		t.Errorf("a folder below a file: %+v", k)
	}
	t.Setenv(keepEnv, keepOff)
	if k := (keepFlags{}).keeper(log); k != nil {
		t.Errorf("off: %+v", k)
	}
	folder := filepath.Join(t.TempDir(), "kept")
	t.Setenv(keepEnv, folder)
	if k := (keepFlags{NoCache: true}).keeper(log); k != nil {
		t.Errorf("--no-cache: %+v", k)
	}
	k := keepFlags{}.keeper(log)
	if k == nil || k.folder != folder {
		t.Fatalf("%s: %+v", folder, k)
	}
	if info, err := os.Stat(folder); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the folder can be read by others: %v %v", info, err)
	}
	if err := os.RemoveAll(folder); err != nil { // lost while it works
		t.Fatal(err)
	}
	g := newGrowing(t)
	g.grow(t, 2, true, 0)
	got, _, _ := g.told(t, k, "")
	if want, _, _ := g.told(t, nil, ""); got != want {
		t.Error("told otherwise than anew")
	}
}

// FuzzKept: what is no kept part is refused, whatever stands in the file.
func FuzzKept(f *testing.F) {
	kept := keptChunk{Parts: []*analyse.Part{{}}, Counted: map[string][]decode.Count{"boiler": {{Name: "lines", N: 3}}}}
	enc, _, err := keptForm()
	if err != nil {
		f.Fatal(err)
	}
	plain, err := enc.Marshal(kept)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(plain)
	f.Add([]byte{0xa1, 0x65, 'P', 'a', 'r', 't', 's', 0x9b, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff})
	f.Fuzz(func(t *testing.T, plain []byte) {
		back, err := readParts(plain)
		if err != nil {
			return
		}
		for _, p := range back.Parts {
			if p == nil || p.Facts == nil {
				t.Fatal("an empty part was let pass")
			}
		}
	})
}
