package main

import (
	"bytes"
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
	"tundish/cmd/tundish/jobsheet"
	"tundish/dashboards/findings"
	"tundish/decode"
	"tundish/decode/onewire"
)

// radioHouse is a house whose water is seen by sensors behind a broker, which send their own time, and whose bus is heard
// by the logger itself. Its days are all alike.
type radioHouse struct {
	start time.Time
	sheet []byte
	day   []capture.Record // of the bus, and of the sensors when they sent
}

const radio = "radio"

// radioAhead keeps what sensors send from coming at the very moment of a line of the bus.
const radioAhead = 7 * time.Millisecond

func newRadioHouse(t testing.TB, every time.Duration) *radioHouse {
	t.Helper()
	s, _ := house.Find(demoScenario)
	s.Days, s.Bus.Every, s.Probes.Every = 1, every, every
	h := &radioHouse{start: s.Start}
	sheet := string(s.JobSheet(1))
	at := strings.LastIndex(sheet, "[[source]]")
	probes := openedProbes(t, sheet)
	sheet = sheet[:at] + "[[source]]\nname = \"radio\"\nkind = \"mqtt\"\n"
	for _, p := range []string{"flow", "return"} {
		sheet += fmt.Sprintf("[[source.topic]]\ntopic = \"house/%s\"\npoint = \"%s\"\npath = \"v\"\ntime = \"at\"\ntime_unit = \"ms\"\n", p, p)
	}
	h.sheet = []byte(sheet)
	if _, err := s.Simulate(t.Context(), 1, house.Listener{Record: func(rec capture.Record) error {
		rec.Payload = slices.Clone(rec.Payload)
		if rec.Source == house.SourceBus {
			h.day = append(h.day, rec)
			return nil
		}
		rec.Time = h.start.Add(rec.At)
		return probes.Decode(rec, func(r decode.Reading) {
			p := r.Series.Point
			if r.Quality != decode.Good || p != decode.Flow && p != decode.Return {
				return
			}
			sent := rec.At.Truncate(time.Millisecond) + radioAhead
			h.day = append(h.day, capture.Record{Source: radio, At: sent, Channel: "house/" + p.String(),
				Payload: fmt.Appendf(nil, `{"v": %v, "at": %d}`, r.Value, h.start.Add(sent).UnixMilli())})
		})
	}}); err != nil {
		t.Fatal(err)
	}
	slices.SortStableFunc(h.day, func(a, b capture.Record) int { return cmp.Compare(a.At, b.At) })
	return h
}

// openedProbes is the decoder of the probes of a job sheet.
func openedProbes(t testing.TB, text string) *onewire.Decoder {
	t.Helper()
	sheet, err := jobsheet.Parse("job.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	for i := range sheet.Sources {
		if src := &sheet.Sources[i]; src.Name == house.SourceProbes {
			d, err := decodeProbes(src, sheet)
			if err != nil {
				t.Fatal(err)
			}
			return d.(*onewire.Decoder)
		}
	}
	t.Fatal("no probes in the job sheet")
	return nil
}

// on moves a record to a day of the record, with the time that stands in its message.
func (h *radioHouse) on(rec capture.Record, day int) capture.Record {
	by := time.Duration(day) * 24 * time.Hour
	if rec.Source == radio {
		sent := h.start.Add(rec.At).UnixMilli()
		rec.Payload = bytes.Replace(rec.Payload, fmt.Append(nil, sent), fmt.Append(nil, sent+by.Milliseconds()), 1)
	}
	rec.At += by
	return rec
}

// outage is a time in which a broker was not reached.
type outage struct{ from, to time.Duration }

// records are those of some days. What sensors send in an outage comes after it, marked as the logger marks it.
func (h *radioHouse) records(days int, away ...outage) []capture.Record {
	var out []capture.Record
	for d := range days {
		for _, rec := range h.day {
			out = append(out, h.on(rec, d))
		}
	}
	for _, o := range away {
		n := time.Duration(0)
		for i := range out {
			rec := &out[i]
			if rec.Source != radio || rec.At < o.from || rec.At >= o.to {
				continue
			}
			n++
			rec.At, rec.Channel = o.to+n*10*time.Microsecond, rec.Channel+capture.Waited
		}
		out = append(out, capture.Record{Source: radio, At: o.from, Note: "lost: broker unreachable"},
			capture.Record{Source: radio, At: o.to, Note: "back after a while"})
	}
	slices.SortStableFunc(out, func(a, b capture.Record) int { return cmp.Compare(a.At, b.At) })
	return out
}

// write records them in one run.
func (h *radioHouse) write(t testing.TB, path string, list []capture.Record) {
	t.Helper()
	w, err := capfile.Create(path, capfile.Options{BlockRecords: 500})
	if err != nil {
		t.Fatal(err)
	}
	g := &grower{t: t, start: h.start, sheet: h.sheet}
	h.begin(g, w)
	h.add(g, list)
	g.close()
}

func (h *radioHouse) begin(g *grower, w *capfile.Writer) {
	g.t.Helper()
	g.w = w
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: g.start, Sources: []string{house.SourceBus, radio}})
	g.must(err)
	g.must(w.Sheet(run, "job.toml", h.sheet))
	g.must(w.Observe(run, capfile.Observation{Wall: g.start, Synced: true}))
	g.run = run
}

func (h *radioHouse) add(g *grower, list []capture.Record) {
	g.t.Helper()
	for _, rec := range list {
		rec.Run, g.at = g.run, rec.At
		g.must(g.w.Append(rec))
	}
	g.must(g.w.Commit())
}

// foundIn is what people read of a capture, and every episode.
func foundIn(t testing.TB, path string, workers int) (text string, seen *scanned, firings int) {
	t.Helper()
	c, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	r, seen, err := c.analyseOn(t.Context(), workers)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := findings.WriteJSON(&b, r, findings.Options{Episodes: true}); err != nil {
		t.Fatal(err)
	}
	return b.String(), seen, len(r.Facts.Firings)
}

// The readings of a queue that came three hours late, or over the border of two chunks of days, give what the same
// readings give that came in time, for any number of workers.
func TestLateIsAsInTime(t *testing.T) {
	t.Parallel()
	h := newRadioHouse(t, time.Minute)
	const hour = time.Hour
	path := func(name string) string { return filepath.Join(t.TempDir(), name) }
	const days = 6
	intime := path("intime.capture")
	h.write(t, intime, h.records(days))
	want, _, firings := foundIn(t, intime, 2)
	if firings < 20 {
		t.Fatalf("only %d firings", firings)
	}
	for _, c := range []struct {
		name    string
		workers []int
		away    []outage
	}{
		{"three hours", []int{1}, []outage{{30 * hour, 33 * hour}}},
		{"over midnight", []int{1, 3}, []outage{{22 * hour, 25 * hour}, {46 * hour, 49 * hour}, {70 * hour, 73 * hour}, {94 * hour, 97 * hour}}},
		{"three days", []int{3}, []outage{{14 * hour, 86 * hour}}},
		{"just above a minute", []int{1}, []outage{{30 * hour, 30*hour + 90*time.Second}}},
	} {
		late := path("late.capture")
		h.write(t, late, h.records(days, c.away...))
		for _, workers := range c.workers {
			got, seen, _ := foundIn(t, late, workers)
			if got != want {
				t.Errorf("%s, %d workers: %s", c.name, workers, difference(want, got))
			}
			n := uint64(0)
			for _, x := range seen.tally(radio) {
				if strings.Contains(x.Name, "placed at the sender's time") {
					n = x.N
				}
				if strings.Contains(x.Name, "not in the analysis") && x.N > 0 {
					t.Errorf("%s: %d %s", c.name, x.N, x.Name)
				}
			}
			if n == 0 {
				t.Errorf("%s: nothing is told of what came late: %v", c.name, seen.tally(radio))
			}
		}
	}
}

// A sender whose clock is slow makes each of its readings late: they are where the sender says.
func TestSlowSender(t *testing.T) {
	t.Parallel()
	h := newRadioHouse(t, time.Minute)
	intime, late := filepath.Join(t.TempDir(), "intime.capture"), filepath.Join(t.TempDir(), "late.capture")
	list := h.records(6)
	h.write(t, intime, list)
	want, _, firings := foundIn(t, intime, 2)
	var end time.Duration
	for i := range list {
		end = list[i].At
		if list[i].Source == radio {
			list[i].At += 95 * time.Second
		}
	}
	slices.SortStableFunc(list, func(a, b capture.Record) int { return cmp.Compare(a.At, b.At) })
	// What is sent in the last minutes is still under way when the record ends.
	list = slices.DeleteFunc(list, func(r capture.Record) bool { return r.At > end })
	h.write(t, late, list)
	got, _, n := foundIn(t, late, 3)
	if n != firings || firings < 15 {
		t.Errorf("%d firings, in time %d", n, firings)
	}
	same := 0
	a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range min(len(a), len(b)) {
		if a[i] == b[i] {
			same++
		}
	}
	if len(a) != len(b) || same < len(a)*99/100 { // the record's last minute and a half has no water
		t.Errorf("%d of %d lines are as in time: %s", same, len(a), difference(want, got))
	}
}

// What was found of days is worked out again when something of them comes late, and of no other days.
func TestKeptDaysAndWhatCameLate(t *testing.T) {
	t.Parallel()
	const hour = time.Hour
	h := newRadioHouse(t, 2*time.Minute)
	path := filepath.Join(t.TempDir(), "job.capture")
	w, err := capfile.Create(path, capfile.Options{BlockRecords: 200})
	if err != nil {
		t.Fatal(err)
	}
	g := &grower{t: t, start: h.start, sheet: h.sheet}
	h.begin(g, w)
	// A broker is not reached from the seventh day on, and found again on the eleventh.
	list := h.records(16, outage{6*24*hour + 9*hour, 10*24*hour + 15*hour})
	keep := keeperOf(t, t.TempDir(), "one")
	at := 0
	until := func(to time.Duration) {
		from := at
		for at < len(list) && list[at].At < to {
			at++
		}
		h.add(g, list[from:at])
	}
	until(10*24*hour + 14*hour)
	all, _ := check(t, path, "", keep)
	if worked, taken := check(t, path, "", keep); worked > 1 || taken != all-worked {
		t.Fatalf("nothing new: %d worked out, %d taken of %d", worked, taken, all)
	}
	before := told(t, path, "", keep, 1)
	until(10*24*hour + 16*hour)
	worked, taken := check(t, path, "", keep)
	// Those days, and the one that is under way; not the first days.
	if worked < 2 || taken < 1 {
		t.Errorf("after a queue of four days: %d worked out, %d taken", worked, taken)
	}
	if told(t, path, "", keep, 1) == before {
		t.Error("what came late changes nothing")
	}
	until(16 * 24 * hour)
	check(t, path, "", keep)
	g.close()
	check(t, path, "", keep)
	looked := keep.looked.Load()
	if worked, taken := check(t, path, "", keep); worked != 0 || taken < 4 || looked == 0 || keep.looked.Load() != looked {
		t.Errorf("closed: %d worked out, %d taken, looked through %d times more", worked, taken, keep.looked.Load()-looked)
	}
}

// What has no place is left out, and counted in words.
func TestLateWithoutAPlace(t *testing.T) {
	t.Parallel()
	h := newRadioHouse(t, 5*time.Minute)
	const hour = time.Hour
	message := func(at, sent time.Duration) capture.Record {
		return capture.Record{Source: radio, At: at, Channel: "house/flow", Payload: fmt.Appendf(nil, `{"v": 90.5, "at": %d}`, h.start.Add(sent).UnixMilli())}
	}
	plain, odd := filepath.Join(t.TempDir(), "plain.capture"), filepath.Join(t.TempDir(), "odd.capture")
	list := h.records(9)
	h.write(t, plain, list)
	list = append(list, message(3*hour, -2*hour), message(3*hour+1, -30*hour), message(8*24*hour, hour-time.Second))
	slices.SortStableFunc(list, func(a, b capture.Record) int { return cmp.Compare(a.At, b.At) })
	h.write(t, odd, list)
	want, _, _ := foundIn(t, plain, 1)
	got, seen, _ := foundIn(t, odd, 2)
	if got != want {
		t.Error(difference(want, got))
	}
	counts := map[string]uint64{}
	for _, n := range seen.tally(radio) {
		counts[n.Name] = n.N
	}
	for name, n := range map[string]uint64{"values dated before the record began: not in the analysis": 2,
		"values sent more than a week before they came: not in the analysis": 1} {
		if counts[name] != n {
			t.Errorf("%q: %d, want %d; counted %v", name, counts[name], n, counts)
		}
	}
}
