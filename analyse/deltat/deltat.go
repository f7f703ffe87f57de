// Package deltat judges the settled difference of flow and return against the design difference.
package deltat

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
	"tundish/decode/unit"
)

// The criteria. Designs are 20 K for condensing boilers, 11 K before them, 5–8 K for heat pumps (common practice,
// no source); the shares put the limits for a 20 K design at the trade's "below about 8–10 K" and "above about
// 30 K".
const (
	lowShare  = 0.5 // of design ΔT at the output the plant was designed for: below is low
	highShare = 1.5 // of design ΔT: above is high
	// highLeast is the smallest ΔT that can be called high, K: on a heat-pump design of 5 K a few kelvin more are
	// within what pumps and probes do. Own proposal.
	highLeast = 10.0
	// leastSettled is how much settled burning must have been seen. Own proposal.
	leastSettled = 15 * time.Minute
	// fairModulation is the modulation from which a low ΔT says something where the output in kW is not known, %.
	// Own proposal: at the bottom of its range a burner gives a small ΔT on any sound circuit.
	fairModulation = 40.0
	// Errors of a difference: two DS18B20 of ±0.5 K each at worst (DS18B20 datasheet), root-sum-square; the
	// appliance's own pair steps by 0.5–1 K (from memory).
	pairError = 0.71 // K
)

var needs = []analyse.Need{
	{Points: []decode.Point{decode.Flow}, Say: "no flow temperature: clip a probe on the flow, or read it from the bus"},
	{Points: []decode.Point{decode.Return}, Say: "no return temperature: clip a probe on the return, or read it from the bus"},
	{Points: []decode.Point{decode.Flame}, Say: "no flame signal, so that firing and standstill cannot be told apart: it needs the boiler's bus or a flame contact"},
}

// Low is the check for a difference well below design.
func Low() analyse.Check {
	return analyse.Check{
		Kind: "low-delta-t", Needs: needs,
		Doc: "settled flow-return difference well below design",
		Criteria: []analyse.Criterion{
			{Name: "low below this share of design ΔT, at the output it was designed for", Value: lowShare, Source: "own proposal, after the trade's 8–10 K on a 20 K design"},
			{Name: "settled burning needed", Value: leastSettled.Minutes(), Unit: "min", Source: "own proposal"},
			{Name: "modulation needed where outputs are not known", Value: fairModulation, Unit: "%", Source: "own proposal"},
		},
		Run: func(p *analyse.Pass) { judge(p, low) },
	}
}

// High is the check for a difference well above design.
func High() analyse.Check {
	return analyse.Check{
		Kind: "high-delta-t", Needs: needs,
		Doc: "settled flow-return difference well above design",
		Criteria: []analyse.Criterion{
			{Name: "high above this share of design ΔT", Value: highShare, Source: "own proposal, after the trade's 30 K on a 20 K design"},
			{Name: "but never below", Value: highLeast, Unit: "K", Source: "own proposal"},
			{Name: "settled burning needed", Value: leastSettled.Minutes(), Unit: "min", Source: "own proposal"},
		},
		Run: func(p *analyse.Pass) { judge(p, high) },
	}
}

// settled is what was measured, over all settled stretches of the better source.
type settled struct {
	source    string
	parts     []episode.SettledDelta
	median    unit.Kelvin
	mod       float64
	modSeen   bool
	total     time.Duration
	scaled    unit.Kelvin // what the median would be at design output
	scaledWhy string      // how, empty where it cannot be told
}

func judge(p *analyse.Pass, verdict func(*analyse.Pass, settled, unit.Kelvin)) {
	design, ok := p.Plant.DesignDeltaT()
	if !ok {
		p.NotAssessable("the design ΔT is not known: the job sheet lacks design_flow_c or design_return_c")
		return
	}
	if design <= 0 {
		p.NotAssessable("the job sheet's design flow is not above its design return")
		return
	}
	s, ok := measure(p)
	if !ok {
		p.NotAssessable("no source gives both flow and return, so that no difference can be taken from one scale")
		return
	}
	if s.total < leastSettled {
		p.NotAssessable(fmt.Sprintf("flow and return settled for only %s in all heating firings; %s are needed. Firings too short to settle do not tell ΔT",
			analyse.Span(s.total), analyse.Span(leastSettled)))
		return
	}
	if s.median < -pairError {
		p.NotAssessable(fmt.Sprintf("flow reads below return by %v while the burner runs (%s): the probes are swapped, or one of them is wrong", -s.median, s.source))
		return
	}
	verdict(p, s, design)
}

// measure takes the source with the most settled time; where two have much the same, the one first by name.
func measure(p *analyse.Pass) (settled, bool) {
	bySource := map[string]*settled{}
	for _, c := range p.Coverage {
		if c.Series.Point == decode.Flow && slices.ContainsFunc(p.Coverage, func(r analyse.Coverage) bool {
			return r.Series == decode.Series{Source: c.Series.Source, Point: decode.Return}
		}) {
			bySource[c.Series.Source] = &settled{source: c.Series.Source}
		}
	}
	for _, f := range p.Facts.Firings {
		if f.Basis == episode.ByShape && !f.UseKnown {
			continue // it may have been for hot water
		}
		for _, d := range f.Settled {
			if s := bySource[d.Source]; s != nil {
				s.parts = append(s.parts, d)
				s.total += d.For
			}
		}
	}
	all := make([]*settled, 0, len(bySource))
	for _, s := range bySource {
		all = append(all, s)
	}
	if len(all) == 0 {
		return settled{}, false
	}
	slices.SortFunc(all, func(x, y *settled) int {
		return cmp.Or(cmp.Compare(y.total.Round(10*time.Minute), x.total.Round(10*time.Minute)), cmp.Compare(x.source, y.source))
	})
	best := *all[0]
	best.summarise(p)
	return best, true
}

func (s *settled) summarise(p *analyse.Pass) {
	if len(s.parts) == 0 {
		return
	}
	delta := func(d episode.SettledDelta) float64 { return d.Mean }
	s.median = unit.Kelvin(weightedMedian(s.parts, delta))
	var mod []episode.SettledDelta
	for _, d := range s.parts {
		if d.ModSeen {
			mod = append(mod, d)
		}
	}
	if len(mod) > 0 {
		s.mod, s.modSeen = weightedMedian(mod, func(d episode.SettledDelta) float64 { return d.Modulation }), true
	}
	pl := p.Plant
	if !s.modSeen || !pl.OutputMax.Known || !pl.OutputMin.Known || !pl.DesignHeatLoss.Known || pl.DesignHeatLoss.Value <= 0 {
		return
	}
	// ΔT goes with output at a given flow rate, so that a burner turned down gives a small ΔT on a sound circuit.
	loss := float64(pl.DesignHeatLoss.Value)
	ofRated := shareOfRated(p)
	out := func(d episode.SettledDelta) float64 {
		if ofRated {
			return max(float64(pl.OutputMin.Value), d.Modulation/100*float64(pl.OutputMax.Value))
		}
		return float64(pl.OutputMin.Value) + d.Modulation/100*float64(pl.OutputMax.Value-pl.OutputMin.Value)
	}
	s.scaled = unit.Kelvin(weightedMedian(mod, func(d episode.SettledDelta) float64 { return d.Mean * loss / out(d) }))
	s.scaledWhy = fmt.Sprintf("at the design output of %.1f kW the same water flow would give %.1f K", loss, float64(s.scaled))
}

const (
	// longFiring is the length from which a firing's least modulation shows the bottom of the burner's range.
	longFiring = time.Minute
	// nearLeast is how near to least ÷ greatest output the lowest modulation must stay to be a share of rated
	// output. Own proposal.
	nearLeast = 0.7
)

// shareOfRated tells whether this appliance sends modulation as a share of its rated output, as some do, and not
// from 0 at its lowest, as the OpenTherm Protocol Specification v2.2 (5.3.4, data id 17) defines it: then it never
// falls much below least ÷ greatest output while the burner is lit.
func shareOfRated(p *analyse.Pass) bool {
	lowest, seen := 100.0, false
	for _, f := range p.Facts.Firings {
		if f.ModulationSeen && f.Duration() >= longFiring {
			lowest, seen = min(lowest, f.MinModulation), true
		}
	}
	least := 100 * float64(p.Plant.OutputMin.Value) / float64(p.Plant.OutputMax.Value)
	return seen && lowest >= nearLeast*least
}

func weightedMedian(parts []episode.SettledDelta, v func(episode.SettledDelta) float64) float64 {
	sorted := slices.Clone(parts)
	slices.SortStableFunc(sorted, func(x, y episode.SettledDelta) int { return cmp.Compare(v(x), v(y)) })
	var total, sum time.Duration
	for _, d := range sorted {
		total += d.For
	}
	for _, d := range sorted {
		if sum += d.For; 2*sum >= total {
			return v(d)
		}
	}
	return 0
}

func low(p *analyse.Pass, s settled, design unit.Kelvin) {
	limit := unit.Kelvin(lowShare) * design
	at, why := s.median, ""
	if s.scaledWhy != "" {
		at, why = s.scaled, "; "+s.scaledWhy
	}
	if least, ok := atLeastOutput(p, s); ok && s.median+pairError < limit && least >= limit {
		p.NotAssessable(fmt.Sprintf("the settled ΔT was %v; at the burner's least output the same water flow would give %v at the design output, and the record does not say at which output it burned", s.median, least))
		return
	}
	switch {
	case s.median+pairError < limit && at < limit:
		if s.scaledWhy == "" && s.modSeen && s.mod < fairModulation {
			p.NotAssessable(fmt.Sprintf("the settled ΔT was %v, but the burner ran at %.0f %% modulation, where ΔT is small on a sound circuit too; output_max_kw, output_min_kw and design_heat_loss_kw in the job sheet would settle it", s.median, s.mod))
			return
		}
		f := s.finding(p, design, fmt.Sprintf("The water comes back almost as hot as it leaves: the settled difference is %v, design is %v.", s.median, design))
		f.Causes = []analyse.Cause{
			{Cause: "pump-too-fast", Support: 0.5, Because: "more water moves than the heat needs" + why, Settle: "turn the pump down a step and watch whether ΔT doubles while the rooms stay warm"},
			{Cause: "bypass-open", Support: 0.45, Because: "flow may pass back to the return without reaching a radiator", Settle: "feel the bypass pipe; close it a little and watch ΔT"},
		}
		p.Found(f)
	default:
		p.Clear(fmt.Sprintf("settled ΔT %v by %s, design %v%s", s.median, s.source, design, why))
	}
}

// atLeastOutput is the ΔT that the settled one would be at design output if the burner ran at its least, where the
// record does not tell the output of a burner that modulates.
func atLeastOutput(p *analyse.Pass, s settled) (unit.Kelvin, bool) {
	pl := p.Plant
	if s.modSeen || !pl.OutputMin.Known || !pl.DesignHeatLoss.Known || pl.OutputMin.Value <= 0 ||
		pl.OutputMax.Known && pl.OutputMax.Value <= pl.OutputMin.Value {
		return 0, false
	}
	return s.median * unit.Kelvin(pl.DesignHeatLoss.Value/pl.OutputMin.Value), true
}

func high(p *analyse.Pass, s settled, design unit.Kelvin) {
	limit := max(unit.Kelvin(highShare)*design, highLeast)
	why := ""
	if s.scaledWhy != "" {
		why = "; " + s.scaledWhy
	}
	if s.median-pairError <= limit {
		p.Clear(fmt.Sprintf("settled ΔT %v by %s, design %v%s", s.median, s.source, design, why))
		return
	}
	f := s.finding(p, design, fmt.Sprintf("The water comes back much cooler than it leaves: the settled difference is %v, design is %v.", s.median, design))
	f.Causes = []analyse.Cause{
		{Cause: "restriction", Support: 0.5, Because: "sludge, a blocked strainer or valves that are nearly shut hold the water back", Settle: "open all valves, look at the strainer, and compare ΔT"},
		{Cause: "pump-too-slow", Support: 0.45, Because: "the pump may be set too low, failing, or running in air", Settle: "turn the pump up a step, bleed it, and watch ΔT"},
	}
	// A burner far above the design output spreads flow and return on a circuit with all its water too.
	if s.scaledWhy != "" && s.scaled <= limit {
		f.Causes = slices.Insert(f.Causes, 0, analyse.Cause{Cause: "output-above-design", Support: 0.7,
			Because: "the burner gives more than the circuit was laid out for" + why,
			Settle:  "limit the burner's output for heating to the design heat loss, and watch ΔT"})
		for i := range f.Causes[1:] {
			f.Causes[i+1].Support = 0.2
		}
	}
	p.Found(f)
}

// mostEvidence is how many settled stretches are shown.
const mostEvidence = 6

func (s settled) finding(p *analyse.Pass, design unit.Kelvin, summary string) analyse.Finding {
	f := analyse.Finding{
		Severity: analyse.Advise, Summary: summary,
		From: s.parts[0].From, To: s.parts[len(s.parts)-1].To,
		Numbers: []analyse.Number{
			{Name: "delta_t_k_median", Value: round(float64(s.median)), Label: "settled ΔT", Unit: "K"},
			{Name: "delta_t_k_design", Value: float64(design), Label: "design ΔT", Unit: "K"},
			{Name: "delta_t_k_error", Value: pairError, Label: "error of the pair", Unit: "K"},
			{Name: "settled_min", Value: math.Round(s.total.Minutes()), Label: "settled burning seen", Unit: "min"},
		},
	}
	if s.scaledWhy != "" {
		f.Numbers = append(f.Numbers, analyse.Number{Name: "delta_t_k_at_design_output", Value: round(float64(s.scaled)), Label: "ΔT at design output", Unit: "K"})
	}
	longest := slices.Clone(s.parts)
	slices.SortStableFunc(longest, func(x, y episode.SettledDelta) int { return cmp.Compare(y.For, x.For) })
	longest = longest[:min(len(longest), mostEvidence)]
	slices.SortFunc(longest, func(x, y episode.SettledDelta) int { return x.From.Compare(y.From) })
	for _, d := range longest {
		f.Evidence = append(f.Evidence, analyse.Evidence{From: d.From, To: d.To,
			Note: fmt.Sprintf("ΔT %.1f K at %.0f °C flow, settled for %s (%s)", d.Mean, d.MeanFlow, analyse.Span(d.For), s.source)})
	}
	return f
}

func round(v float64) float64 { return math.Round(v*10) / 10 }
