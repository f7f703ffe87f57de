package house

import (
	"bytes"
	"context"
	"errors"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/capture"
	"tundish/capture/readingscsv"
	"tundish/capture/timedlines"
	"tundish/decode"
	"tundish/decode/onewire"
)

// The clock is right after its last step, and off before by the steps to come; a step is seen where it is made.
func TestWall(t *testing.T) {
	s := matched()
	s.Faults.Clock = []ClockStep{{At: 2 * time.Hour, By: time.Hour}, {At: 5 * time.Hour, By: -10 * time.Minute}}
	for _, c := range []struct{ at, off time.Duration }{
		{0, -50 * time.Minute}, {2*time.Hour - 1, -50 * time.Minute}, {2 * time.Hour, 10 * time.Minute}, {4 * time.Hour, 10 * time.Minute},
		{5 * time.Hour, 0}, {30 * time.Hour, 0},
	} {
		if got := s.Wall(c.at).Sub(s.Start.Add(c.at)); got != c.off {
			t.Errorf("at %v the clock is off by %v, want %v", c.at, got, c.off)
		}
	}
}

// While no logger runs nothing is recorded; what is recorded after is the same house, in a new run.
func TestLoggerOff(t *testing.T) {
	t.Parallel()
	s := matched()
	all := emitted(t, s, 1, "", 5*time.Hour)
	off := Window{2 * time.Hour, 3*time.Hour + 400*time.Millisecond}
	s.Faults.LoggerOff = []Window{off}
	got := emitted(t, s, 1, "", 5*time.Hour)
	i := 0
	for _, r := range all {
		if off.contains(r.At) {
			continue
		}
		g := got[i]
		i++
		if g.At != r.At || !bytes.Equal(g.Payload, r.Payload) || g.Run != 1+uint32(btoi(r.At >= off.To)) {
			t.Fatalf("record %+v, want %+v", g, r)
		}
	}
	s.Faults.LoggerOff = []Window{{0, time.Hour}, off}
	for at, run := range map[time.Duration]uint32{time.Hour: 1, 90 * time.Minute: 1, 4 * time.Hour: 2} {
		if s.run(at) != run {
			t.Errorf("at %v run %d, want %d", at, s.run(at), run)
		}
	}
	if i != len(got) || i == len(all) {
		t.Errorf("%d of %d records, want %d", len(got), len(all), i)
	}
}

// What is not fitted says nothing and is not on the sheet.
func TestParts(t *testing.T) {
	for _, c := range []struct {
		noBus, noProbes bool
		source          string
	}{{true, false, SourceProbes}, {false, true, SourceBus}} {
		s := matched()
		s.NoBus, s.NoProbes = c.noBus, c.noProbes
		for _, r := range emitted(t, s, 1, "", 10*time.Minute) {
			if r.Source != c.source {
				t.Fatalf("%s: a record of %s", c.source, r.Source)
			}
		}
		sheet := string(s.JobSheet(1))
		if strings.Count(sheet, "[[source]]") != 1 || !strings.Contains(sheet, "name = \""+c.source+"\"") {
			t.Errorf("%s: the sheet is\n%s", c.source, sheet)
		}
	}
}

// ailingHouse has something of everything that a device can do.
func ailingHouse() Scenario {
	s := matched()
	s.Days = 1
	s.Doc = "everything ails"
	s.Probes.Every = 10 * time.Second
	s.Probes.OutsideROM = "28-0000b4d2000a"
	s.Bus.Every, s.Bus.Banner = 2*time.Second, "adapter ready"
	s.Faults = FaultSpec{
		LostReply: 0.01, BadParity: 0.005, Garbage: 0.005, Chatter: 0.02,
		Restarts: []time.Duration{time.Hour, 5 * time.Hour, 9 * time.Hour, 13 * time.Hour},
		Adapter:  []AdapterFault{{Window: Window{10 * time.Hour, 11 * time.Hour}, Noted: true}},
		Probe: []ProbeFault{
			{Window: Window{2 * time.Hour, 3 * time.Hour}, Ails: Gone, Return: true},
			{Window: Window{4 * time.Hour, 6 * time.Hour}, Ails: BadCRC, Share: 0.1},
			{Window: Window{6 * time.Hour, 8 * time.Hour}, Ails: PowerOn, Share: 0.1, Return: true},
		},
		LoggerOff: []Window{{15 * time.Hour, 16 * time.Hour}},
		Clock:     []ClockStep{{At: 12 * time.Hour, By: -20 * time.Minute}},
	}
	return s
}

// Same seed same bytes, other seed other bytes, with everything that devices can do.
func TestAilingHouseIsDeterminate(t *testing.T) {
	t.Parallel()
	s := ailingHouse()
	a, b, c := digest(t, s, 1, 20*time.Hour), digest(t, s, 1, 20*time.Hour), digest(t, s, 2, 20*time.Hour)
	if a != b || a == c {
		t.Errorf("the same seed gives the same: %v; another gives another: %v", a == b, a != c)
	}
}

// However a simulation's steps are drained, the deliveries are the same and in order.
func TestDrainsDoNotMatter(t *testing.T) {
	t.Parallel()
	s := ailingHouse()
	s.Faults.Restarts = []time.Duration{4 * time.Minute}
	s.Faults.Adapter[0].Window = Window{6 * time.Minute, 7 * time.Minute}
	s.Faults.Probe[0].Window = Window{2 * time.Minute, 3 * time.Minute}
	const long = 10 * time.Minute
	take := func(out *[]string) func(*delivery) error {
		return func(v *delivery) error {
			*out = append(*out, v.at.String()+v.channel+v.note+string(v.text))
			return nil
		}
	}
	var whole []string
	d := newDevices(s, 1)
	for d.house.now < long {
		d.step()
		d.queue.drain(d.house.now, take(&whole))
	}
	rapid.Check(t, func(t *rapid.T) {
		var got []string
		d := newDevices(s, 1)
		rest := rapid.IntRange(1, 40).Draw(t, "seconds between drains")
		part := time.Duration(rapid.IntRange(0, 999).Draw(t, "ms")) * time.Millisecond
		for d.house.now < long {
			d.step()
			if int(d.house.now/time.Second)%rest == 0 {
				d.queue.drain(d.house.now-part, take(&got))
			}
		}
		d.queue.drain(long, take(&got))
		if !slices.Equal(got, whole) {
			t.Errorf("%d deliveries, want %d", len(got), len(whole))
		}
	})
}

// The files hold what was emitted: each line of the bus with the clock's time, each sweep as a row of what the 1-Wire
// decoder makes of the scratchpads with the job sheet's offsets.
func TestWriteFiles(t *testing.T) {
	t.Parallel()
	s := ailingHouse()
	dir := filepath.Join(t.TempDir(), "case")
	type stamped struct {
		wall time.Time
		text string
	}
	var lines []stamped
	var cells, powerOn int
	want := map[string]float64{} // by wall time and point
	dec, err := onewire.New(onewire.Config{Source: "p", Points: map[string]onewire.Mapping{
		s.Probes.FlowROM: {Point: decode.Flow}, s.Probes.ReturnROM: {Point: decode.Return, OffsetK: -s.Probes.RetOffK},
		s.Probes.OutsideROM: {Point: decode.Outside},
	}})
	if err != nil {
		t.Fatal(err)
	}
	truth, err := s.WriteFiles(t.Context(), 7, dir, Listener{Record: func(r capture.Record) error {
		wall := s.Wall(r.At)
		switch {
		case r.Note != "":
		case r.Source == SourceBus:
			text := string(r.Payload)
			if !strings.HasSuffix(text, "\n") {
				text += "\n"
			}
			lines = append(lines, stamped{wall, text})
		default:
			before := cells
			r.Time = wall
			err := dec.Decode(r, func(x decode.Reading) { cells++; want[wall.String()+x.Series.Point.String()] = x.Value })
			if errors.Is(err, onewire.ErrPowerOn) {
				cells++
				powerOn++
				want[wall.String()+"return"] = 85
			} else if before == cells && !strings.Contains(string(r.Payload), " NO\n") {
				t.Fatalf("%q: %v", r.Payload, err)
			}
		}
		return nil
	}})
	if err != nil || truth.Ended != day {
		t.Fatal(err, truth.Ended)
	}
	if names, _ := os.ReadDir(dir); len(names) != 3 {
		t.Errorf("files %v", names)
	}
	in, err := os.Open(filepath.Join(dir, FileBus))
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	i := 0
	stats, err := timedlines.Read(t.Context(), in, FileBus, "boiler", func(wall time.Time, r capture.Record) error {
		if r.Note != "" || !wall.Equal(lines[i].wall) || string(r.Payload) != lines[i].text {
			t.Fatalf("line %d: %v %q %s, want %+v", i, wall, r.Payload, r.Note, lines[i])
		}
		i++
		return nil
	})
	if err != nil || i != len(lines) || stats.Truncated || stats.Back != 1 {
		t.Errorf("%d lines, want %d; %+v, %v", i, len(lines), stats, err)
	}
	table, err := os.Open(filepath.Join(dir, FileProbes))
	if err != nil {
		t.Fatal(err)
	}
	defer table.Close()
	known := func(p string) bool { _, err := decode.ParsePoint(p); return err == nil }
	got := 0
	tab, err := readingscsv.Read(t.Context(), table, FileProbes, "probes", known, func(wall time.Time, r capture.Record) error {
		v, err := strconv.ParseFloat(string(r.Payload), 64)
		w, ok := want[wall.String()+strings.TrimPrefix(r.Channel, readingscsv.ChannelPrefix)]
		if err != nil || r.Note != "" || !ok || math.Abs(v-w) > 1e-4 {
			t.Fatalf("%v %s: %q %s, want %v", wall, r.Channel, r.Payload, r.Note, w)
		}
		got++
		return nil
	})
	if err != nil || got != cells || tab.Noted != 0 || tab.Rows != 23*360 || powerOn < 20 {
		t.Errorf("%d cells, want %d; %+v, %v; %d power-on values", got, cells, tab, err, powerOn)
	}
	for name, says := range map[string][]string{
		FileJob: {"kind = \"opentherm\"", "kind = \"one-wire\"", s.Probes.OutsideROM + "\" = \"outside\"", "offset_k = -0.25"},
	} {
		text, err := os.ReadFile(filepath.Join(dir, name))
		for _, w := range says {
			if err != nil || !bytes.Contains(text, []byte(w)) || bytes.Contains(text, []byte("simulated\"")) || bytes.Contains(text, []byte("port")) ||
				bytes.Contains(text, []byte(s.Doc)) {
				t.Errorf("%s: %v, want %s in\n%s", name, err, w, text)
			}
		}
	}
}

// Nothing is overwritten and nothing half-written stays.
func TestWriteFilesLeavesNothing(t *testing.T) {
	t.Parallel()
	s := matched()
	s.Days = 1
	list := func(dir string) []string {
		found := map[string]bool{}
		entries, _ := os.ReadDir(dir)
		for _, e := range entries {
			found[e.Name()] = true
		}
		return slices.Sorted(maps.Keys(found))
	}
	dir := t.TempDir()
	mine := []byte("mine")
	if err := os.WriteFile(filepath.Join(dir, FileProbes), mine, 0o666); err != nil {
		t.Fatal(err)
	}
	_, err := s.WriteFiles(t.Context(), 1, dir, Listener{})
	kept, _ := os.ReadFile(filepath.Join(dir, FileProbes))
	if !errors.Is(err, os.ErrExist) || !strings.Contains(err.Error(), FileProbes) || !bytes.Equal(kept, mine) || len(list(dir)) != 1 {
		t.Errorf("error %v, there are %v", err, list(dir))
	}
	ctx, cancel := context.WithCancel(t.Context())
	fresh := filepath.Join(dir, "fresh")
	_, err = s.WriteFiles(ctx, 1, fresh, Listener{Progress: func(done, _ time.Duration) {
		if done == 3*time.Hour {
			cancel()
		}
	}})
	if _, gone := os.Stat(fresh); !errors.Is(err, context.Canceled) || !errors.Is(gone, os.ErrNotExist) {
		t.Errorf("error %v; the folder: %v", err, gone)
	}
	stop := errors.New("stop")
	if _, err = s.WriteFiles(t.Context(), 1, fresh, Listener{Record: func(capture.Record) error { return stop }}); err != stop {
		t.Errorf("error %v, want the listener's own", err)
	}
	if _, err := s.WriteFiles(t.Context(), 1, filepath.Join(dir, "a", "b"), Listener{}); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("error %v", err)
	}
}
