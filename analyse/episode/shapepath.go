package episode

// The states of a burner by its shape.
const (
	shapeOff   = iota // the burner is off; the pump runs, or stopped later
	shapeOn           //
	shapeStill        // the burner is off, and the pump stopped with it: flow and return stand apart and cool
	shapeStates
)

// standsApart is how far apart flow and return are, K, where a record begins in a burn or in standing water; firstCost
// is what the less likely beginning takes, as a logarithm of odds. Own proposals.
const standsApart, firstCost = 3.0, 3.0

// viterbi finds the likeliest course of the states.
func (s *shaper) viterbi(n int) {
	w := s.scratch
	const never = -1e18
	cost := [shapeStates]float64{0, -firstCost, never}
	if i := s.first; w.drive[i] > standsApart && w.f0[i]-w.r0[i] > standsApart {
		cost = [shapeStates]float64{-2 * firstCost, 0, 0} // it burns, or the water stands
	}
	if s.known {
		cost = [shapeStates]float64{never, never, never}
		cost[s.was] = 0
	}
	for i := s.first; i < n; i++ {
		next := cost
		from := [shapeStates]uint8{shapeOff, shapeOn, shapeStill}
		step := func(a, b uint8, price float64) {
			if v := cost[a] - price; v > next[b] {
				next[b], from[b] = v, a
			}
		}
		step(shapeOff, shapeOn, lightCost)
		step(shapeStill, shapeOn, lightCost)
		step(shapeOn, shapeStill, outCost)
		if w.together[i] { // they cooled until they met
			step(shapeStill, shapeOff, 0)
		} else {
			step(shapeStill, shapeOff, idleCost)
		}
		if w.falls[i] {
			step(shapeOn, shapeOff, outCost)
		} else {
			step(shapeOn, shapeOff, idleCost)
		}
		next[shapeOn] += w.llr[i]
		next[shapeStill] += w.still[i]
		cost, w.from[i] = next, from
	}
	at := uint8(0)
	for k := range cost {
		if cost[k] > cost[at] {
			at = uint8(k)
		}
	}
	for i := n - 1; i >= s.first; i-- {
		w.state[i] = at
		at = w.from[i][at]
	}
	if !s.known {
		s.was, s.known = w.state[s.first], true
		s.burn = shapeBurn{}
	}
}
