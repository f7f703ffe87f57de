package sizing

import (
	"fmt"
	"math"
	"strings"

	"tundish/analyse"
	"tundish/decode"
)

const (
	// manyTimes is the share of greatest output over load from which a plant is oversized: "about twice or more".
	// Margins of 10 to 25 % are usual, twice is called oversized in the trade (common practice, no source).
	manyTimes = 2.0
	// leastTooMuch is the same of the least output of a boiler whose greatest is for instantaneous hot water. Own
	// proposal: with it the least output is more than the house takes down to about 0 °C.
	leastTooMuch = 0.8
	// wellUnder and leastWellUnder are the shares below which the one basis contradicts the other where that finds the
	// plant oversized. Own proposals.
	wellUnder, leastWellUnder = 1.5, 0.55
	// insideUsual and outsideUsual stand in where the job sheet gives no design temperature of rooms and outside, °C, for
	// the temperature below which the burner need not stop, only. Own proposal.
	insideUsual, outsideUsual = 20.0, -3.0
	// seasonBase is the outside temperature below which a day is one of the heating season where no balance was measured,
	// °C (CIBSE TM41, the British convention).
	seasonBase = 15.5
	// statedApart is the share by which the appliance's own greatest output must differ from the job sheet's to be told.
	// Own proposal.
	statedApart = 0.15
)

// Oversized is the check for a plant far above what the building takes.
func Oversized() analyse.Check {
	return analyse.Check{
		Kind:     "oversized",
		Doc:      "the plant's output is far above what the building takes",
		Criteria: criteria(),
		Run:      func(p *analyse.Pass) { newJudging(p).answer() },
	}
}

// says is what one basis says by one rule.
type says uint8

const (
	nothing  says = iota
	tooMuch       // oversized
	between       // by measurement: the interval holds the limit; by the sheet: below it, not by much
	notMuch       // not oversized, near the limit by measurement
	farUnder      // not oversized, and far from it
)

// rule is one way of being oversized.
type rule struct {
	what        string // "greatest output"
	kw          float64
	from        string // who says it
	limit, well float64
	known       bool
}

type judging struct {
	p        *analyse.Pass
	out      Outputs
	set      setDown
	hotWater analyse.HotWaterKind
	designed analyse.Opt[float64] // load by the job sheet, kW
	m        Measured
	measured bool // there is a load by measurement
	load     Load
	bounds   Interval // of it
	fault    string   // figures that cannot be, "" none
}

func newJudging(p *analyse.Pass) *judging {
	j := &judging{p: p, out: OutputsOf(p.Facts, p.Plant), set: setDownOf(p.Facts), hotWater: p.Plant.HotWater, m: Measure(p.Facts, p.Plant)}
	if d := p.Plant.DesignHeatLoss; d.Known && d.Value > 0 {
		j.designed = analyse.Some(float64(d.Value))
	}
	if j.hotWater == analyse.HotWaterUnknown {
		switch {
		case p.Has(decode.HotWaterRate):
			j.hotWater = analyse.InstantaneousHotWater
		case p.Has(decode.Cylinder):
			j.hotWater = analyse.CylinderHotWater
		}
	}
	if j.m.Refused == "" && !p.Plant.OutsideDesign.Known {
		j.m.Refused = "the load was measured, but outside_design_c is not in the job sheet, so that it cannot be given at design temperature"
	}
	if j.m.Refused == "" {
		j.load = j.m.At(float64(p.Plant.OutsideDesign.Value), j.inside())
		j.bounds = j.m.bounds(j.load)
		j.measured = j.bounds.High > 0
	}
	if j.out.Min.Known && j.out.Max.Known && j.out.Min.Value > j.out.Max.Value {
		j.fault = fmt.Sprintf("the least output (%.1f kW by %s) is above the greatest (%.1f kW by %s): one of the two is wrong", j.out.Min.Value, j.out.MinFrom, j.out.Max.Value, j.out.MaxFrom)
	}
	return j
}

func (j *judging) inside() float64 {
	if i := j.p.Plant.InsideDesign; i.Known {
		return float64(i.Value)
	}
	return insideUsual
}

func (j *judging) greatest() rule {
	return rule{"greatest output", j.out.Max.Value, j.out.MaxFrom, manyTimes, wellUnder, j.out.Max.Known}
}

func (j *judging) least() rule {
	return rule{"least output", j.out.Min.Value, j.out.MinFrom, leastTooMuch, leastWellUnder, j.out.Min.Known}
}

// sheetSays judges by the design heat loss. Shares are taken as they are told, to one figure after the point, two
// where they are below 1.
func (j *judging) sheetSays(r rule) says {
	if !r.known || !j.designed.Known {
		return nothing
	}
	switch x := told(r.kw / j.designed.Value); {
	case x >= r.limit:
		return tooMuch
	case x >= r.well:
		return between
	}
	return farUnder
}

// measuredSays judges by the measured load: only an interval that lies wholly on one side says anything.
func (j *judging) measuredSays(r rule) says {
	if !r.known || !j.measured {
		return nothing
	}
	least, most := r.kw/j.bounds.High, math.Inf(1)
	if j.bounds.Low > 0 {
		most = r.kw / j.bounds.Low
	}
	switch {
	case least >= r.limit:
		return tooMuch
	case most < r.well:
		return farUnder
	case most < r.limit:
		return notMuch
	}
	return between
}

func told(x float64) float64 {
	if x < 1 {
		return math.Round(x*100) / 100
	}
	return math.Round(x*10) / 10
}

// by joins what the two bases say to one answer by a rule; because is set where they contradict each other or where
// nothing can be said.
func (j *judging) by(r rule) (out analyse.Outcome, because string) {
	sheet, measured := j.sheetSays(r), j.measuredSays(r)
	switch {
	case sheet == nothing && measured == nothing:
		return analyse.NotAssessable, j.missing(r)
	case sheet == tooMuch && (measured == farUnder || measured == notMuch), sheet == farUnder && measured == tooMuch:
		return analyse.NotAssessable, fmt.Sprintf("%s; %s: the two contradict each other, so that the job sheet's heat loss or outputs, or the measurement, must be wrong; a room-by-room heat loss and the data plate would settle it", j.bySheet(r), j.byMeasure(r))
	case sheet == tooMuch, measured == tooMuch:
		return analyse.Found, ""
	case sheet == nothing && measured == between:
		return analyse.NotAssessable, fmt.Sprintf("%s: the interval holds the limit of %g; more and colder days, or the design heat loss in the job sheet, would settle it", j.byMeasure(r), r.limit)
	}
	return analyse.Clear, ""
}

// missing names what a rule lacks.
func (j *judging) missing(r rule) string {
	var lack []string
	if !r.known {
		key := "output_max_kw"
		if r.what == "least output" {
			key = "output_min_kw"
		}
		lack = append(lack, fmt.Sprintf("the %s is not known: %s from the data plate or the maker's instructions belongs in the job sheet, and the appliance does not state it over the bus", r.what, key))
	}
	if !j.designed.Known && !j.measured {
		lack = append(lack, fmt.Sprintf("the load is not known: design_heat_loss_kw is not in the job sheet, and it was not measured: %s", j.m.Refused))
	}
	return strings.Join(lack, "; ")
}

func (j *judging) answer() {
	p := j.p
	if j.fault != "" {
		p.NotAssessable(j.fault)
		return
	}
	j.tell()
	j.lookAlikes()
	if j.hotWater == analyse.HotWaterUnknown {
		j.whicheverHotWater()
		return
	}
	r := j.greatest()
	if j.hotWater == analyse.InstantaneousHotWater {
		r = j.least()
		if !r.known && j.out.Max.Known { // the least output is no more than the greatest
			top := rule{"greatest output", j.out.Max.Value, j.out.MaxFrom, leastTooMuch, leastWellUnder, true}
			if out, _ := j.by(top); out == analyse.Clear {
				p.Clear(j.because(top))
				return
			}
		}
	}
	switch out, because := j.by(r); out {
	case analyse.Found:
		p.Found(j.finding(r))
	case analyse.Clear:
		p.Clear(j.because(r))
	default:
		p.NotAssessable(because)
	}
}

// whicheverHotWater answers where nobody says how hot water is made: only what holds either way.
func (j *judging) whicheverHotWater() {
	g, l := j.greatest(), j.least()
	byG, whyG := j.by(g)
	byL, whyL := j.by(l)
	const unknown = "hot_water is not in the job sheet, and with instantaneous hot water the least output counts, else the greatest"
	switch {
	case byG == analyse.Found && byL == analyse.Found:
		j.p.LeftOpen("hot water", "%s; here both are too large", unknown)
		j.p.Found(j.finding(g))
	case byG == analyse.Clear && byL == analyse.Clear:
		j.p.LeftOpen("hot water", "%s; here neither is too large", unknown)
		j.p.Clear(j.because(g))
	case whyG != "" && whyG == whyL:
		j.p.NotAssessable(whyG)
	default:
		var parts []string
		for _, x := range []struct {
			r   rule
			out analyse.Outcome
			why string
		}{{g, byG, whyG}, {l, byL, whyL}} {
			text := x.why
			if text == "" {
				text = j.because(x.r)
			}
			parts = append(parts, text)
		}
		j.p.NotAssessable(unknown + ": " + strings.Join(parts, "; "))
	}
}
