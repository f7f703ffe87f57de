package capfile

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestClock(t *testing.T) {
	look := func(at, wall time.Duration, synced bool) Observation {
		return Observation{At: at, Wall: noon.Add(wall), Synced: synced}
	}
	boot := noon.Add(-20 * 365 * 24 * time.Hour)
	const s, h = time.Second, time.Hour
	for _, c := range []struct {
		name    string
		obs     []Observation
		at      time.Duration
		want    time.Duration // after noon
		steps   int
		started time.Time
	}{
		{"only the start", nil, 5 * s, 5 * s, 0, noon},
		{"never synchronised: the last look holds", []Observation{look(0, 0, false), look(10*s, 70*s, false)}, 0, 60 * s, 1, noon},
		{"boots in the past, then synchronised", []Observation{{At: 0, Wall: boot}, look(h, h, true)}, 30 * s, 30 * s, 1, boot},
		{"drift between two looks", []Observation{look(0, 0, true), look(1000*s, 1001*s, true)}, 500 * s, 500*s + s/2, 0, noon},
		{"constant before and after", []Observation{look(10*s, 10*s, true), look(1000*s, 1001*s, true)}, 2000 * s, 2001 * s, 0, noon},
		{"a step between synchronised looks", []Observation{look(0, 0, true), look(10*s, 100*s, true), look(20*s, 110*s, true)}, 0, 90 * s, 1, noon},
		{"unsynchronised looks do not count beside others", []Observation{look(0, 0, true), look(10*s, 500*s, false)}, 10 * s, 10 * s, 1, noon},
		{"wall clock slewed back", []Observation{look(0, 0, true), look(s/2, -s/4, true), look(10*s, 9*s+s/4, true)}, 0, -3 * s / 4, 0, noon},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := newClock(c.started, c.obs)
			if got := k.time(c.at); !got.Equal(noon.Add(c.want)) {
				t.Errorf("time at %v: noon %+v, want %+v", c.at, got.Sub(noon), c.want)
			}
			if got := k.steps(c.obs); len(got) != c.steps {
				t.Errorf("steps %+v, want %d", got, c.steps)
			}
		})
	}
}

// TestClockLaws: within a run time never goes back, and shifting all observations shifts all times.
func TestClockLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const span = int64(400 * 24 * time.Hour)
		var obs []Observation
		at := int64(0)
		for range rapid.IntRange(0, 12).Draw(t, "looks") {
			at += rapid.OneOf(rapid.Int64Range(0, int64(3*time.Second)), rapid.Int64Range(0, span/12)).Draw(t, "later")
			off := rapid.OneOf(rapid.Int64Range(-int64(2*time.Second), int64(2*time.Second)), rapid.Int64Range(-span, span)).Draw(t, "offset")
			obs = append(obs, Observation{At: time.Duration(at), Wall: noon.Add(time.Duration(at + off)), Synced: rapid.Bool().Draw(t, "synced")})
		}
		by := time.Duration(rapid.Int64Range(-span, span).Draw(t, "shift"))
		moved := slices.Clone(obs)
		for i := range moved {
			moved[i].Wall = moved[i].Wall.Add(by)
		}
		a, b := newClock(noon, obs), newClock(noon.Add(by), moved)
		var ats []int64
		for range 30 {
			x := rapid.OneOf(rapid.Int64Range(0, max(at, 1)), rapid.Int64Range(0, 2*span)).Draw(t, "at")
			ats = append(ats, x, x+1, x+1000)
		}
		slices.Sort(ats)
		last := time.Time{}
		for _, x := range ats {
			now := a.time(time.Duration(x))
			if now.Before(last) {
				t.Fatalf("time goes back from %v to %v at %v", last, now, time.Duration(x))
			}
			if shifted := b.time(time.Duration(x)); shifted.Sub(now) != by {
				t.Fatalf("shifted by %v, observations by %v", shifted.Sub(now), by)
			}
			last = now
		}
	})
}

func TestRunsFollow(t *testing.T) {
	const h = time.Hour
	type run struct {
		start, long time.Duration
		synced      bool
	}
	for _, c := range []struct {
		name string
		runs []run
		want []time.Duration // start after noon
	}{
		{"apart", []run{{0, h, false}, {2 * h, h, true}}, []time.Duration{0, 2 * h}},
		{"earlier unsynchronised ends where the later starts", []run{{5 * h, h, false}, {2 * h, h, true}}, []time.Duration{h, 2 * h}},
		{"later unsynchronised starts where the earlier ended", []run{{0, 3 * h, true}, {h, h, false}}, []time.Duration{0, 3 * h}},
		{"three that all boot in the past, then one that knows", []run{{-9 * h, h, false}, {-9 * h, 2 * h, false}, {5 * h, h, true}}, []time.Duration{-10 * h, -9 * h, 5 * h}},
		{"no room between two that know", []run{{0, 2 * h, true}, {9 * h, h, false}, {2*h + h/2, h, true}}, []time.Duration{0, 2 * h, 3 * h}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var list []*runState
			for _, r := range c.runs {
				list = append(list, &runState{last: int64(r.long / time.Microsecond),
					clock: newClock(time.Time{}, []Observation{{Wall: noon.Add(r.start), Synced: r.synced}})})
			}
			follow(list)
			for i, r := range list {
				if got := r.clock.time(0).Sub(noon); got != c.want[i] {
					t.Errorf("run %d starts at noon %+v, want %+v", i+1, got, c.want[i])
				}
			}
		})
	}
}
