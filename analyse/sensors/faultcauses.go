package sensors

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// The ways to settle, in words for the next visit. What lies inside a gas appliance's casing is for registered people.
const (
	measure = "isolate the appliance, unplug the sensor, and measure its resistance at a known temperature against the maker's table"
	wiggle  = "move plug and lead while the value is watched: a jump at the touch names the place"
	inside  = "; work inside a gas appliance's casing is for registered people"
)

// doubtShare is the share of the record's time from which on a sensor that is wrong is not relied on at all. Values
// that cannot be never reach the facts: between them such a sensor is right. Own proposal.
const doubtShare = 0.1

// wrongFor is how long the sensor was wrong by the fault, ns; of values that come and go, by their share of the readings,
// of one that gave nothing else, always.
func (f *fault) wrongFor(whole time.Duration) float64 {
	switch all := float64(f.record.n + f.beyond.n + f.blank.n); {
	case f.record.n == 0:
		return float64(whole)
	case f.how == "stuck":
		return float64(f.stuckFor)
	case f.how == "open", f.how == "short":
		return max(float64(f.railFor), float64(f.n)/all*float64(whole))
	case f.how == "impossible":
		return max(float64(f.beyondFor), float64(f.n)/all*float64(whole))
	default:
		return float64(f.n) / all * float64(whole)
	}
}

// findingOf makes the finding of all faults, the worst first.
func findingOf(p *analyse.Pass, found []fault, remarks []string) analyse.Finding {
	slices.SortStableFunc(found, func(a, b fault) int { return cmp.Compare(b.severity, a.severity) })
	f := analyse.Finding{Severity: found[0].severity}
	var said []string
	sensors := map[decode.Series]bool{}
	whole := p.Facts.To.Sub(p.Facts.From)
	for _, x := range found {
		said = append(said, x.what)
		if !slices.Contains(f.Doubts, x.Series) && x.wrongFor(whole) >= doubtShare*float64(whole) {
			f.Doubts = append(f.Doubts, x.Series)
		}
		sensors[x.Series] = true
		f.Evidence = append(f.Evidence, x.evidence...)
		f.Numbers = append(f.Numbers, analyse.Number{Name: strings.ReplaceAll(x.how, "-", "_") + "_" + strings.ReplaceAll(x.Series.String(), "/", "_"), Value: float64(x.n),
			Label: x.how + ", " + x.Series.String(), Unit: "times"})
		f.Causes = append(f.Causes, x.causes(p)...)
	}
	slices.SortStableFunc(f.Evidence, func(a, b analyse.Evidence) int { return a.From.Compare(b.From) })
	for i, e := range f.Evidence {
		if i == 0 || e.From.Before(f.From) {
			f.From = e.From
		}
		if i == 0 || e.To.After(f.To) {
			f.To = e.To
		}
	}
	for _, x := range found {
		if x.jumps.last.After(f.To) && x.how == "jumps" {
			f.To = x.jumps.last
		}
	}
	f.Summary = fmt.Sprintf("%s gives values that water cannot have: %s.", manySensors(len(sensors)), strings.Join(said, "; "))
	f.Causes = ranked(f.Causes)
	for _, r := range remarks {
		p.LeftOpen("other sensors", "%s", r)
	}
	return f
}

func manySensors(n int) string {
	if n == 1 {
		return "A sensor"
	}
	return fmt.Sprintf("Each of %d sensors", n)
}

// ranked sorts causes and keeps the best supported of each word.
func ranked(all []analyse.Cause) (out []analyse.Cause) {
	slices.SortStableFunc(all, func(a, b analyse.Cause) int { return cmp.Compare(b.Support, a.Support) })
	for _, c := range all {
		if !slices.ContainsFunc(out, func(o analyse.Cause) bool { return o.Cause == c.Cause }) {
			out = append(out, c)
		}
	}
	return out
}

// causes explains one fault by the shape of its events.
func (f *fault) causes(p *analyse.Pass) []analyse.Cause {
	own := isBus(p, f.Source)
	where := ""
	if own {
		where = inside
	}
	switch f.how {
	case "jumps":
		return f.jumpCauses(own, where)
	case "power-on":
		return []analyse.Cause{
			{Cause: "probe-supply", Support: 0.85, Because: fmt.Sprintf("%s the probe had lost its supply before it could measure", analyse.Times(f.n)),
				Settle: "measure the supply at the probe while it converts, look at the pull-up, and try a shorter lead or a third wire for the supply"},
			{Cause: "loose-connector", Support: 0.5, Because: "a supply that comes and goes may be a plug or a joint", Settle: wiggle},
			{Cause: "probe-failing", Support: 0.25, Because: "the chip may restart by itself", Settle: "exchange it with a sound probe: does the fault move with it?"},
		}
	case "spikes":
		f.jumps = f.spikes
		return f.jumpCauses(own, where)
	case "impossible":
		return f.impossibleCauses()
	case "open", "short":
		return f.railCauses(where)
	}
	return f.stuckCauses(own, where)
}

// jumpCauses: a joint adds resistance, damp takes some away. A thermistor's resistance falls as it warms, so that a poor
// joint reads too cold; a platinum sensor's rises (IEC 60751), so that it reads too hot.
func (f *fault) jumpCauses(own bool, where string) []analyse.Cause {
	up, down := f.jumps.up, f.jumps.dn
	joint := analyse.Cause{Cause: "loose-connector", Support: 0.55, Settle: wiggle + where}
	chip := analyse.Cause{Cause: "intermittent-thermistor", Support: 0.5, Settle: measure + ", warm and cold" + where}
	damp := analyse.Cause{Cause: "damp-or-chafed-lead", Support: 0.25, Settle: "look along the lead for damp and chafing, and measure its insulation with both ends unplugged" + where}
	shape := fmt.Sprintf("%s, of those looked at %d up and %d down, by up to %.3g %s", analyse.Times(f.n), up, down, math.Abs(f.jumps.most), kelvin(f.Point))
	joint.Because = shape + ": it comes and goes at once, as a joint does"
	chip.Because = shape + ": the sensor's own element may break and make"
	damp.Because = "water or a bare wire across the lead makes a thermistor read too hot"
	switch {
	case down > 2*up:
		joint.Support, damp.Support = 0.65, 0.15
		joint.Because += "; a poor joint makes a thermistor read too cold"
	case up > 2*down:
		chip.Support, joint.Support, damp.Support = 0.5, 0.55, 0.4
		joint.Because += "; of a platinum sensor a poor joint reads too hot"
	}
	if !own {
		chip.Cause, chip.Settle = "probe-failing", "exchange it with a sound probe: does the fault move with it?"
		chip.Because = shape + ": the probe itself may be failing"
	}
	return []analyse.Cause{joint, chip, damp}
}

func (f *fault) railCauses(where string) []analyse.Cause {
	open := analyse.Cause{Cause: "open-circuit", Support: 0.85, Because: fmt.Sprintf("%.4g %s is what an open lead or element reads", f.rail.most, f.Point.Unit()),
		Settle: measure + ": no resistance to speak of means short, an endless one open" + where}
	short := open
	short.Cause, short.Because = "short-circuit", fmt.Sprintf("%.4g %s is what a shorted lead or element reads", f.rail.most, f.Point.Unit())
	if f.how == "open" {
		short.Support, short.Because = 0.15, "a platinum sensor reads so when it is shorted"
		return []analyse.Cause{open, short, {Cause: "loose-connector", Support: 0.5, Because: "a plug that came off reads open", Settle: wiggle + where}}
	}
	open.Support, open.Because = 0.2, "a platinum sensor reads so when it is open"
	return []analyse.Cause{short, open, {Cause: "damp-or-chafed-lead", Support: 0.45, Because: "a pinched, chafed or wet lead reads shorted", Settle: "look along the lead" + where}}
}

func (f *fault) stuckCauses(own bool, where string) []analyse.Cause {
	var h string
	if len(f.evidence) > 0 {
		h = f.evidence[0].Note
	}
	chip := analyse.Cause{Cause: "stuck-converter", Support: 0.7, Because: h + ": what converts the sensor's value has stopped",
		Settle: "warm the sensor by hand and watch: if nothing moves, switch the appliance off and on once; comes it back, " + measure + where}
	if !own {
		chip.Cause = "probe-failing"
		chip.Settle = "warm the probe in the hand and watch; then exchange it with a sound one: does the fault move with it?"
	}
	return []analyse.Cause{chip,
		{Cause: "repeated-value", Support: 0.35, Because: "what lies between sensor and logger may repeat the last value it had", Settle: "compare with the value on the appliance's or the meter's own display"},
		{Cause: "probe-loose", Support: 0.1, Because: "a sensor that hangs in still air moves little, but not by nothing", Settle: "look that it sits on its pipe"}}
}
