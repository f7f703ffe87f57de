package condensing

import (
	"fmt"

	"tundish/analyse"
	"tundish/decode"
)

const disagreement = "probe-disagreement"

// trusted leaves out returns that another check found wrong. Where two disagree and nobody knows which is wrong, both
// stay and are contested: what both say of the dew point holds whichever is right. why: what is wrong where none is left.
func trusted(p *analyse.Pass, all []heat) (out []heat, contested bool, why string) {
	var unsure []heat
	for _, h := range all {
		s := decode.Series{Source: h.source, Point: decode.Return}
		switch doubted := p.Doubted(s); doubted {
		case "":
			out = append(out, h)
		case disagreement:
			unsure, why = append(unsure, h), doubted
			p.Measured("return by "+h.source, "doubted by %s", doubted)
		default:
			why = doubted
			p.Measured("return by "+h.source, "left out: %s finds it wrong", doubted)
		}
	}
	if len(out) == 0 && len(unsure) > 1 {
		return unsure, true, ""
	}
	if len(out) > 0 {
		why = ""
	}
	return out, false, why
}

// notTrusted answers where no return may be relied on.
func notTrusted(p *analyse.Pass, why string) {
	p.NotAssessable(fmt.Sprintf("no return is left that may be relied on (%s): compare its sensor with a thermometer of known error at steady flow and put it right, then log again", why))
}
