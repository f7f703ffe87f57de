package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
	"tundish/dashboards/findings"
)

// clockHouse is a day of a house, to be recorded by boxes whose clocks are wrong in various ways.
type clockHouse struct {
	t     *testing.T
	sheet string
	day   []capture.Record
}

func newClockHouse(t *testing.T) *clockHouse {
	t.Helper()
	s, _ := house.Find(demoScenario)
	s.Days, s.Bus.Every, s.Probes.Every = 1, time.Minute, time.Minute
	h := &clockHouse{t: t, sheet: string(s.JobSheet(1))}
	_, err := s.Simulate(t.Context(), 1, house.Listener{Record: func(rec capture.Record) error {
		rec.Payload = slices.Clone(rec.Payload)
		h.day = append(h.day, rec)
		return nil
	}})
	h.must(err)
	return h
}

func (h *clockHouse) must(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
}

// clockRun is one run of the logger: what it recorded of the house's days, and what it saw of the clock of its box.
type clockRun struct {
	from, to time.Duration // since the first day began
	looks    []capfile.Observation
}

// right is a clock that is right, where the first day began at start.
func (r clockRun) right(start time.Time) clockRun {
	r.looks = append(r.looks, capfile.Observation{Wall: start.Add(r.from), Synced: true})
	return r
}

// write records runs in a capture, in a zone.
func (h *clockHouse) write(name, zone string, runs ...clockRun) (path string) {
	h.t.Helper()
	path = filepath.Join(h.t.TempDir(), name)
	w, err := capfile.Create(path, capfile.Options{BlockRecords: 500})
	h.must(err)
	for _, r := range runs {
		run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: r.looks[0].Wall, Sources: []string{house.SourceBus, house.SourceProbes}})
		h.must(err)
		h.must(w.Sheet(run, "job.toml", []byte(strings.Replace(h.sheet, `"Europe/London"`, `"`+zone+`"`, 1))))
		looks := r.looks
		const long = 24 * time.Hour
		for d := r.from.Truncate(long); d < r.to; d += long {
			for _, rec := range h.day {
				if rec.At += d; rec.At < r.from || rec.At >= r.to {
					continue
				}
				rec.Run, rec.At = run, rec.At-r.from
				for len(looks) > 0 && looks[0].At <= rec.At {
					h.must(w.Observe(run, looks[0]))
					looks = looks[1:]
				}
				h.must(w.Append(rec))
			}
			h.must(w.Commit())
		}
		h.must(w.EndRun(run, r.to-r.from, "a test ends"))
	}
	h.must(w.Close())
	return path
}

// seen is the result of an analysis, and what people read of it, with every episode, on lines of their own.
func (h *clockHouse) seen(path string) (r *analyse.Result, text string) {
	h.t.Helper()
	c, err := openCapture(path, "")
	h.must(err)
	defer c.close()
	r, seen, err := c.analyseOn(h.t.Context(), 2)
	h.must(err)
	var b bytes.Buffer
	h.must(findings.WriteText(&b, r, c.sheet.Job.Zone, 1000, findings.Options{Episodes: true, Warnings: c.warnings(seen)}))
	return r, b.String()
}

// exported is a capture as CSV.
func (h *clockHouse) exported(path string, more ...string) string {
	h.t.Helper()
	out := path + ".csv"
	done(h.t, append([]string{"export", path, "-o", out}, more...)...)
	text, err := os.ReadFile(out)
	h.must(err)
	return string(text)
}

// html is the report.
func (h *clockHouse) html(path string) string {
	h.t.Helper()
	done(h.t, "report", "--no-cache", path, "-o", path+".html")
	text, err := os.ReadFile(path + ".html")
	h.must(err)
	return string(text)
}

// firings are when firings began, to the second.
func firings(r *analyse.Result) (list []string) {
	for _, f := range r.Facts.Firings {
		list = append(list, f.From.Truncate(time.Second).Format(time.RFC3339))
	}
	return list
}

// happened is a line of an episode: its local time, with the clock's name where one stands there.
var happened = regexp.MustCompile(`(?m)^ +(\d+ [A-Z][a-z]{2} \d\d:\d\d:\d\d)( [A-Z]+)? firing, `)

// inOrder holds that an export is in UTC and in order, and tells the longest time between two rows.
func inOrder(t *testing.T, csv string) (rows int, longest time.Duration) {
	t.Helper()
	var last time.Time
	for line := range strings.Lines(csv) {
		stamp, _, _ := strings.Cut(line, ",")
		if stamp == "time" {
			continue
		}
		at, err := time.Parse(time.RFC3339Nano, stamp)
		if err != nil || !strings.HasSuffix(stamp, "Z") || at.Before(last) {
			t.Fatalf("row %d: %q after %v: %v", rows, stamp, last, err)
		}
		if rows++; rows > 1 {
			longest = max(longest, at.Sub(last))
		}
		last = at
	}
	return rows, longest
}

// Where clocks are put back an hour comes twice, and forward one is missing: what people read tells each moment, days have
// 25 and 23 hours, and nothing else differs from a record in UTC. The changes of 2026 in London are those of the IANA time
// zone database: 29 March 01:00 UTC and 25 October 01:00 UTC.
func TestClocksPutBackAndForward(t *testing.T) {
	t.Parallel()
	h := newClockHouse(t)
	zone, err := time.LoadLocation("Europe/London")
	h.must(err)
	for _, c := range []struct {
		day   time.Time // its local noon
		long  time.Duration
		said  string
		ratio float64 // the first three hours on the axis, to the next three
	}{
		{time.Date(2026, 10, 25, 12, 0, 0, 0, zone), 25 * time.Hour, "The clocks change, −1 h, on 25 Oct 2026 at 02:00 by the old clock.", 4. / 3},
		{time.Date(2026, 3, 29, 12, 0, 0, 0, zone), 23 * time.Hour, "The clocks change, +1 h, on 29 Mar 2026 at 01:00 by the old clock.", 2. / 3},
	} {
		start := time.Date(2026, c.day.Month(), c.day.Day()-1, 18, 0, 0, 0, time.UTC)
		run := clockRun{to: 40 * time.Hour}.right(start)
		path, plain := h.write("local.capture", "Europe/London", run), h.write("plain.capture", "UTC", run)
		r, text := h.seen(path)
		want, _ := h.seen(plain)
		all := firings(r)
		if len(all) < 100 || !slices.Equal(all, firings(want)) {
			t.Errorf("%v: %d firings, in UTC %d", c.day, len(all), len(want.Facts.Firings))
		}
		var read []string
		clocks := map[string]int{}
		for _, m := range happened.FindAllStringSubmatch(text, -1) {
			layout := "2 Jan 15:04:05 2006"
			if m[2] != "" {
				layout = "2 Jan 15:04:05 MST 2006"
			}
			at, err := time.ParseInLocation(layout, m[1]+m[2]+" 2026", zone)
			h.must(err)
			read = append(read, at.UTC().Format(time.RFC3339))
			clocks[m[2]]++
		}
		if !slices.Equal(read, all) {
			t.Errorf("%v: the text's times are other ones:\n%s", c.day, difference(strings.Join(all, "\n"), strings.Join(read, "\n")))
		}
		if twice := c.long > 24*time.Hour; twice != (clocks[" BST"] > 0) || twice != (clocks[" GMT"] > 0) {
			t.Errorf("%v: firings by clock: %v", c.day, clocks)
		}
		if d := r.Facts.Days; len(d) != 3 || d[1].To.Sub(d[1].From) != c.long || d[0].To != d[1].From || d[1].To != d[2].From {
			t.Errorf("%v: days %v", c.day, d)
		}
		local, utc := h.exported(path), h.exported(plain)
		if rows, longest := inOrder(t, local); local != utc || rows < 5000 || longest > 2*time.Minute {
			t.Errorf("%v: %d rows, the longest pause %v; as in UTC: %v", c.day, rows, longest, local == utc)
		}
		page := h.html(path)
		if !strings.Contains(strings.ReplaceAll(page, "\u00a0", " "), c.said) {
			t.Errorf("the report does not say %q", c.said)
		}
		_, chart, _ := strings.Cut(page, c.day.Format(">Monday 2 January 2006</title>"))
		chart, _, _ = strings.Cut(chart, "</svg>")
		x := map[string]float64{}
		for _, m := range regexp.MustCompile(`x="([\d.]+)"[^>]*>(0[036]:00)<`).FindAllStringSubmatch(chart, -1) {
			if _, ok := x[m[2]]; !ok {
				x[m[2]], err = strconv.ParseFloat(m[1], 64)
				h.must(err)
			}
		}
		if got := (x["03:00"] - x["00:00"]) / (x["06:00"] - x["03:00"]); got < c.ratio-.01 || got > c.ratio+.01 {
			t.Errorf("%v: ticks at %v: the first three hours are %.3f of the next, want %.3f", c.day, x, got, c.ratio)
		}
	}
}

// A logger's table in local time is read to the right hours, whether rows are minutes or an hour apart.
func TestLocalTableOverClockChange(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	const sheet = "[job]\nname = \"Loft\"\ntimezone = \"Europe/Berlin\"\n[[source]]\nname = \"loft\"\nkind = \"readings\"\n" +
		"[source.table]\ntime = [\"Zeit\"]\ntime_format = \"DD.MM.YYYY HH:mm:ss\"\ncolumns = { Vorlauf = \"flow\" }\n"
	for _, day := range []time.Time{time.Date(2026, 10, 25, 0, 0, 0, 0, zone), time.Date(2026, 3, 29, 0, 0, 0, 0, zone)} {
		for _, every := range []time.Duration{10 * time.Minute, 30 * time.Minute, time.Hour} {
			in := func(name string) string { return filepath.Join(t.TempDir(), name) }
			job, table, capture := in("job.toml"), in("loft.csv"), in("x.capture")
			csv, want := "Zeit;Vorlauf\n", "time,series,value,unit,quality\n"
			n := 0
			for at := day.Add(-6 * time.Hour); at.Before(day.Add(30 * time.Hour)); at = at.Add(every) {
				n++
				csv += fmt.Sprintf("%s;%d\n", at.Format("02.01.2006 15:04:05"), 20+n%60)
				want += fmt.Sprintf("%s,loft/flow,%d,°C,good\n", at.UTC().Format(time.RFC3339), 20+n%60)
			}
			for path, text := range map[string]string{job: sheet, table: csv} {
				if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			done(t, "import", job, "-o", capture, "loft="+table)
			done(t, "export", capture, "-o", capture+".csv")
			if got := string(read(t, capture+".csv")); got != want {
				t.Errorf("%s, a row each %v: %s", day.Format(time.DateOnly), every, difference(want, got))
			}
		}
	}
}

// A box that boots in the past and is synchronised hours later gives what one gives whose clock was right; the jump is told.
func TestBootsInThePast(t *testing.T) {
	t.Parallel()
	h := newClockHouse(t)
	start := time.Date(2026, 10, 26, 18, 0, 0, 0, time.UTC)
	right := h.write("right.capture", "Europe/London", clockRun{to: 20 * time.Hour}.right(start))
	want, wantText := h.seen(right)
	csv := h.exported(right)
	for _, boot := range []time.Time{time.Date(1970, 1, 1, 0, 0, 20, 0, time.UTC), time.Date(2016, 11, 3, 17, 16, 40, 0, time.UTC)} {
		const at = 7 * time.Hour
		path := h.write("late.capture", "Europe/London", clockRun{to: 20 * time.Hour, looks: []capfile.Observation{
			{Wall: boot}, {At: 4 * time.Hour, Wall: boot.Add(4 * time.Hour)}, {At: at, Wall: start.Add(at), Synced: true}}})
		r, text := h.seen(path)
		if got := firings(r); len(got) < 50 || !slices.Equal(got, firings(want)) {
			t.Errorf("%v: %d firings, with a clock that was right %d", boot, len(got), len(want.Facts.Firings))
		}
		const said = "! the clock was set forward by "
		lines := slices.DeleteFunc(strings.SplitAfter(text, "\n"), func(l string) bool {
			return strings.HasPrefix(l, said) || strings.HasPrefix(l, "  before that were moved with it")
		})
		if rest := strings.Join(lines, ""); rest != wantText || !strings.Contains(text, said) {
			t.Errorf("%v: besides the step: %s", boot, difference(wantText, rest))
		}
		if got := h.exported(path); got != csv {
			t.Errorf("%v: exported: %s", boot, difference(csv, got))
		}
	}
}

// Of two runs the first never knew the time, the second learnt it. The first is dated by its own clock, as is said; it is
// not moved to where it might have been, but where it would overlap it ends before the next.
func TestFirstRunNeverSynchronised(t *testing.T) {
	t.Parallel()
	h := newClockHouse(t)
	start := time.Date(2026, 10, 26, 18, 0, 0, 0, time.UTC)
	const hour = time.Hour
	second := clockRun{from: 12 * hour, to: 24 * hour, looks: []capfile.Observation{{Wall: start}, {At: hour, Wall: start.Add(13 * hour), Synced: true}}}
	for _, c := range []struct {
		boot, from time.Time // as its clock said; where its times are
		words      []string
	}{
		{time.Date(1970, 1, 1, 0, 0, 20, 0, time.UTC), time.Date(1970, 1, 1, 0, 0, 20, 0, time.UTC),
			[]string{"the clock of run 1 was never set", "Thu 1 Jan 1970 01:00:20", "ended before Tue 27 Oct 2026 06:00:00, when run 2 began", "logger not running"}},
		{start.Add(-30 * hour), start.Add(-30 * hour), []string{"the clock of run 1 was never seen synchronised"}},
		{start.Add(5 * hour), start.Add(2 * hour), []string{"the clock of run 1 was never seen synchronised"}}, // ten hours from there overlap
	} {
		path := h.write("two.capture", "Europe/London", clockRun{to: 10 * hour, looks: []capfile.Observation{{Wall: c.boot}, {At: 5 * hour, Wall: c.boot.Add(5 * hour)}}}, second)
		r, text := h.seen(path)
		flat := strings.Join(strings.Fields(text), " ")
		for _, want := range append(c.words, "its true time is not known", "the clock of run 2 was set forward by 12 h", "times of run 2 before that were moved with it") {
			if !strings.Contains(flat, want) {
				t.Errorf("%v: %q is not said", c.boot, want)
			}
		}
		if strings.Count(flat, "UTC+") > 4 {
			t.Errorf("%v: the zone's offsets are named one by one", c.boot)
		}
		page := h.html(path)
		if want := c.words[0]; !strings.Contains(strings.ToLower(page), want) {
			t.Errorf("%v: the report does not say %q", c.boot, want)
		}
		if !r.From.Equal(c.from) || !r.To.Equal(start.Add(24*hour)) {
			t.Errorf("%v: from %v to %v", c.boot, r.From, r.To)
		}
		between := start.Add(12 * hour).Sub(c.from.Add(10 * hour))
		rows, longest := inOrder(t, h.exported(path))
		if rows < 5000 || longest < between || longest > between+2*time.Minute {
			t.Errorf("%v: %d rows, the longest pause %v, between the runs %v", c.boot, rows, longest, between)
		}
		for i, f := range r.Facts.Firings {
			if i > 0 && f.From.Before(r.Facts.Firings[i-1].To) {
				t.Errorf("%v: a firing from %v overlaps the one before", c.boot, f.From)
			}
			if f.From.Before(start.Add(12*hour)) && f.To.After(c.from.Add(10*hour)) {
				t.Errorf("%v: a firing from %v to %v while no logger ran", c.boot, f.From, f.To)
			}
		}
	}
}

// A time server that sets the clock by an hour, or lets it run slow or fast for a while, moves no reading: a step is told
// as one, and there is neither a gap nor anything twice.
func TestClockSetWithinARun(t *testing.T) {
	t.Parallel()
	h := newClockHouse(t)
	start := time.Date(2026, 10, 26, 18, 0, 0, 0, time.UTC)
	const hour, at = time.Hour, 11 * time.Hour
	look := func(at, off time.Duration, synced bool) capfile.Observation {
		return capfile.Observation{At: at, Wall: start.Add(at + off), Synced: synced}
	}
	slewed := func(from time.Duration, each time.Duration) (looks []capfile.Observation) {
		off := from
		for at := time.Duration(0); at < 24*hour; at += 5 * time.Minute {
			looks = append(looks, look(at, off, true))
			if off -= each; (off < 0) != (from < 0) {
				off = 0
			}
		}
		return looks
	}
	want, _ := h.seen(h.write("right.capture", "Europe/London", clockRun{to: 24 * hour}.right(start)))
	plain := firings(want)
	for _, c := range []struct {
		name  string
		looks []capfile.Observation
		words string        // of the step
		most  time.Duration // by which a firing may lie elsewhere
	}{
		{"forward", []capfile.Observation{look(0, -hour, true), look(at, -hour, true), look(at+time.Second, 0, true)},
			"the clock was set forward by 1 h at Tue 27 Oct 2026 05:00:01; times before that were moved with it", 0},
		{"back", []capfile.Observation{look(0, hour, true), look(at, hour, true), look(at+time.Second, 0, true)},
			"the clock was set back by 1 h at Tue 27 Oct 2026 05:00:01; times before that were moved with it", 0},
		{"by hand, after the network went", []capfile.Observation{look(0, 0, true), look(at, 0, false), look(at+time.Second, hour, false)},
			"the clock was set forward by 1 h at Tue 27 Oct 2026 05:00:01; times do not follow it, since the clock had been synchronised before and then was not", 0},
		// 500 ppm is the most that Linux slews by itself (adjtimex(2)): 150 ms in five minutes.
		{"slewed forward", slewed(-20*time.Second, -150*time.Millisecond), "", 20 * time.Second},
		{"slewed back", slewed(20*time.Second, 150*time.Millisecond), "", 20 * time.Second},
	} {
		path := h.write("set.capture", "Europe/London", clockRun{to: 24 * hour, looks: c.looks})
		r, text := h.seen(path)
		text = strings.Join(strings.Fields(text), " ")
		told := strings.Count(text, "the clock was set")
		if c.words != "" && (told != 1 || !strings.Contains(text, c.words)) || c.words == "" && told != 0 {
			t.Errorf("%s: told %d times: %.700s", c.name, told, text)
		}
		if strings.Contains(text, "logger not running") || strings.Contains(text, " gap,") || len(r.Facts.Days) != 2 {
			t.Errorf("%s: a gap, or other days", c.name)
		}
		if got := len(r.Facts.Firings); got != len(plain) {
			t.Errorf("%s: %d firings, want %d", c.name, got, len(plain))
			continue
		}
		for i, f := range r.Facts.Firings {
			if off := f.From.Sub(want.Facts.Firings[i].From).Abs(); off > c.most {
				t.Fatalf("%s: firing %d is off by %v", c.name, i, off)
			}
		}
		if rows, longest := inOrder(t, h.exported(path)); rows < 5000 || longest > 2*time.Minute {
			t.Errorf("%s: %d rows, the longest pause %v", c.name, rows, longest)
		}
	}
}
