package house

import (
	"math"
	"testing"
	"time"

	"tundish/analyse/episode"
)

// Every firing of every house tells of itself what a witness of each second would: hottest water against the set-point
// until a minute after, mean and least output, use; overruns have no demand and come after what ran before.
func TestFiringsTellOfThemselves(t *testing.T) {
	t.Parallel()
	for _, s := range []Scenario{sound(), coldMornings(), retries()} {
		s.Days = 1
		type witness struct {
			hot, sum, least float64
			n               int
			water           bool
		}
		var seenAt []witness
		var aim float64
		burning := false
		var out time.Duration
		h := New(s, 3)
		overrun, moved := 0, false
		for h.Now() < day {
			h.Step()
			st := h.State()
			flame := st.Flame && h.boiler.phase == phaseRun
			if flame && !burning {
				seenAt = append(seenAt, witness{hot: math.Inf(-1), least: math.Inf(1), water: st.HotWater})
			}
			if n := len(seenAt); n > 0 {
				w := &seenAt[n-1]
				if flame {
					aim, out = h.boiler.setpoint, st.At
					w.sum, w.n, w.least = w.sum+st.OutputKW, w.n+1, min(w.least, st.OutputKW)
				}
				if flame || st.At <= out+afterglow {
					w.hot = max(w.hot, st.Exchanger-aim)
				}
			}
			burning = flame
			is := st.Pump && h.boiler.mode == modeIdle
			overrun += btoi(is && !moved)
			moved = is
		}
		tr := h.Truth()
		if len(tr.Firings) != len(seenAt) || len(seenAt) < 5 {
			t.Fatalf("%s: %d firings, %d seen", s.Name, len(tr.Firings), len(seenAt))
		}
		for i, f := range tr.Firings {
			w := seenAt[i]
			if absolute(f.MaxK-w.hot) > 1e-9 || absolute(f.Mean-w.sum/float64(w.n)) > 1e-9 || f.Least != w.least ||
				(f.Use == episode.HotWater) != w.water {
				t.Errorf("%s: firing %+v, seen %+v", s.Name, f, w)
			}
		}
		if len(tr.Overruns) != overrun || overrun < 1 {
			t.Errorf("%s: %d overruns, %d seen", s.Name, len(tr.Overruns), overrun)
		}
		for _, o := range tr.Overruns {
			longest := s.Boiler.Overrun
			if o.After == episode.HotWater {
				longest = hotWaterOverrun
			}
			if o.Duration() > longest {
				t.Errorf("%s: overrun %+v", s.Name, o)
			}
			for _, d := range tr.Demands {
				if min(d.To, o.To) > max(d.From, o.From) {
					t.Errorf("%s: overrun %+v in demand %+v", s.Name, o, d)
				}
			}
		}
	}
}

// The truth so far can be asked for at any time without changing it.
func TestTruthMayBeAskedForTwice(t *testing.T) {
	s := coldMornings()
	h := New(s, 1)
	for h.Now() < 6*time.Hour {
		h.Step()
		if h.Now()%(7*time.Minute) == 0 {
			h.Truth()
		}
	}
	a, b := h.Truth(), walkFor(s, 1, 7*time.Hour, nil)
	for i, f := range a.Firings {
		if !f.Open && f.To+afterglow < 6*time.Hour && f != b.Firings[i] {
			t.Errorf("firing %+v, without asking %+v", f, b.Firings[i])
		}
	}
}

// Where valves share the water and the appliance knows only that heat is wanted, a firing is for hot water where no
// water went through the heating while it burned, but for the seconds in which a valve moves; draws are there only while the cylinder calls, and demand is heard
// for both.
func TestUseFollowsTheWaterWhereValvesShareIt(t *testing.T) {
	t.Parallel()
	for _, plan := range []ValvePlan{TwoPort, MidPosition} {
		s := sound()
		s.HotWater.Plan, s.Weather.MeanC = plan, 9
		s.Room.FixedFlowC, s.Room.FromHour = 72, 8.5 // the cylinder is heated before the house
		h := New(s, 1)
		var heated, burnt []time.Duration
		burning := false
		for h.Now() < day {
			h.Step()
			st := h.State()
			if st.Flame && !burning {
				heated, burnt = append(heated, 0), append(burnt, 0)
			}
			if burning = st.Flame; burning {
				n := len(heated) - 1
				if burnt[n] += time.Second; st.HeatingLpm > creepLpm {
					heated[n] += time.Second
				}
			}
			if h.story.draw && !h.hot.calling {
				t.Fatalf("plan %d: at %v a draw that nobody asks for", plan, st.At)
			}
		}
		tr := h.Truth()
		uses := map[episode.Use]int{}
		for i, f := range tr.Firings {
			if uses[f.Use]++; (f.Use == episode.Heating) != (heated[i] > valveTravel || 2*heated[i] > burnt[i]) {
				t.Errorf("plan %d: %+v, water through the heating for %v of %v", plan, f, heated[i], burnt[i])
			}
		}
		if uses[episode.Heating] == 0 || uses[episode.HotWater] == 0 || len(tr.Draws) == 0 {
			t.Errorf("plan %d: %v, draws %+v", plan, uses, tr.Draws)
		}
		for _, o := range tr.Overruns {
			if o.After != episode.Heating && o.After != episode.HotWater {
				t.Errorf("plan %d: %+v", plan, o)
			}
		}
	}
}
