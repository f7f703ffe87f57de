package recorder

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestTimeline(t *testing.T) {
	start := time.Date(2026, 1, 12, 6, 30, 0, 0, time.UTC)
	type placed struct {
		wall    time.Duration // after start
		at      time.Duration
		observe bool
	}
	const s, us = time.Second, time.Microsecond
	for _, c := range []struct {
		name string
		seq  []placed
	}{
		{"forward", []placed{{0, 0, true}, {s, s, false}, {s, s, false}, {90 * s, 90 * s, false}}},
		{"below the resolution", []placed{{0, 0, true}, {1500, us, false}, {2500, 2 * us, false}}},
		{"jitter is held and does not add up", []placed{{0, 0, true}, {10 * s, 10 * s, false}, {9 * s, 10 * s, false},
			{9500 * time.Millisecond, 10 * s, false}, {11 * s, 11 * s, false}}},
		{"creeping back is a step in the end", []placed{{0, 0, true}, {10 * s, 10 * s, false}, {9500 * time.Millisecond, 10 * s, false},
			{4999 * time.Millisecond, 10*s + us, true}, {6 * s, 11*s + us + time.Millisecond, false}}},
		{"an hour back", []placed{{0, 0, true}, {7200 * s, 7200 * s, false}, {3600 * s, 7200*s + us, true}, {3601 * s, 7201*s + us, false}}},
		{"a gap of months", []placed{{0, 0, true}, {StepForward, StepForward, false}}},
		{"a clock that was set", []placed{{0, 0, true}, {StepForward + s, us, true}, {StepForward + 2*s, s + us, false}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var tl Timeline
			for i, p := range c.seq {
				if at, observe := tl.Place(start.Add(p.wall)); at != p.at || observe != p.observe {
					t.Errorf("%d: Place(start + %v) = %v, %v; want %v, %v", i, p.wall, at, observe, p.at, p.observe)
				}
			}
		})
	}
}

// TestTimelineLaws: the run's time never goes back nor overflows, and a record's wall time, computed back from the
// observation before it, is right to a tick, or ahead by jitter of at most StepBack.
func TestTimelineLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var tl Timeline
		var last, base time.Duration
		var anchor time.Time
		wall := time.Unix(rapid.Int64Range(-6e10, 2e11).Draw(t, "start"), 0)
		step := rapid.OneOf(rapid.Int64Range(-3e9, 3e9), rapid.Int64Range(-9e18, 9e18), rapid.Int64())
		for i := range rapid.IntRange(1, 50).Draw(t, "n") {
			at, observe := tl.Place(wall)
			if at < last || at < 0 || at%time.Microsecond != 0 || (i == 0) != (i == 0 && observe && at == 0) {
				t.Fatalf("%d: at %v after %v", i, at, last)
			}
			if observe {
				if i > 0 && at == last {
					t.Fatalf("a step shares its time with the record before")
				}
				anchor, base = wall, at
			}
			if ahead := anchor.Add(at - base).Sub(wall); ahead <= -time.Microsecond || ahead > StepBack {
				t.Fatalf("%d: wall time comes back %v ahead", i, ahead)
			}
			last = at
			wall = wall.Add(time.Duration(step.Draw(t, "step")))
		}
	})
}
