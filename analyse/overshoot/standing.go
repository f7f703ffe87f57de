package overshoot

import (
	"time"

	"tundish/analyse/episode"
)

// Whether water moves shows best after the burner stopped: in water that stands a sensor at the exchanger keeps its
// reading or climbs on, since the exchanger's heat has nowhere to go.
const (
	carriesK     = 3.0             // K by which the flow fell soon after the burner stopped …
	carriesShare = 0.25            // … and of its height over the return. Own proposal
	relitWithin  = 2 * time.Minute // a burner that lit again within so long tells by its flow at lighting
)

// carried tells whether water carried the heat away after a firing.
func carried(firings []episode.Firing, i int) bool {
	f := &firings[i]
	r := f.Rise
	if !r.Seen || !f.FlowSeen {
		return false
	}
	after := r.FlowLater
	if !r.LaterSeen {
		if i+1 >= len(firings) || !firings[i+1].FlowSeen || firings[i+1].From.Sub(f.To) > relitWithin {
			return false
		}
		after = firings[i+1].FlowStart
	}
	return f.FlowEnd-after >= max(carriesK, carriesShare*(f.FlowEnd-r.ReturnEnd))
}

// apart tells whether flow and return end so far apart that the water hardly moves.
func (s start) apart() bool { return s.DeltaSeen && s.DeltaEnd >= standingK && !s.carries }

// spike tells whether a short burn drove the flow up as only a little water warms and the return never answered. Where
// other burns of the record show that the water moves, it is no more than a burner too big for its circuit.
func (s start) spike() bool {
	return s.Rise.Seen && !s.carries && s.Duration() <= shortBurn && s.Rise.Fastest >= quickRise && !s.returned()
}

// stands tells whether in a short burn the return did not answer to the flow: for all that it shows the water stands.
func (s start) stands() bool {
	return s.apart() || s.Rise.Seen && !s.carries && s.Duration() <= shortBurn && !s.returned()
}

// answered tells whether a burn lasted, and the return came.
func (s start) answered() bool { return s.Rise.Seen && s.Duration() > shortBurn && s.returned() }

// returned tells whether the return rose with the flow.
func (s start) returned() bool {
	r := s.Rise
	up := r.FlowMax - min(r.FlowStart, r.ReturnStart)
	return r.ReturnMax-r.ReturnStart > max(stillK, stillShare*up)
}
