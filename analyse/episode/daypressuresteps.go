package episode

import "time"

const (
	// stepWithin is the time within which a person lets water in or out. Own proposal.
	stepWithin = 6 * time.Minute
	// stepLeast is what a step must pass beyond what water's warming does and beyond the resolution, bar. Own proposal.
	stepLeast = 0.12
	// stepPerK is more than what water does to a vessel that has failed, bar/K: one of 3 l on 100 l gives 0.1 when hot
	// (Boyle's law). It is taken off what little warming goes with a step.
	stepPerK = 0.2
	// stepUsual is the sensor's step, bar, until differences tell it. Own proposal: the commonest coarse one.
	stepUsual = 0.1
	// stepWarms is the warming within a step, K, from which water's warming may make all of it: with no gas left in the
	// vessel there is no slope that warming cannot give. Own proposal.
	stepWarms = 1.0
	// burnShows is how long after the burner's last flame pressure may go on rising. Own proposal.
	burnShows = 3 * time.Minute
	// burnMixes is how long after the burner's start flow and return may stand while the rest warms: the water must go
	// round first. Own proposal, as mixedAfter, with room for a large system.
	burnMixes = 15 * time.Minute
	// switchQuiet is the time around a pump's start or stop in which a jump is the pump's head. Own proposal.
	switchQuiet = 2 * time.Minute
)

// steps looks for water let in or out within minutes.
func (w *pressureWatch) steps(now pressed) {
	keep := 0
	for _, r := range w.recent {
		if now.t.Sub(r.t) <= stepWithin {
			w.recent[keep] = r
			keep++
		}
	}
	w.recent = w.recent[:keep]
	if w.last.wet && len(w.recent) == 0 && now.t.Sub(w.last.t) <= time.Hour {
		w.recent = append(w.recent, w.last) // pressure comes rarely: the one before is what there is
	}
	least := stepLeast + w.resolving
	if w.changes < 3 {
		least = stepLeast + min(w.resolving, stepUsual) // the only differences so far may be water let in
	}
	n := len(w.day.Steps)
	quiet := w.switched.IsZero() || now.t.Sub(w.switched) > switchQuiet+stepWithin
	for i, r := range w.recent {
		if i == len(w.recent)-1 && i > 0 {
			break // one reading alone may be noise: where there are more within the minutes, two must show it
		}
		rise := now.p - r.p
		if len(w.recent) > 2 && !w.held(i, abs(rise)/2) {
			continue
		}
		warmed := now.water - r.water
		up := rise-stepPerK*max(0, warmed) >= least && now.p >= w.last.p && (len(w.recent) == 1 || w.last.p-r.p >= rise/2) && warmed < stepWarms && !now.burns && !r.burns
		down := rise-stepPerK*min(0, warmed) <= -least && now.p <= w.last.p && (len(w.recent) == 1 || w.last.p-r.p <= rise/2) && warmed > -stepWarms
		if !up && !down || !quiet && abs(rise) < 3*least {
			continue
		}
		if n > 0 && now.t.Sub(w.day.Steps[n-1].At) <= 2*stepWithin && w.day.Steps[n-1].Up() == up {
			w.day.Steps[n-1].To, w.day.Steps[n-1].At = now.p, now.t
		} else {
			w.day.Steps = append(w.day.Steps, PressureStep{At: now.t, From: r.p, To: now.p, Water: now.water})
		}
		w.fresh = true
		w.recent = w.recent[:0]
		break
	}
	if k := len(w.recent); k == 0 || now.t.Sub(w.recent[k-1].t) >= 15*time.Second {
		w.recent = append(w.recent, now)
	}
}

// held tells whether a neighbour of the recent reading i shows much the same.
func (w *pressureWatch) held(i int, within float64) bool {
	p := w.recent[i].p
	return i > 0 && abs(w.recent[i-1].p-p) < within || i+1 < len(w.recent) && abs(w.recent[i+1].p-p) < within
}
