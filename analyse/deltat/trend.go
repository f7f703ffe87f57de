package deltat

import (
	"math"
	"time"
)

// trend is how the water flow went over the days, as shares of itself.
type trend struct {
	known  bool
	grows  bool    // it fell from each day to the next
	perDay float64 // fall by day
	step   bool    // it fell at once
	fall   float64 // by how much, as a share of before
	at     time.Time
}

const (
	// eachSide is how much burning must stand on each side of a step, and in a day for it to count, trendDays how many
	// days a trend takes. Own proposals.
	eachSide, trendDays = 30 * time.Minute, 3
	// stepQuiet is how much the water flow may scatter on each side of a step, as a share of it. Own proposal.
	stepQuiet = 0.25
)

// flows are the parts whose water flow against design's is known, with its logarithm as their value.
func (m *measured) flows() (list []part) {
	for _, x := range m.parts {
		if x.scaled == m.scaled && m.scaled != notScaled && x.atDesign > 0 {
			x.k = -math.Log(x.atDesign)
			list = append(list, x)
		}
	}
	return list
}

func logFlow(x part) float64 { return x.k }

// overDays looks for a step, and for a trend from day to day. Heat told by the emitters is too rough for a step: a cold
// start looks like one.
func (m *measured) overDays() (out trend) {
	list := m.flows()
	if m.scaled == byOutput {
		best := -math.Log(1 - stepShare)
		for i := 1; i < len(list); i++ {
			before, after := list[:i], list[i:]
			a, sa := meanScatter(before)
			b, sb := meanScatter(after)
			if counted(before) >= eachSide && counted(after) >= eachSide && max(sa, sb) < stepQuiet && a-b > best && a-b > 2*(sa+sb) {
				best, out.step, out.fall, out.at = a-b, true, 1-math.Exp(b-a), list[i].from
			}
		}
	}
	var days []float64
	for i := 0; i < len(list); {
		k := i
		for k < len(list) && list[k].from.Sub(list[i].from) < 24*time.Hour {
			k++
		}
		if counted(list[i:k]) >= eachSide {
			days = append(days, median(list[i:k], logFlow))
		}
		i = k
	}
	if len(days) < trendDays {
		return out
	}
	out.known, out.grows = true, true
	for i := 1; i < len(days); i++ {
		out.grows = out.grows && days[i-1]-days[i] >= trendPerDay
	}
	out.perDay = 1 - math.Exp((days[len(days)-1]-days[0])/float64(len(days)-1))
	return out
}

// meanScatter is weighed by how much each part counts.
func meanScatter(list []part) (mean, scatter float64) {
	total := float64(max(counted(list), 1))
	for _, x := range list {
		mean += logFlow(x) * float64(x.counts) / total
	}
	for _, x := range list {
		scatter += (logFlow(x) - mean) * (logFlow(x) - mean) * float64(x.counts) / total
	}
	return mean, math.Sqrt(scatter)
}

// hours is how the water flow goes within days: the last third of a day's burning against its first.
type hours struct {
	known  bool
	change float64
}

// byHours needs two days that say the same.
func (m *measured) byHours() hours {
	list := m.flows()
	var first, least, most float64
	n := 0
	for i := 0; i < len(list); {
		k := i
		for k < len(list) && list[k].from.Sub(list[i].from) < 16*time.Hour {
			k++
		}
		if third := (k - i) / 3; third >= 1 {
			change := median(list[k-third:k], logFlow) - median(list[i:i+third], logFlow)
			if n == 0 {
				least, most = change, change
			}
			least, most, first, n = min(least, change), max(most, change), first+change, n+1
		}
		i = k
	}
	if n < 2 {
		return hours{}
	}
	return hours{known: least > 0 || most < 0, change: math.Expm1(first / float64(n))}
}
