package suit

import (
	"cmp"
	"fmt"
	"slices"
)

const (
	// thinBinH are the hours of firing from which a bin of the weather is shown, and fewestH those that a comparison
	// needs in all. Own proposals.
	thinBinH, fewestH = 2.0, 20.0
	// nearK is how far the delivered flow may be from the needed one on the mean to be called the same: two sensors of
	// ±0.5 K, and a flow that swings with each burn. Own proposal.
	nearK = 3.0
)

// Curve is the weather curve that the emitters need against what was delivered.
type Curve struct {
	Bins      []CurveBin // from cold to warm; bins too thin are left out
	LeftOutH  float64    // hours of firing in bins that are too thin
	ComparedH float64    // hours of firing in bins that the needed curve reaches
	ExcessK   float64    // delivered − needed, mean over ComparedH
	NeededBy  string     // by which load the needed curve is told
	Missing   string     // why there is no comparison; "" there is one
}

// CurveBin is one outside temperature.
type CurveBin struct {
	Delivered
	NeededC     float64
	NeededKnown bool // the needed curve reaches this temperature
}

func (r *Result) curve() Told[Curve] {
	in := r.Input
	if len(in.Delivered) == 0 && len(in.Needed) == 0 {
		return missing[Curve](orElse(in.NeededMissing, "the curve that the emitters need is not known"), orElse(in.DeliveredWhy, "which flow temperature was delivered in which weather is not known"))
	}
	c := Curve{NeededBy: orElse(in.NeededBy, "the load that was taken")}
	needed := slices.Clone(in.Needed)
	slices.SortFunc(needed, func(a, b CurvePoint) int { return cmp.Compare(a.OutsideC, b.OutsideC) })
	delivered := slices.Clone(in.Delivered)
	slices.SortFunc(delivered, func(a, b Delivered) int { return cmp.Compare(a.OutsideC, b.OutsideC) })
	for _, d := range delivered {
		if d.H < thinBinH {
			c.LeftOutH += d.H
			continue
		}
		b := CurveBin{Delivered: d}
		b.NeededC, b.NeededKnown = curveAt(needed, d.OutsideC)
		if b.NeededKnown {
			c.ExcessK += (d.FlowC - b.NeededC) * d.H
			c.ComparedH += d.H
		}
		c.Bins = append(c.Bins, b)
	}
	if len(delivered) > 0 {
		r.assume("hours of firing that an outside temperature needs to be shown", thinBinH, "h", "own proposal")
	}
	if c.ComparedH > 0 {
		c.ExcessK /= c.ComparedH
	}
	switch {
	case len(needed) < 2:
		c.Missing = orElse(in.NeededMissing, "the curve that the emitters need is not known")
	case len(delivered) == 0:
		c.Missing = orElse(in.DeliveredWhy, "which flow temperature was delivered in which weather is not known")
	case c.ComparedH < fewestH:
		c.Missing = fmt.Sprintf("only %.0f h of firing for heating lie in weather that the curve reaches, in bins of %g h or more; a comparison needs %g h", c.ComparedH, thinBinH, fewestH)
	default:
		r.assume("flow temperatures count as the same within, on the mean", nearK, "K", "own proposal")
	}
	return told(c)
}

// curveAt reads a curve between its points, never beyond them. points are in order of outside temperature.
func curveAt(points []CurvePoint, te float64) (float64, bool) {
	for i, p := range points {
		if p.OutsideC == te {
			return p.FlowC, true
		}
		if i > 0 && points[i-1].OutsideC < te && te < p.OutsideC {
			q := points[i-1]
			return q.FlowC + (p.FlowC-q.FlowC)*(te-q.OutsideC)/(p.OutsideC-q.OutsideC), true
		}
	}
	return 0, false
}

// Words says in a sentence what the comparison gives.
func (c Curve) Words() string {
	if c.Missing != "" {
		return "Whether the flow is as warm as the emitters need is not assessable: " + c.Missing + "."
	}
	over := fmt.Sprintf("over %.0f h of firing", c.ComparedH)
	switch {
	case c.ExcessK > nearK:
		return fmt.Sprintf("The flow was %.0f K warmer on the mean than the emitters need for %s (%s): the curve, or a fixed flow temperature, could be set lower, a few kelvin at a time, as long as every room still reaches its temperature.", c.ExcessK, c.NeededBy, over)
	case c.ExcessK < -nearK:
		return fmt.Sprintf("The flow was %.0f K cooler on the mean than the emitters need for %s (%s): rooms are content with less, the load is smaller than was taken, or rooms stay cool.", -c.ExcessK, c.NeededBy, over)
	}
	return fmt.Sprintf("The flow was as warm as the emitters need for %s, within %g K on the mean (%s).", c.NeededBy, nearK, over)
}
