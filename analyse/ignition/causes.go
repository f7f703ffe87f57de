package ignition

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/decode/unit"
)

// Causes of failed attempts.
const (
	gasSupply = "gas-supply"
	electrode = "electrode"
	frozen    = "frozen-condensate"
	flameLoss = "flame-loss"
)

const (
	// coldBelow is the outside temperature up to which a start counts as one in the cold, °C. Own proposal: gas demand
	// peaks and vaporisers fail in the cold, pipes outside freeze below 0 °C; a sensor on a wall reads up to 3 K too high.
	coldBelow = 3.0
	// frostFor is how long it must have frozen for a condensate pipe to be blocked. Own proposal.
	frostFor = 2 * time.Hour
	// mostly is the share from which a thing holds of nearly all starts. Own proposal.
	mostly = 0.8
	// mildStarts is the number of starts in mild weather, each at the first attempt, that show a fault to be of the cold.
	// Own proposal.
	mildStarts = 3
)

// The weights of the signs. All are own proposals; the signs are the trade's (common practice, no source).
const (
	gasFrom        = 0.25 // gas-supply before any sign
	gasNoFlame     = 0.25 // no flame in any failed attempt
	gasOnlyCold    = 0.25 // failed in the cold only
	gasSameNumber  = 0.10 // about the same number of attempts each time
	gasFlame       = 0.15 // taken off: flames were seen, so gas came
	electrodeFrom  = 0.35 // electrode before any sign
	electrodeAny   = 0.25 // failed in mild weather too
	electrodeMixed = 0.15 // at random: starts in between lit at once, and the number of attempts varies
	electrodeCold  = 0.20 // taken off: failed in the cold only
	frozenFrom     = 0.15 // frozen-condensate where it had frozen for hours
	frozenFlame    = 0.45 // flames came and went out again
	frozenMild     = 0.20 // never in mild weather
	lossFrom       = 0.10 // flame-loss before any sign
	lossFlame      = 0.40 // flames came and went out again
	lossFrozen     = 0.15 // taken off: in frost the condensate explains it
)

func weightCriteria() []analyse.Criterion {
	w := func(name string, v float64) analyse.Criterion {
		return analyse.Criterion{Name: "weight, " + name, Value: v, Source: "own proposal"}
	}
	return []analyse.Criterion{
		{Name: "a start is in the cold up to, outside", Value: coldBelow, Unit: "°C", Source: "own proposal"},
		{Name: "frost that can freeze a condensate pipe lasts", Value: frostFor.Hours(), Unit: "h", Source: "own proposal"},
		{Name: "first-attempt starts in mild weather that show a fault of the cold", Value: mildStarts, Unit: "starts", Source: "own proposal"},
		w("gas-supply, to begin with", gasFrom), w("gas-supply, no flame in any failed attempt", gasNoFlame), w("gas-supply, in the cold only", gasOnlyCold),
		w("gas-supply, the same number each time", gasSameNumber), w("gas-supply, flames seen", -gasFlame),
		w("electrode, to begin with", electrodeFrom), w("electrode, in mild weather too", electrodeAny), w("electrode, at random", electrodeMixed),
		w("electrode, in the cold only", -electrodeCold),
		w("frozen-condensate, after hours of frost", frozenFrom), w("frozen-condensate, flames came and went", frozenFlame), w("frozen-condensate, never in mild weather", frozenMild),
		w("flame-loss, to begin with", lossFrom), w("flame-loss, flames came and went", lossFlame), w("flame-loss, in frost", -lossFrozen),
	}
}

// signs are what tells the causes apart.
type signs struct {
	starts, flames, tries int
	outside               int     // starts with retries whose outside temperature is known
	cold, frost           int     // of those, in the cold; after hours of frost
	coldest, warmest      float64 // outside at starts with retries, °C
	mildAtOnce            int     // starts in mild weather that lit at the first attempt
	atOnce                int     // starts between the first and the last retry that lit at the first attempt
	spread                bool    // the number of attempts varies
	sameNumber            bool    // three starts or more with the same number
	counted               bool    // the flame was read often enough to see what there was
}

func (s signs) onlyCold() bool {
	return s.outside > 0 && s.cold == s.outside && s.mildAtOnce >= mildStarts
}
func (s signs) allCold() bool   { return s.outside > 0 && s.cold == s.outside }
func (s signs) inFrost() bool   { return s.outside > 0 && float64(s.frost) >= mostly*float64(s.outside) }
func (s signs) mildToo() bool   { return s.outside-s.cold >= max(1, int((1-mostly)*float64(s.outside))) }
func (s signs) withFlame() bool { return s.flames*2 >= s.tries }

func read(p *analyse.Pass, seqs []sequence) signs {
	s := signs{starts: len(seqs), coldest: math.Inf(1), warmest: math.Inf(-1)}
	retried := map[time.Time]bool{}
	least, most := math.MaxInt, 0
	for _, q := range seqs {
		retried[q.lit] = true
		s.tries += len(q.tries)
		s.flames += q.flames()
		least, most = min(least, len(q.tries)), max(most, len(q.tries))
		st := q.tries[0].Start
		if !st.Outside.Known {
			continue
		}
		s.outside++
		v := float64(st.Outside.Value)
		s.coldest, s.warmest = min(s.coldest, v), max(s.warmest, v)
		if v <= coldBelow {
			s.cold++
		}
		if st.Frost >= frostFor {
			s.frost++
		}
	}
	s.spread, s.sameNumber = most > least, most == least && len(seqs) >= 3
	first, last := seqs[0].from(), seqs[len(seqs)-1].to()
	for _, f := range lit(p.Facts) {
		if retried[f.From] {
			continue
		}
		if f.From.After(first) && f.From.Before(last) {
			s.atOnce++
		}
		if o := f.Start.Outside; o.Known && o.Value > coldBelow {
			s.mildAtOnce++
		}
	}
	interval, watched := flameInterval(p.Facts)
	s.counted = watched && interval <= lookAtLeast
	return s
}

// weigh ranks the causes.
func weigh(p *analyse.Pass, seqs []sequence) []analyse.Cause {
	s := read(p, seqs)
	if s.outside > 0 {
		p.Measured("outside at starts with retries", "%s to %s; %d of %d at %.0f °C or colder, %d after %s of frost", celsius(s.coldest), celsius(s.warmest), s.cold, s.outside, coldBelow, s.frost, analyse.Span(frostFor))
		p.Measured("starts in mild weather at the first attempt", "%d", s.mildAtOnce)
	} else {
		p.LeftOpen("cold weather", "the outside temperature is not in the record: whether starts fail in the cold only cannot be told")
	}
	causes := []analyse.Cause{s.gas(), s.electrode(), s.frozen(), s.loss()}
	slices.SortStableFunc(causes, func(x, y analyse.Cause) int { return cmp.Compare(y.Support, x.Support) })
	return slices.DeleteFunc(causes, func(c analyse.Cause) bool { return c.Support < 0.05 })
}

func (s signs) gas() analyse.Cause {
	c := analyse.Cause{Cause: gasSupply, Support: gasFrom, Settle: "a registered gas engineer measures the gas pressure at the appliance at full load, on a cold morning if it fails then; with LPG also level and regulator"}
	switch {
	case s.flames > 0:
		c.Support -= gasFlame
		c.Because = fmt.Sprintf("%d of %d failed attempts showed a flame, so gas came", s.flames, s.tries)
	case s.counted:
		c.Support += gasNoFlame
		c.Because = "no flame was seen in any failed attempt"
	default:
		c.Because = "the flame was not read often enough to see whether gas burned"
	}
	if s.onlyCold() {
		c.Support += gasOnlyCold
		c.Because += fmt.Sprintf("; it failed at %s and colder only, %d starts in milder weather lit at once", celsius(s.warmest), s.mildAtOnce)
	} else if s.allCold() {
		c.Support += gasOnlyCold / 2
		c.Because += fmt.Sprintf("; it failed at %s and colder, and few milder starts are there to compare", celsius(s.warmest))
	}
	if s.sameNumber {
		c.Support += gasSameNumber
		c.Because += "; the number of failed attempts was the same each time"
	}
	c.Support = clamp(c.Support)
	return c
}

func (s signs) electrode() analyse.Cause {
	c := analyse.Cause{Cause: electrode, Support: electrodeFrom, Because: "a worn or wet electrode, its lead or its gap fails now and then, and lights in the end",
		Settle: "a registered gas engineer looks at electrode, gap, lead and seal, and measures the flame current"}
	switch {
	case s.onlyCold():
		c.Support -= electrodeCold
		c.Because = "an electrode fails in any weather, and this failed in the cold only"
	case s.mildToo():
		c.Support += electrodeAny
		c.Because = fmt.Sprintf("it failed at up to %s outside, not in the cold alone", celsius(s.warmest))
	}
	if s.spread && s.atOnce > 0 {
		c.Support += electrodeMixed
		c.Because += fmt.Sprintf("; at random: the number of attempts varies, and %s in between lit at once", analyse.Count(s.atOnce, "start"))
	}
	c.Support = clamp(c.Support)
	return c
}

func (s signs) frozen() analyse.Cause {
	c := analyse.Cause{Cause: frozen, Settle: "look at the condensate pipe outside while it freezes: its run, size, fall and insulation; a registered gas engineer clears the trap"}
	if !s.inFrost() {
		return c
	}
	c.Support = frozenFrom
	c.Because = fmt.Sprintf("it had been freezing for %s or longer at %d of %d starts that failed", analyse.Span(frostFor), s.frost, s.outside)
	if s.withFlame() {
		c.Support += frozenFlame
		c.Because += "; flames came and went out again, as with a condensate trap that is full"
	}
	if s.onlyCold() {
		c.Support += frozenMild
		c.Because += fmt.Sprintf("; %d starts in milder weather lit at once", s.mildAtOnce)
	} else if s.withFlame() {
		c.Support += frozenMild / 2
	}
	c.Support = clamp(c.Support)
	return c
}

func (s signs) loss() analyse.Cause {
	c := analyse.Cause{Cause: flameLoss, Support: lossFrom, Because: "nothing shows that flames came and were lost",
		Settle: "a registered gas engineer checks the flame signal, the mixture at least output, flue and terminal in wind"}
	if s.withFlame() {
		c.Support += lossFlame
		c.Because = fmt.Sprintf("%d of %d failed attempts had a flame that went out again", s.flames, s.tries)
	}
	if s.inFrost() {
		c.Support -= lossFrozen
	}
	c.Support = clamp(c.Support)
	return c
}

func celsius(v float64) string { return unit.Celsius(v).String() }

func clamp(v float64) float64 { return min(1, max(0, v)) }
