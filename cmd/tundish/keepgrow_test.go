package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
	"tundish/dashboards/findings"
)

// grower records a house whose days are all alike into a capture, as far as it is told.
type grower struct {
	t     testing.TB
	w     *capfile.Writer
	run   uint32
	start time.Time
	sheet []byte
	day   []capture.Record
	at    time.Duration
}

// grow begins a capture. every is the time between two readings; block the number of records after which is sealed.
func grow(t testing.TB, path string, every time.Duration, block int) *grower {
	t.Helper()
	s, _ := house.Find(demoScenario)
	s.Days, s.Bus.Every, s.Probes.Every = 1, every, every
	g := &grower{t: t, start: s.Start, sheet: s.JobSheet(1)}
	if _, err := s.Simulate(t.Context(), 1, house.Listener{Record: func(rec capture.Record) error {
		rec.Payload = slices.Clone(rec.Payload)
		g.day = append(g.day, rec)
		return nil
	}}); err != nil {
		t.Fatal(err)
	}
	w, err := capfile.Create(path, capfile.Options{BlockRecords: block})
	g.must(err)
	g.begin(w)
	return g
}

func (g *grower) must(err error) {
	g.t.Helper()
	if err != nil {
		g.t.Fatal(err)
	}
}

// begin starts a run where the record has come to.
func (g *grower) begin(w *capfile.Writer) {
	g.t.Helper()
	g.w = w
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: g.start.Add(g.at),
		Sources: []string{house.SourceBus, house.SourceProbes}})
	g.must(err)
	g.must(w.Sheet(run, "job.toml", g.sheet))
	g.run, g.start, g.at = run, g.start.Add(g.at), 0
}

// until records on, up to a time of the run that began with the capture.
func (g *grower) until(at time.Duration) {
	g.t.Helper()
	const h24 = 24 * time.Hour
	for d := g.at.Truncate(h24); d < at; d += h24 {
		for _, rec := range g.day {
			if rec.Run, rec.At = g.run, rec.At+d; rec.At >= g.at && rec.At < at {
				g.must(g.w.Append(rec))
			}
		}
		g.must(g.w.Commit())
	}
	g.at = at
}

func (g *grower) close() {
	g.t.Helper()
	g.must(g.w.EndRun(g.run, g.at, "a test ends"))
	g.must(g.w.Close())
}

// keeperOf keeps in a folder what a program finds.
func keeperOf(t testing.TB, folder, program string) *keeper {
	t.Helper()
	k, err := newKeeper(folder, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	k.program = sha256.Sum256([]byte(program))
	return k
}

// told is all that an analysis comes to: JSON with every episode, text, warnings and counts.
func told(t testing.TB, path, job string, keep *keeper, workers int) string {
	t.Helper()
	c, err := openCapture(path, job)
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	c.keep = keep
	r, seen, err := c.analyseOn(t.Context(), workers)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	o := findings.Options{Episodes: true, Warnings: c.warnings(seen)}
	err = errors.Join(findings.WriteJSON(&b, r, o), findings.WriteText(&b, r, c.sheet.Job.Zone, plainWidth, o))
	if err != nil {
		t.Fatal(err)
	}
	fmt.Fprintln(&b, seen.records, seen.unread, seen.untimed, seen.damage)
	for _, s := range c.sources() {
		fmt.Fprintln(&b, s.Name, seen.tally(s.Name))
	}
	return b.String()
}

// check holds an analysis with a keeper to one from nothing, and gives how many chunks it worked out and took.
func check(t testing.TB, path, job string, keep *keeper) (worked, taken int) {
	t.Helper()
	want, got := told(t, path, job, nil, 2), told(t, path, job, keep, 2)
	if got != want {
		t.Errorf("what is kept changes what is told:\n%s", difference(want, got))
	}
	return keep.worked, keep.chunks - keep.worked
}

// difference gives the first lines that differ.
func difference(want, got string) string {
	a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return fmt.Sprintf("line %d: want %s\ngot %s", i+1, a[i], b[i])
		}
	}
	return fmt.Sprintf("%d lines, want %d", len(b), len(a))
}

func files(t testing.TB, folder string) []string {
	t.Helper()
	list, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestWhatIsKeptChangesNothing(t *testing.T) {
	path, folder := filepath.Join(t.TempDir(), "job.capture"), t.TempDir()
	manyDays(t, path)
	keep := keeperOf(t, folder, "one")
	all, taken := check(t, path, "", keep)
	if all < 3 || taken != 0 || len(files(t, folder)) != all {
		t.Fatalf("%d chunks worked out, %d taken, %d files: want 3 at least, all kept", all, taken, len(files(t, folder)))
	}
	for _, f := range files(t, folder) {
		if info, err := os.Stat(f); err != nil || info.Mode().Perm() != 0o600 && os.PathSeparator == '/' {
			t.Errorf("%s: %v %v: its owner alone may read it", f, info.Mode(), err)
		}
	}
	if worked, taken := check(t, path, "", keep); worked != 0 || taken != all {
		t.Errorf("the second time %d chunks are worked out and %d taken", worked, taken)
	}
	if worked, taken := check(t, path, "", keeperOf(t, folder, "two")); worked != all || taken != 0 {
		t.Errorf("another program works out %d chunks, and takes %d", worked, taken)
	}

	c, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	sheet := string(c.sheet.Text)
	c.close()
	job := filepath.Join(t.TempDir(), "other.toml")
	if err := os.WriteFile(job, []byte(sheet), 0o600); err != nil {
		t.Fatal(err)
	}
	check(t, path, job, keep) // the next ones differ from it in one thing each
	for name, change := range map[string][2]string{
		"another zone":     {"[job]\n", "[job]\ntimezone = \"Pacific/Auckland\"\n"},
		"switched live":    {`supply = "permanent-live"`, `supply = "switched-live"`},
		"a probe's offset": {"offset_k = -0.25", "offset_k = -1.25"},
		"no bus":           {sheet[strings.Index(sheet, "[[source]]"):strings.LastIndex(sheet, "[[source]]")], ""},
	} {
		text := strings.Replace(sheet, change[0], change[1], 1)
		if strings.HasPrefix(name, "another zone") {
			text = strings.Join(slices.DeleteFunc(strings.Split(sheet, "\n"), func(l string) bool { return strings.HasPrefix(l, "timezone") }), "\n")
			text = strings.Replace(text, change[0], change[1], 1)
		}
		if text == sheet {
			t.Errorf("%s: the job sheet is no other:\n%s", name, sheet)
			continue
		}
		if err := os.WriteFile(job, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if worked, taken := check(t, path, job, keep); worked < 3 || taken != 0 {
			t.Errorf("%s: %d chunks are worked out, %d taken", name, worked, taken)
		}
	}
}

// A file that is not as it was written is passed over, and replaced.
func TestDamagedFilesAreReplaced(t *testing.T) {
	path, folder := filepath.Join(t.TempDir(), "job.capture"), t.TempDir()
	g := grow(t, path, time.Minute, 2000)
	g.until(5 * 24 * time.Hour)
	g.close()
	keep := keeperOf(t, folder, "one")
	all, _ := check(t, path, "", keep)
	list := files(t, folder)
	if len(list) < 2 {
		t.Fatal("too few files")
	}
	good, err := os.ReadFile(list[0])
	if err != nil {
		t.Fatal(err)
	}
	other, err := os.ReadFile(list[1])
	if err != nil {
		t.Fatal(err)
	}
	bad := map[string][]byte{"empty": {}, "half of it": good[:len(good)/2], "another's": other, "longer": append(slices.Clone(good), 0),
		"noise": bytes.Repeat([]byte{0x9c}, 300), "too large": append(slices.Clone(good), make([]byte, keptFileAtMost)...)}
	for _, at := range []int{0, len(keptTitle) + 3, len(keptTitle) + 40, len(good) / 2, len(good) - 40, len(good) - 1} {
		b := slices.Clone(good)
		b[at] ^= 4
		bad[fmt.Sprint("a bit of byte ", at)] = b
	}
	want := told(t, path, "", nil, 1)
	for name, b := range bad {
		if err := os.WriteFile(list[0], b, 0o600); err != nil {
			t.Fatal(err)
		}
		if got := told(t, path, "", keep, 1); got != want {
			t.Errorf("%s: %s", name, difference(want, got))
		}
		if worked, taken := keep.worked, keep.chunks-keep.worked; worked != 1 || taken != all-1 {
			t.Errorf("%s: %d chunks are worked out, %d taken", name, worked, taken)
		}
		if b, err := os.ReadFile(list[0]); err != nil || !bytes.Equal(b, good) {
			t.Errorf("%s: it is not replaced: %v", name, err)
		}
	}
}

// A day added to a record costs a day, and not the record.
func TestADayAddedCostsADay(t *testing.T) {
	days := 24
	if raceDetector {
		days = 12
	}
	path := filepath.Join(t.TempDir(), "job.capture")
	g := grow(t, path, 5*time.Minute, 2000)
	g.until(time.Duration(days) * 24 * time.Hour)
	g.close()
	keep := keeperOf(t, t.TempDir(), "one")
	all, _ := check(t, path, "", keep)
	if all < days/chunkDays {
		t.Fatalf("only %d chunks in %d days", all, days)
	}
	w, err := capfile.Continue(path, capfile.Options{BlockRecords: 2000})
	g.must(err)
	g.begin(w)
	g.until(24 * time.Hour)
	g.close()
	if worked, taken := check(t, path, "", keep); worked > 2 || taken < all-1 {
		t.Errorf("a day more: %d chunks are worked out, %d taken of %d", worked, taken, all)
	}
}

// However far a record has come when it is analysed: with what was kept before, the same is told as from nothing. The
// borders of days, and of what is looked at beyond them, are where this could fail. What is not sealed yet is not kept.
func TestGrowingRecord(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.capture")
	g := grow(t, path, 5*time.Minute, 500)
	keep := keeperOf(t, t.TempDir(), "one")
	// The record begins on a midnight of the site's; chunks are counted from 1970.
	const day = 24 * time.Hour
	taken := 0
	for i, at := range []time.Duration{5 * time.Hour, day, day + 2*time.Hour, 4 * day, 4*day + time.Minute, 4*day + 119*time.Minute, 4*day + 2*time.Hour,
		4*day + 2*time.Hour + 2*time.Minute, 5*day - time.Minute, 5*day + time.Hour, 7 * day, 8*day + 3*time.Hour, 9*day + 30*time.Minute} {
		g.until(at)
		_, n := check(t, path, "", keep)
		taken += n
		if i > 10 && n == 0 {
			t.Errorf("after %v nothing is taken", at)
		}
	}
	g.close()
	check(t, path, "", keep)
	if worked, n := check(t, path, "", keep); worked != 0 || n == 0 {
		t.Errorf("closed, %d chunks are worked out and %d taken", worked, n)
	}
}

// A clock that is found wrong later moves all that was recorded before: it is worked out again, also where it moves by so
// little that no block comes into another window.
func TestClockSetLater(t *testing.T) {
	const day = 24 * time.Hour
	for _, by := range []time.Duration{40 * time.Minute, 3 * time.Second} {
		path := filepath.Join(t.TempDir(), "job.capture")
		g := grow(t, path, 5*time.Minute, 500)
		keep := keeperOf(t, t.TempDir(), "one")
		g.until(9 * day)
		_, _ = check(t, path, "", keep)
		if worked, taken := check(t, path, "", keep); taken < 2 || worked > 1 {
			t.Fatalf("%d chunks are worked out, %d taken", worked, taken)
		}
		before := told(t, path, "", keep, 1)
		g.must(g.w.Observe(g.run, capfile.Observation{At: g.at, Wall: g.start.Add(g.at + by), Synced: true}))
		g.must(g.w.Commit())
		if worked, taken := check(t, path, "", keep); taken != 0 || worked < 3 {
			t.Errorf("all times have moved by %v: %d chunks are worked out, %d taken", by, worked, taken)
		}
		if told(t, path, "", keep, 1) == before {
			t.Errorf("the same is told, though all times have moved by %v", by)
		}
		g.close()
		check(t, path, "", keep)
	}
}

// A box that never sees its clock synchronised looks at it every few minutes all the same, and each look differs by what
// the reading of two clocks differs. What was found of its days is kept; a clock that is set by hand moves them all.
func TestNeverSynchronisedIsKept(t *testing.T) {
	t.Parallel()
	const day = 24 * time.Hour
	path := filepath.Join(t.TempDir(), "job.capture")
	g := grow(t, path, 5*time.Minute, 500)
	keep := keeperOf(t, t.TempDir(), "one")
	looks := func(to time.Duration) {
		for at := g.at; at < to; at += time.Hour {
			g.until(at)
			jitter := time.Duration(at/time.Hour%7-3) * 311 * time.Microsecond
			g.must(g.w.Observe(g.run, capfile.Observation{At: at, Wall: g.start.Add(at + jitter)}))
		}
		g.until(to)
	}
	looks(9 * day)
	all, _ := check(t, path, "", keep)
	looks(10 * day)
	if worked, taken := check(t, path, "", keep); worked > 2 || taken < all-2 || taken == 0 {
		t.Errorf("a day more: %d chunks are worked out, %d taken of %d", worked, taken, all)
	}
	before := told(t, path, "", keep, 1)
	g.must(g.w.Observe(g.run, capfile.Observation{At: g.at, Wall: g.start.Add(g.at + 40*time.Minute)}))
	g.must(g.w.Commit())
	if worked, taken := check(t, path, "", keep); taken != 0 || worked < 3 {
		t.Errorf("all times have moved: %d chunks are worked out, %d taken", worked, taken)
	}
	if told(t, path, "", keep, 1) == before {
		t.Error("the same is told, though all times have moved")
	}
	g.close()
}

// A run in which nothing came changes no block, and yet what is told of the day: somebody listened.
func TestRunWithoutRecords(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.capture")
	g := grow(t, path, 5*time.Minute, 500)
	g.until(5*24*time.Hour - 14*time.Hour)
	g.close()
	keep := keeperOf(t, t.TempDir(), "one")
	all, _ := check(t, path, "", keep)
	before := told(t, path, "", nil, 1)
	w, err := capfile.Continue(path, capfile.Options{})
	g.must(err)
	g.begin(w)
	g.at = 10 * time.Hour
	g.close()
	if worked, taken := check(t, path, "", keep); worked != 1 || taken != all-1 {
		t.Errorf("%d chunks are worked out, %d taken of %d", worked, taken, all)
	}
	if told(t, path, "", nil, 1) == before {
		t.Error("a silence of ten hours is not told")
	}
}

// Two analyses at once, of one folder, disturb each other in nothing.
func TestTwoKeepersOfOneFolder(t *testing.T) {
	path, folder := filepath.Join(t.TempDir(), "job.capture"), t.TempDir()
	g := grow(t, path, 5*time.Minute, 500)
	g.until(9 * 24 * time.Hour)
	g.close()
	want := told(t, path, "", nil, 1)
	var all sync.WaitGroup
	got := make([]string, 6)
	for i := range got {
		all.Go(func() { got[i] = told(t, path, "", keeperOf(t, folder, "one"), 2) })
	}
	all.Wait()
	for i := range got {
		if got[i] != want {
			t.Errorf("analysis %d: %s", i, difference(want, got[i]))
		}
	}
	for _, f := range files(t, folder) {
		if !strings.HasSuffix(f, keptSuffix) {
			t.Errorf("%s is left behind", f)
		}
	}
	keep := keeperOf(t, folder, "one")
	if worked, _ := check(t, path, "", keep); worked != 0 {
		t.Errorf("%d chunks are not kept", worked)
	}
}

// Damage in the capture is told as ever: what was found before it came is not taken, and nothing is kept of what it
// left.
func TestDamageIsToldAsEver(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.capture")
	g := grow(t, path, 5*time.Minute, 500)
	g.until(9 * 24 * time.Hour)
	g.close()
	keep := keeperOf(t, t.TempDir(), "one")
	all, _ := check(t, path, "", keep)
	whole := told(t, path, "", nil, 1)
	b, err := os.ReadFile(path)
	g.must(err)
	hit := false
	for at := len(b) / 2; at < len(b) && !hit; at += 997 {
		bad := slices.Clone(b)
		bad[at] ^= 0x10
		g.must(os.WriteFile(path, bad, 0o600))
		c, err := openCapture(path, "")
		if err != nil {
			continue
		}
		_, printed := c.reader.Fingerprint(capfile.Window{})
		c.close()
		if !printed || told(t, path, "", nil, 1) == whole {
			continue // the damage shows before any body is read, or nowhere
		}
		hit = true
		for range 2 {
			if worked, taken := check(t, path, "", keep); worked < 1 || worked > 2 || taken != all-worked {
				t.Errorf("%d chunks are worked out, %d taken of %d", worked, taken, all)
			}
		}
	}
	if !hit {
		t.Error("no byte was found that damages a body")
	}
	g.must(os.WriteFile(path, b, 0o600))
	if worked, taken := check(t, path, "", keep); worked != 0 || taken != all {
		t.Errorf("mended, %d chunks are worked out, %d taken of %d", worked, taken, all)
	}
}
