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

// TestClockAsleep: the run's clock stands still while the machine is suspended. What came before keeps its time, what came
// after the last look before it is later by the sleep, and there is no step.
func TestClockAsleep(t *testing.T) {
	const s, h = time.Second, time.Hour
	look := func(at, wall, slept time.Duration, synced bool) Observation {
		return Observation{At: at, Wall: noon.Add(wall), Slept: slept, Synced: synced}
	}
	for _, c := range []struct {
		name  string
		obs   []Observation
		times map[time.Duration]time.Duration // after noon
		slept []Sleep
		steps int
	}{
		{"an hour", []Observation{look(0, 0, 0, true), look(60*s, 60*s, 0, true), look(65*s, 65*s+h, h, true)},
			map[time.Duration]time.Duration{30 * s: 30 * s, 60 * s: 60 * s, 61 * s: 61*s + h, 300 * s: 300*s + h},
			[]Sleep{{noon.Add(60 * s), noon.Add(60*s + h + time.Microsecond)}}, 0},
		{"never synchronised", []Observation{look(0, 0, 0, false), look(60*s, 60*s, 0, false), look(65*s, 65*s+h, h, false)},
			map[time.Duration]time.Duration{30 * s: 30 * s, 61 * s: 61*s + h}, []Sleep{{noon.Add(60 * s), noon.Add(60*s + h + time.Microsecond)}}, 0},
		{"twice, with a step of the clock between", []Observation{look(0, 0, 0, true), look(60*s, 60*s+h, h, true), look(90*s, 95*s+h, h, true),
			look(100*s, 105*s+3*h, 3*h, true)},
			map[time.Duration]time.Duration{0: 5 * s, 1 * s: 6*s + h, 90 * s: 95*s + h, 91 * s: 96*s + 3*h},
			[]Sleep{{noon.Add(5 * s), noon.Add(5*s + h + time.Microsecond)}, {noon.Add(95*s + h), noon.Add(95*s + 3*h + time.Microsecond)}}, 1},
		{"too short to be told", []Observation{look(0, 0, 0, true), look(60*s, 60*s+s/2, s/2, true)},
			map[time.Duration]time.Duration{60 * s: 60*s + s/2}, nil, 0},
		{"set at the same look as woken", []Observation{look(0, -20*h, 0, false), look(60*s, 60*s+h, h, true)},
			map[time.Duration]time.Duration{0: 0, 1 * s: 1*s + h}, []Sleep{{noon, noon.Add(h + time.Microsecond)}}, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := newClock(noon, c.obs)
			for at, want := range c.times {
				if got := k.time(at); !got.Equal(noon.Add(want)) {
					t.Errorf("time at %v: noon %+v, want %+v", at, got.Sub(noon), want)
				}
			}
			if got := k.pauses(); !slices.Equal(got, c.slept) {
				t.Errorf("asleep %v, want %v", got, c.slept)
			}
			if got := k.steps(c.obs); len(got) != c.steps {
				t.Errorf("steps %+v, want %d", got, c.steps)
			}
		})
	}
}

// TestLaterLooksMoveNothing: what was told of a run whose clock was never synchronised stands, however often the clock is
// looked at and however it drifts, unless it is set.
func TestLaterLooksMoveNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var obs []Observation
		at, off := int64(0), int64(0)
		first := newClock(noon, []Observation{{Wall: noon}})
		for range rapid.IntRange(1, 40).Draw(t, "looks") {
			at += rapid.Int64Range(0, int64(5*time.Minute)).Draw(t, "later")
			obs = append(obs, Observation{At: time.Duration(at), Wall: noon.Add(time.Duration(at + off))})
			off += rapid.Int64Range(-int64(stepAtLeast), int64(stepAtLeast)).Draw(t, "drift")
			now := newClock(noon, obs)
			for x := int64(0); x <= at; x += max(1, at/7) {
				if now.nanos(x) != first.nanos(x) {
					t.Fatalf("after %d looks, %v is %v and not %v", len(obs), time.Duration(x), now.time(time.Duration(x)), first.time(time.Duration(x)))
				}
			}
		}
		set := append(slices.Clone(obs), Observation{At: time.Duration(at + 1), Wall: noon.Add(time.Duration(at+1+off) + time.Hour)})
		moved := newClock(noon, set)
		if by := moved.nanos(0) - first.nanos(0); by <= int64(time.Hour)/2 && off > -int64(time.Hour)/2 {
			t.Fatalf("set forward by an hour, it moved by %v", time.Duration(by))
		}
	})
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
			obs = append(obs, Observation{At: time.Duration(at), Wall: noon.Add(time.Duration(at + off)), Synced: rapid.Bool().Draw(t, "synced"),
				Slept: time.Duration(rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(0, span/4)).Draw(t, "slept"))})
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
