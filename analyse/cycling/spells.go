package cycling

import (
	"slices"
	"time"

	"tundish/analyse/episode"
)

// spell is a stretch of short-cycling: burns[first…last].
type spell struct {
	episode.Span
	first, last int
}

// findSpells finds the hours that meet the criterion, and joins them.
func findSpells(burns []episode.Firing) []spell {
	var all []spell
	for i := range burns {
		j, shorts := i, 0
		for ; j < len(burns) && burns[j].From.Sub(burns[i].From) < time.Hour; j++ {
			if burns[j].Duration() < shortBurn {
				shorts++
			}
		}
		n := j - i
		if (shorts < shortInARow || float64(shorts) < shortShare*float64(n)) && n <= startsPerHour {
			continue
		}
		s, ok := trim(burns, i, j-1)
		if !ok {
			continue
		}
		if k := len(all) - 1; k >= 0 && s.From.Sub(all[k].To) <= joinSpells {
			if s.To.After(all[k].To) {
				all[k].To, all[k].last = s.To, s.last
			}
			continue
		}
		all = append(all, s)
	}
	return slices.DeleteFunc(all, func(s spell) bool { return s.Duration() < leastSpell })
}

// trim drops burns of a whole cycle's length from both ends of a spell: the warm-up before it, the steady burn after it.
func trim(burns []episode.Firing, first, last int) (spell, bool) {
	for first <= last && burns[first].Duration() >= longBurn {
		first++
	}
	for last >= first && burns[last].Duration() >= longBurn {
		last--
	}
	if last-first+1 < shortInARow {
		return spell{}, false
	}
	return spell{episode.Span{From: burns[first].From, To: burns[last].To}, first, last}, true
}

// mostInADay is the longest time of short-cycling that began within a day.
func mostInADay(spells []spell) time.Duration {
	var most, sum time.Duration
	first := 0
	for _, s := range spells {
		sum += s.Duration()
		for s.From.Sub(spells[first].From) >= spellDay {
			sum -= spells[first].Duration()
			first++
		}
		most = max(most, sum)
	}
	return most
}

func peakPerHour(burns []episode.Firing) int {
	peak, i := 0, 0
	for j := range burns {
		for burns[j].From.Sub(burns[i].From) >= time.Hour {
			i++
		}
		peak = max(peak, j-i+1)
	}
	return peak
}

func medianBurn(burns []episode.Firing) time.Duration {
	d := make([]time.Duration, len(burns))
	for i, f := range burns {
		d[i] = f.Duration()
	}
	return median(d)
}
