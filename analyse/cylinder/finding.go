package cylinder

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// The weights of the causes, 0…1. All own proposals.
const (
	setFrom    = 0.85 // the reheats end at one temperature, below the hygiene one, with a hot flow
	setSaid    = 0.9  // the set-point itself is below
	setMay     = 0.4
	setNot     = 0.1
	timerFrom  = 0.8 // they end at one time of day and at different temperatures
	timerMay   = 0.3
	timerNot   = 0.1
	flowFrom   = 0.85 // the flow is no hotter than the water ought to be
	flowNot    = 0.1
	flowOpen   = 0.25
	coilFrom   = 0.75 // hot flow, little heat, slow
	coilNot    = 0.1
	coilOpen   = 0.2
	sensorOpen = 0.2
	neverFrom  = 0.85 // no reheat in the record
)

func weights() (out []analyse.Criterion) {
	for _, w := range []struct {
		name string
		v    float64
	}{
		{"set-point-too-low, reheats end at one temperature", setFrom}, {"set-point-too-low, the set-point says so", setSaid}, {"set-point-too-low, otherwise", setMay},
		{"reheat-cut-short, ends at one time of day", timerFrom}, {"reheat-cut-short, ends vary", timerMay},
		{"flow-too-cool, the flow is too cool", flowFrom}, {"flow-too-cool, flow not known", flowOpen},
		{"poor-recovery, hot flow and little heat", coilFrom}, {"poor-recovery, not known", coilOpen},
		{"sensor-reads-low, left open", sensorOpen}, {"never-reheated, no reheat seen", neverFrom},
	} {
		out = append(out, analyse.Criterion{Name: "support of " + w.name, Value: w.v, Source: "own proposal"})
	}
	return out
}

const safety = "work on cylinder, immersion heater or safety valves is for a competent person under local rules; above 44 °C at the tap water scalds, so thermostatic mixing valves belong to a hotter store"

// describe makes the finding.
func describe(p *analyse.Pass, s *store, w window) {
	f := analyse.Finding{Severity: analyse.Advise, From: w.from, To: w.to}
	f.Summary = fmt.Sprintf("The stored hot water does not get hot enough to keep Legionella away: it reached %.0f °C at the most in %s, where %.0f °C at least once a week are wanted (HSE, HSG274; local rules come first). A competent person should raise it, with mixing valves against scalding.",
		w.hottest, w.words(), hygieneC)
	if w.length < everyDays*24*time.Hour-2*time.Hour {
		p.LeftOpen("a weekly heating-up", "the record is %s long: a heating-up on another day, by an immersion heater say, is not in it", analyse.Span(w.length))
		f.Summary += fmt.Sprintf(" The record is only %s long; a weekly heating-up may lie outside it.", analyse.Span(w.length))
	} else {
		p.RuledOut("a weekly heating-up", "none in seven days")
		if w.hottest < growthC {
			f.Severity = analyse.Act
		}
	}
	f.Numbers = []analyse.Number{
		{Name: "stored_c_max", Value: round(w.hottest), Label: "hottest stored water", Unit: "°C"},
		{Name: "stored_c_min", Value: round(s.lowest), Label: "coolest stored water", Unit: "°C"},
		{Name: "wanted_c", Value: hygieneC, Label: "wanted", Unit: "°C"},
		{Name: "reheats", Value: float64(len(s.reheats)), Label: "reheats seen", Unit: ""},
		{Name: "seen_h", Value: round(w.seen.Hours()), Label: "stored water known for", Unit: "h"},
	}
	f.Causes = weigh(p, s)
	f.Evidence = append(f.Evidence, analyse.Evidence{From: w.from, To: w.to, Note: fmt.Sprintf("%.1f °C at the most, on %s", w.hottest, p.Site.DayClock(w.at))})
	list := slices.Clone(s.reheats)
	list = slices.DeleteFunc(list, func(r episode.StoreReheat) bool { return r.To.Before(w.from) || r.From.After(w.to) })
	slices.SortStableFunc(list, func(a, b episode.StoreReheat) int { return -cmp.Compare(a.Last, b.Last) })
	list = list[:min(len(list), 4)]
	slices.SortFunc(list, func(a, b episode.StoreReheat) int { return a.From.Compare(b.From) })
	for _, r := range list {
		f.Evidence = append(f.Evidence, analyse.Evidence{From: r.From, To: r.To, Note: fmt.Sprintf("reheated from %.0f to %.1f °C%s", r.First, r.Last, flowWords(r))})
	}
	p.Found(f)
}

func flowWords(r episode.StoreReheat) string {
	if !r.Flow.Known {
		return ""
	}
	return fmt.Sprintf(", flow up to %.0f °C", r.Flow.Value)
}

// signs are what the reheats have in common.
type signs struct {
	n         int
	last      float64 // °C, median of their ends
	spread    float64 // K between the first and the last tenth of their ends
	done      float64 // share that ended because hot water was no longer asked for; of those where somebody says
	asked     int
	clock     float64 // share that end at one of few times of day
	flow      float64 // °C, median of the highest flows
	flowSeen  bool
	delta     float64 // K, median of flow − return at their end
	deltaSeen bool
	rate      float64 // K/h, median
}

func read(p *analyse.Pass, s *store) (x signs) {
	var last, flow, delta, rate []float64
	for _, r := range s.reheats {
		last = append(last, float64(r.Last))
		if r.Flow.Known {
			flow = append(flow, float64(r.Flow.Value))
		}
		if r.Spread.Known {
			delta = append(delta, float64(r.Spread.Value))
		}
		if h := r.Duration().Hours(); h > 0 {
			rate = append(rate, float64(r.Last-r.First)/h)
		}
		if r.Asked {
			x.asked++
			if !r.Wanted {
				x.done++
			}
		}
	}
	x.n, x.last, x.flow, x.delta, x.rate = len(last), median(last), median(flow), median(delta), median(rate)
	x.flowSeen, x.deltaSeen = len(flow) > 0, len(delta) > 0
	if x.asked > 0 {
		x.done /= float64(x.asked)
	}
	if slices.Sort(last); x.n > 0 {
		x.spread = last[x.n*9/10] - last[x.n/10]
	}
	x.clock = sameTime(s.reheats)
	return x
}

// sameTime is the share of the reheats that end at a time of day at which one of another day ends too.
func sameTime(list []episode.StoreReheat) float64 {
	n := 0
	for _, a := range list {
		if slices.ContainsFunc(list, func(b episode.StoreReheat) bool {
			apart := b.To.Sub(a.To).Abs()
			off := apart % (24 * time.Hour)
			return apart > 12*time.Hour && min(off, 24*time.Hour-off) <= sameClock/2
		}) {
			n++
		}
	}
	return float64(n) / float64(max(1, len(list)))
}

// weigh ranks the causes.
func weigh(p *analyse.Pass, s *store) []analyse.Cause {
	x := read(p, s)
	var out []analyse.Cause
	add := func(cause string, support float64, settle, because string, args ...any) {
		out = append(out, analyse.Cause{Cause: cause, Support: support, Because: fmt.Sprintf(because, args...), Settle: settle})
	}
	const setSettle = "read the cylinder thermostat or the hot-water set-point, and have it raised by the maker's instructions"
	if x.n == 0 {
		add("never-reheated", neverFrom, "see whether hot water is switched on at the programmer and whether the cylinder's valve opens", "the store was not heated once in %s", analyse.Span(s.seen))
		add("sensor-reads-low", sensorOpen, sensorSettle, "nothing speaks against the sensor, and nothing bears it out")
		return out
	}
	p.Measured("reheats", "end at %.1f °C in the median (eight in ten within %.1f K), warm by %.0f K/h", x.last, x.spread, x.rate)
	same := x.spread <= sameK
	hot := x.flowSeen && x.flow >= x.last+aboveStore
	switch {
	case s.setpointSeen && s.setpoint < hygieneC-0.5:
		add("set-point-too-low", setSaid, setSettle, "the hot-water set-point on the bus is %.0f °C at the most", s.setpoint)
	case x.n >= fewReheats && same && (hot || !x.flowSeen) && (x.asked == 0 || x.done >= 0.5):
		add("set-point-too-low", setFrom, setSettle, "all reheats end at %.0f °C%s: that is how a thermostat ends them", x.last, hotWords(x))
	case same && x.done >= 0.5:
		add("set-point-too-low", setMay, setSettle, "the reheats end at about %.0f °C", x.last)
	default:
		add("set-point-too-low", setNot, setSettle, "the reheats end at different temperatures (within %.0f K)", x.spread)
	}
	const timerSettle = "read the hot-water times at the programmer, and give them the time that a reheat needs"
	switch {
	case !same && x.n >= fewReheats && x.clock >= 0.5:
		add("reheat-cut-short", timerFrom, timerSettle, "%.0f %% of the reheats end at the same time of day as on another day, at temperatures that differ by %.0f K: the clock ends them", 100*x.clock, x.spread)
	case !same:
		add("reheat-cut-short", timerMay, timerSettle, "the reheats end at temperatures that differ by %.0f K", x.spread)
	default:
		add("reheat-cut-short", timerNot, timerSettle, "the reheats end at about the same temperature")
	}
	const flowSettle = "see which flow temperature the boiler gives for hot water: a curve for the heating must not hold it down, hot water has a set-point of its own"
	switch {
	case !x.flowSeen:
		add("flow-too-cool", flowOpen, flowSettle, "the flow in the reheats is not known")
	case x.flow < hygieneC+aboveStore && x.flow-x.last < 2*aboveStore:
		add("flow-too-cool", flowFrom, flowSettle, "the flow comes to %.0f °C only in the reheats: a coil needs some kelvin more than the water is to have", x.flow)
	case x.flow < hygieneC+aboveStore:
		add("flow-too-cool", flowOpen, flowSettle, "the flow comes to %.0f °C only, but it is still %.0f K above the store when a reheat ends", x.flow, x.flow-x.last)
	default:
		add("flow-too-cool", flowNot, flowSettle, "the flow comes to %.0f °C in the reheats", x.flow)
	}
	const coilSettle = "compare the time of a reheat with the store's volume and the boiler's output; look for scale on the coil, air in it, and how far its valves are open"
	switch {
	case !x.deltaSeen || !x.flowSeen:
		add("poor-recovery", coilOpen, coilSettle, "flow and return in the reheats are not both known")
	case x.flow >= hygieneC+aboveStore && x.delta < littleK && x.flow-x.last > 2*aboveStore:
		add("poor-recovery", coilFrom, coilSettle, "the flow is %.0f °C, %.0f K above the store, and yet flow less return is only %.1f K at the end of the reheats: the coil passes little heat", x.flow, x.flow-x.last, x.delta)
	case x.rate < slowRise && !same && x.flow >= hygieneC+aboveStore:
		add("poor-recovery", coilFrom-0.2, coilSettle, "the store warms by %.0f K an hour only", x.rate)
	default:
		add("poor-recovery", coilNot, coilSettle, "the coil passes heat: flow less return %.1f K, the store warms by %.0f K an hour", x.delta, x.rate)
	}
	add("sensor-reads-low", sensorOpen, sensorSettle, "the record does not tell whether the sensor reads true")
	slices.SortStableFunc(out, func(a, b analyse.Cause) int { return -cmp.Compare(a.Support, b.Support) })
	out[0].Settle += "; " + safety
	return out
}

const sensorSettle = "compare the sensor with a thermometer of known error at the store's outlet just after a reheat, and see whether it is seated in its pocket"

func hotWords(x signs) string {
	if !x.flowSeen {
		return ""
	}
	return fmt.Sprintf(" with the flow at %.0f °C", x.flow)
}

func round(x float64) float64 { return math.Round(x*10) / 10 }
