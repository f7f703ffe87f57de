package cylinder

import (
	"fmt"

	"tundish/analyse"
	"tundish/decode"
)

const disagreement = "probe-disagreement"

// trusted leaves out sensors that another check found wrong; why: what is wrong where none is left. Where two disagree and
// nobody knows which is wrong both stay, contested: they are weighed by the coil's heat.
func trusted(p *analyse.Pass, all []*store) (out []*store, why string) {
	var unsure []*store
	for _, s := range all {
		switch doubted := p.Doubted(decode.Series{Source: s.source, Point: decode.Cylinder}); doubted {
		case "":
			out = append(out, s)
		case disagreement:
			s.contested = true
			unsure, why = append(unsure, s), doubted
		default:
			why = doubted
			p.Measured("stored water by "+s.source, "left out: %s finds it wrong", doubted)
		}
	}
	if len(out) == 0 && len(unsure) > 1 {
		return unsure, ""
	}
	return out, why
}

// weighBoth takes the better of two sensors of the store where one says that it became hot enough and the other that it
// never did. nil: it could not be told, and was answered.
func weighBoth(p *analyse.Pass, upper, second *store) (*store, window) {
	cool, other := upper.coolest(), second.coolest()
	errU, errS := upper.error(p), second.error(p)
	p.Measured("a second sensor of the store", "%s reads %.1f °C at the most in the coolest %s (±%.1f K)", second.source, other.hottest, other.words(), errS)
	border := hygieneC - errS - pocketK
	if second.contested {
		border = hygieneC // it has been compared with the other, and differs by more than its errors
	}
	if cool.hottest < hygieneC || second.seen < leastSeen || second.still() || second.fastest > pipeRise ||
		other.longest > mayHide || other.seen.Seconds() < seenShare*other.length.Seconds() || other.hottest >= border {
		return upper, cool // the second does not say otherwise, or was not seen well enough to say so
	}
	a, b := upper.lookAtCoil(p, errU), second.lookAtCoil(p, errS)
	switch {
	case a.usual() && !b.usual():
		p.RuledOut("the sensor that reads lower", "the coil takes the heat as plain coils do by %s (%.0f W/K), not by %s", upper.source, a.ua, second.source)
		return upper, cool
	case b.usual() && a.seen && a.ua > coilMostUA:
		p.RuledOut("the sensor that reads higher", "the coil takes the heat as plain coils do by %s (%.0f W/K); by %s it would need %s", second.source, b.ua, upper.source, a.words())
		return second, other
	}
	p.NotAssessable(fmt.Sprintf("two sensors of the store do not agree: by %s it reached %.1f °C in the coolest %s, by %s no more than %.1f °C. Either one reads wrong, or the second sits lower, where the water stays cooler: see where both sit, and compare both with a thermometer of known error at the water drawn from the store after a reheat",
		upper.source, cool.hottest, cool.words(), second.source, other.hottest))
	return nil, cool
}

// error is the sensor's own, ± K.
func (s *store) error(p *analyse.Pass) float64 {
	return float64(p.SensorOf(decode.Series{Source: s.source, Point: decode.Cylinder}).Error)
}
