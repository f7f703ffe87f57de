package overshoot

import (
	"math"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// measured are the figures over all starts.
type measured struct {
	median, share           float64
	otherMedian, otherShare float64
	bothSeen                int
	apart                   float64 // K, median of other less own; 0 where they were not both seen
	standing                float64 // share of the starts in which next to no water moved
	overStill               float64 // the same of those that overshoot, whatever other burns show
	brief                   bool    // the median burn is brief against the time between readings
	atRest                  rested
	ownLow                  bool // the overshoot is seen by the second sensor, the own one reads low
}

func measure(starts []start) measured {
	var by, other, apart, burns []float64
	still, over, overStill := 0.0, 0.0, 0.0
	moves := slices.ContainsFunc(starts, start.answered)
	for _, s := range starts {
		by = append(by, s.by)
		burns = append(burns, s.Duration().Seconds())
		if s.apart() || s.spike() && !moves {
			still++
		}
		if s.by >= overK {
			over++
			if s.stands() {
				overStill++
			}
		}
		if s.otherSeen {
			other = append(other, s.other)
		}
		if s.ownSeen && s.otherSeen && !s.Excess.Unwatched { // else the two were not seen to climb together
			apart = append(apart, s.other-s.own)
		}
	}
	return measured{overStill: overStill / max(1, over), standing: still / max(1, float64(len(starts))), median: median(by), share: share(by), otherMedian: median(other), otherShare: share(other),
		bothSeen: len(apart), apart: median(apart), brief: median(burns) < (10 * time.Minute).Seconds()}
}

// of gives the excess of a start by the sensor that decides.
func (m measured) of(s start) float64 {
	if m.ownLow {
		return s.other
	}
	return s.by
}

// seldom tells whether the flow by which the source of the set-point controls was read too seldom to see its peaks.
func (w witness) seldom(p *analyse.Pass) (every time.Duration, yes bool) {
	for _, c := range p.Coverage {
		if c.Series.Point == decode.Flow && c.Series.Source == w.own && c.Readings > 0 {
			return c.Interval, c.Interval > readEvery
		}
	}
	return 0, false
}

// interval is how often the flow was read, by the series that is read most often.
func interval(p *analyse.Pass) time.Duration {
	least := time.Duration(math.MaxInt64)
	for _, c := range p.Coverage {
		if c.Series.Point == decode.Flow && c.Interval > 0 {
			least = min(least, c.Interval)
		}
	}
	return least
}
