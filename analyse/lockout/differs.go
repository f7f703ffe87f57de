package lockout

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

const (
	// oneOccasion is how near lockouts of one cause are one occasion: a burner that is reset on a frosty morning and locks
	// out again has told nothing new. Own proposal.
	oneOccasion = 12 * time.Hour
	// leastOccasions is how many occasions a comparison needs. Own proposal.
	leastOccasions = 3
	// level is the chance, after Holm's correction, below which a difference is told (common practice, no source).
	level = 0.05
	// startsMost and occasionsMost bound the work: more are thinned evenly over the record. Own proposal.
	startsMost, occasionsMost = 200, 20
)

// thing is one circumstance that may differ between starts that ended in a lockout and starts that worked.
type thing struct {
	name, unit    string
	places        int
	worth         float64 // the least difference of medians worth telling; own proposals
	bad, good     []float64
	test          func(x, y []float64) (p, least float64)
	p, adjusted   float64
	least         float64
	median, other float64
}

// circumstance is what was known of one start.
type circumstance struct {
	outside, pressure, flow, rest, modulation, frost episode.Maybe
	hour                                             float64
}

// differs compares the lockouts of a cause with the starts that worked, and says in words what was different.
func differs(p *analyse.Pass, locked []episode.Lockout, cause string) string {
	all := occasions(locked, cause)
	if len(all) < leastOccasions {
		p.LeftOpen("what was different from starts that worked", "%s by %s, %d or more are needed to compare", analyse.Count(len(all), "occasion"), cause, leastOccasions)
		return ""
	}
	bad := make([]circumstance, 0, len(all))
	for _, l := range thinned(all, occasionsMost) {
		bad = append(bad, atLockout(p, l))
	}
	worked := startsThatWorked(p, locked)
	good := make([]circumstance, 0, len(worked))
	for _, i := range thinned(worked, startsMost) {
		good = append(good, atFiring(p, i))
	}
	list := tried(bad, good, cause)
	if len(list) == 0 {
		p.LeftOpen("what was different from starts that worked", "nothing that is known of %d lockouts is known of enough starts that worked", len(bad))
		return ""
	}
	reach := 1.0
	for _, x := range list {
		reach = min(reach, x.least*float64(len(list)))
	}
	if reach > level {
		p.LeftOpen("what was different from starts that worked", "too few to tell: with %d occasions and %d starts that worked, the strongest difference there could be has a chance of %.2f after correction for %s tried",
			len(bad), len(good), min(1, reach), analyse.Count(len(list), "thing"))
		return ""
	}
	return told(p, list, len(bad), len(good))
}

func told(p *analyse.Pass, list []thing, bad, good int) string {
	var parts []string
	for _, x := range list {
		p.Measured("different from starts that worked: "+x.name, "%s at %d lockouts, %s at %d starts; p = %.4f, after correction for %d tried %.4f",
			x.value(x.median), len(x.bad), x.value(x.other), len(x.good), x.p, len(list), x.adjusted)
		if x.adjusted <= level && math.Abs(x.median-x.other) >= x.worth {
			parts = append(parts, fmt.Sprintf("%s %s against %s (p = %s)", x.name, x.value(x.median), x.value(x.other), chance(x.adjusted)))
		}
	}
	if len(parts) == 0 {
		return fmt.Sprintf("nothing known was plainly different from the starts that worked (%d occasions, %d starts, %s tried)", bad, good, analyse.Count(len(list), "thing"))
	}
	return fmt.Sprintf("different from %d starts that worked, medians of %d occasions: %s; that goes together with it and need not be its cause", good, bad, strings.Join(parts, "; "))
}

func chance(p float64) string {
	if p < 0.001 {
		return "below 0.001"
	}
	return fmt.Sprintf("%.3f", p)
}

func (x *thing) value(v float64) string {
	switch x.unit {
	case "clock":
		return fmt.Sprintf("about %02d:%02d", int(v)%24, int(v*60)%60)
	case "share":
		return fmt.Sprintf("%.0f %%", v*100)
	}
	return strings.Replace(fmt.Sprintf("%.*f %s", x.places, v, x.unit), "-", "−", 1)
}

// tried are the things that can be compared, the least likely by chance first.
func tried(bad, good []circumstance, cause string) []thing {
	var out []thing
	try := func(name, unit string, places int, worth float64, of func(circumstance) episode.Maybe) {
		x := thing{name: name, unit: unit, places: places, worth: worth, test: rankSum, bad: known(bad, of), good: known(good, of)}
		if len(x.bad) < leastOccasions || len(x.good) < leastOccasions || slices.Min(x.bad) == slices.Max(x.bad) && slices.Min(x.good) == slices.Max(x.good) && x.bad[0] == x.good[0] {
			return
		}
		x.median, x.other = median(x.bad), median(x.good)
		switch unit {
		case "clock":
			x.test = clockwise
			x.median, x.other = middleHour(x.bad), middleHour(x.good)
		case "share":
			x.test = fisherOf
			x.median, x.other = mean(x.bad), mean(x.good)
		}
		x.p, x.least = x.test(x.bad, x.good)
		out = append(out, x)
	}
	try("outside", "°C", 1, 2, func(c circumstance) episode.Maybe { return c.outside })
	try("starts after two hours of frost or more", "share", 0, 0.2, func(c circumstance) episode.Maybe { return c.frost })
	try("rest since the last firing", "min", 0, 20, func(c circumstance) episode.Maybe { return c.rest })
	try("time of day", "clock", 0, 0, func(c circumstance) episode.Maybe { return episode.Maybe{Value: float32(c.hour), Known: true} })
	if cause != episode.CauseLowPressure { // which is that
		try("pressure", "bar", 2, 0.1, func(c circumstance) episode.Maybe { return c.pressure })
	}
	if cause != episode.CauseSensor { // whose flow may be what failed
		try("flow", "°C", 0, 5, func(c circumstance) episode.Maybe { return c.flow })
	}
	try("modulation", "%", 0, 10, func(c circumstance) episode.Maybe { return c.modulation })
	slices.SortStableFunc(out, func(a, b thing) int { return cmp.Compare(a.p, b.p) })
	ps := make([]float64, len(out))
	for i, x := range out {
		ps[i] = x.p
	}
	for i, q := range holm(ps) {
		out[i].adjusted = q
	}
	return out
}

func known(all []circumstance, of func(circumstance) episode.Maybe) []float64 {
	var out []float64
	for _, c := range all {
		if v := of(c); v.Known {
			out = append(out, float64(v.Value))
		}
	}
	return out
}

// fisherOf tests values that are 0 or 1.
func fisherOf(x, y []float64) (p, least float64) {
	count := func(v []float64) (n int) {
		for _, q := range v {
			if q > 0 {
				n++
			}
		}
		return n
	}
	a, c, m, n := count(x), count(y), len(x), len(y)
	least = 1
	for _, k := range []int{max(0, a+c-n), min(m, a+c)} { // the tables furthest out
		least = min(least, fisher(k, m, a+c-k, n))
	}
	return fisher(a, m, c, n), least
}

func median(v []float64) float64 {
	s := slices.Sorted(slices.Values(v))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

func mean(v []float64) (sum float64) {
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// middleHour is the middle of times of day, on the circle.
func middleHour(v []float64) float64 {
	var c, s float64
	for _, h := range v {
		c, s = c+math.Cos(h*math.Pi/12), s+math.Sin(h*math.Pi/12)
	}
	return math.Mod(math.Atan2(s, c)*12/math.Pi+24, 24)
}

// thinned keeps no more than most, evenly.
func thinned[T any](all []T, most int) []T {
	if len(all) <= most {
		return all
	}
	out := make([]T, most)
	for i := range out {
		out[i] = all[i*len(all)/most]
	}
	return out
}
