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
)

const (
	// contactShare of ΔT may be lost by probes that touch the pipe poorly, muchTheSame is how much less a pair may have
	// settled and still be preferred for its smaller error, mostNegative how much of its burning may be below zero.
	contactShare, muchTheSame, mostNegative = 0.05, 0.8, 0.3
	// secondSource is how much the second pair must have seen to be heard against the first. Own proposal.
	secondSource = leastSettled
	// widestStep is the widest step in which temperatures are told, K (common practice, no source): where a value changed
	// seldom, its smallest change says nothing of steps.
	widestStep = 1.0
	// afterEnd is how long after a firing's end its settled stretch may end: where the appliance's mains went with the
	// demand, the end is known late, and other probes' cooling water would count as burning. Own proposal.
	afterEnd = 30 * time.Second
)

// part is one firing's difference by one source.
type part struct {
	from, to time.Time
	k        float64       // K
	flow     float64       // °C
	counts   time.Duration // how much it counts: how long it was settled, or endCounts
	settled  bool
	mod      float64
	modSeen  bool
	useKnown bool
	flowMax  float64
	whole    time.Duration // of the firing
	kw       float64       // output; 0: not known
	atDesign float64       // K, what the same water flow gives at the design output; see scaled
	scaled   basis
}

// measured is what one source says of all heating firings.
type measured struct {
	plant   analyse.Plant
	source  string
	error   float64 // K, of the difference
	parts   []part
	total   time.Duration
	ends    bool // taken from the ends of firings: hardly any settled
	median  float64
	alone   bool // no other source gives a pair
	useOpen bool // some of it may have been for hot water
	reheats int  // firings left out as reheats of the store
	below   int  // firings left out because flow read below return

	atDesign, lowest, highest float64 // K: median at the design output, and its bounds by errors
	scaled                    basis
	mod                       float64
	modSeen                   bool
	kw                        float64 // median output, 0: not known
	follows                   bool    // the pump follows the output: the difference stays as it is at any output
}

// measure gives every source that tells enough, best first, or why none does.
func measure(p *analyse.Pass) (list []*measured, why string) {
	pairs := 0
	var most time.Duration
	negatives, wrong := "", ""
	for _, c := range p.Coverage {
		paired := slices.ContainsFunc(p.Coverage, func(r analyse.Coverage) bool {
			return r.Series == decode.Series{Source: c.Series.Source, Point: decode.Return}
		})
		if c.Series.Point != decode.Flow || !paired {
			continue
		}
		pairs++
		if series, kind := doubted(p, c.Series.Source); kind != "" {
			p.RuledOut("ΔT by "+c.Series.Source, "%s is not to be relied on: see %s", series, kind)
			wrong = fmt.Sprintf("%s is not to be relied on (see %s), and no other source gives both flow and return: put that right first", series, kind)
			continue
		}
		m := &measured{plant: p.Plant, source: c.Series.Source, error: float64(p.DeltaError(c.Series.Source))}
		m.error = math.Hypot(m.error, stepError(p, c.Series.Source))
		m.gather(p)
		most = max(most, m.total)
		switch {
		case m.total < leastSettled:
		case m.summarise(p):
			list = append(list, m)
		default:
			negatives = fmt.Sprintf("flow reads below return by %s while the burner runs in much of the record: the sensors are swapped, or one of them is wrong; put both on one pipe and compare", m.source)
		}
	}
	switch {
	case pairs == 0:
		return nil, "no source gives both flow and return, so that no difference can be taken from one scale: clip a pair of probes on both"
	case len(list) > 0:
	case negatives != "":
		return nil, negatives
	case wrong != "" && most < leastSettled:
		return nil, wrong
	default:
		return nil, tooLittle(p, most)
	}
	longest := time.Duration(0)
	for _, m := range list {
		m.alone = len(list) == 1
		longest = max(longest, m.total)
	}
	slices.SortStableFunc(list, func(x, y *measured) int {
		return cmp.Or(boolCmp(y.scaled == byOutput, x.scaled == byOutput),
			boolCmp(y.total >= share(longest, muchTheSame), x.total >= share(longest, muchTheSame)), cmp.Compare(x.error, y.error), cmp.Compare(x.source, y.source))
	})
	return list, ""
}

// doubted gives the sensor of a source's pair that another check found wrong, and that check; "" where there is none.
func doubted(p *analyse.Pass, source string) (s decode.Series, kind string) {
	for _, point := range []decode.Point{decode.Flow, decode.Return} {
		s = decode.Series{Source: source, Point: point}
		if kind = p.Doubted(s); kind != "" {
			return s, kind
		}
	}
	return decode.Series{}, ""
}

func share(d time.Duration, s float64) time.Duration { return time.Duration(float64(d) * s) }

// boolCmp puts true above false.
func boolCmp(x, y bool) int {
	switch {
	case x == y:
		return 0
	case x:
		return 1
	}
	return -1
}

// tooLittle says why no difference could be taken.
func tooLittle(p *analyse.Pass, most time.Duration) string {
	if len(p.Facts.Firings) == 0 {
		for _, s := range p.Facts.Sights {
			if s.Basis == "" && s.Because != "" {
				return "no firing could be told: " + s.Because + ". Read the flame from the bus, or clip probes on both pipes and read them every few seconds"
			}
		}
		return "no firing was seen: record while the heating runs"
	}
	return fmt.Sprintf("flow and return settled for only %s in all heating firings, and too few firings were long enough to tell by their ends; %s are needed. Record colder days, or a longer run with the room thermostat up",
		analyse.Span(most), analyse.Span(leastSettled))
}

// gather takes the settled stretches of all heating firings, and the ends of firings where hardly any settled.
func (m *measured) gather(p *analyse.Pass) {
	var ends []part
	for _, f := range p.Facts.Firings {
		if f.Use != episode.Heating {
			continue
		}
		x := part{from: f.From, to: f.To, useKnown: f.UseKnown, flowMax: f.FlowMax, whole: f.Duration(), mod: f.MeanModulation, modSeen: f.ModulationSeen}
		settled := false
		for _, d := range f.Settled {
			if d.Source == m.source && !d.To.After(f.To.Add(afterEnd)) {
				y := x
				y.from, y.to, y.k, y.flow, y.counts, y.settled = d.From, d.To, d.Mean, d.MeanFlow, d.For, true
				y.mod, y.modSeen = d.Modulation, d.ModSeen
				m.parts, settled = append(m.parts, y), true
			}
		}
		if !settled && f.Basis != episode.ByShape && f.DeltaSeen && f.FlowSeen && !f.Cut && !f.Open && f.Duration() >= endFrom && m.owns(p, f) {
			x.k, x.flow, x.counts = f.DeltaEnd, f.FlowEnd, endCounts
			ends = append(ends, x)
		}
	}
	settled, ended := counted(m.parts), time.Duration(0)
	for _, x := range ends {
		ended += x.whole
	}
	long := time.Duration(0)
	for _, x := range m.parts {
		long += x.whole
	}
	if len(ends) > 0 && (settled < leastSettled || ended > long) {
		m.parts, m.ends = append(m.parts, ends...), true
		slices.SortStableFunc(m.parts, func(x, y part) int { return x.from.Compare(y.from) })
	}
	m.sortUse(p)
	m.total = counted(m.parts)
}

// owns tells whether a firing's difference at its end is by this source.
func (m *measured) owns(p *analyse.Pass, f episode.Firing) bool {
	return f.Rise.FlowSource == m.source || f.Rise.FlowSource == "" && slices.Contains(p.Buses, m.source)
}

func counted(parts []part) (total time.Duration) {
	for _, x := range parts {
		total += x.counts
	}
	return total
}

// summarise scales and takes medians; false: flow read below return too much of the time.
func (m *measured) summarise(p *analyse.Pass) bool {
	var negative time.Duration
	m.parts = slices.DeleteFunc(m.parts, func(x part) bool {
		if x.k >= -m.error {
			return false
		}
		negative += x.counts
		m.below++
		return true
	})
	if float64(negative) > mostNegative*float64(m.total) || len(m.parts) == 0 {
		return false
	}
	m.total = counted(m.parts)
	m.median = median(m.parts, func(x part) float64 { return x.k })
	m.scale(p)
	return m.total >= leastSettled
}

// median is weighed by how much each counts.
func median(parts []part, v func(part) float64) float64 { return quantile(parts, 0.5, v) }

func quantile(parts []part, q float64, v func(part) float64) float64 {
	sorted := slices.Clone(parts)
	slices.SortStableFunc(sorted, func(x, y part) int { return cmp.Compare(v(x), v(y)) })
	total, sum := counted(sorted), time.Duration(0)
	for _, x := range sorted {
		if sum += x.counts; float64(sum) >= q*float64(total) {
			return v(x)
		}
	}
	return 0
}
