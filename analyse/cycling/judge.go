package cycling

import (
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// verdict is what the burns come to.
type verdict struct {
	spells        []spell
	total, demand time.Duration
	asked         time.Duration // the demand, or what stands for it
	peak          int
	cycles        bool
}

// in are the burns of the spells.
func (v verdict) in(burns []episode.Firing) []episode.Firing {
	var out []episode.Firing
	for _, s := range v.spells {
		out = append(out, burns[s.first:s.last+1]...)
	}
	return out
}

func judge(p *analyse.Pass, burns []episode.Firing) verdict {
	v := verdict{spells: findSpells(burns), demand: demandTime(p.Facts), peak: peakPerHour(burns)}
	if v.asked = v.demand; v.asked == 0 {
		v.asked = runningTime(burns)
	}
	return v.sum(p)
}

// sum adds the spells up.
func (v verdict) sum(p *analyse.Pass) verdict {
	v.total = 0
	for _, s := range v.spells {
		v.total += s.Duration()
	}
	need := min(leastTotal, max(leastInAll, v.asked/2))
	share := 0.0
	if v.asked > 0 {
		share = float64(v.total) / float64(v.asked)
	}
	v.cycles = mostInADay(v.spells) >= need && share >= leastShare || share >= dailyShare && days(p, v.spells) >= dailyDays
	return v
}

// tooMany is the same of the spells alone that no hot water makes: too many burns, for too long.
func (v verdict) tooMany(p *analyse.Pass) verdict {
	v.spells = slices.DeleteFunc(slices.Clone(v.spells), func(s spell) bool {
		return s.Duration() < noDraw || float64(s.last-s.first) < drawStarts*s.Duration().Hours()
	})
	return v.sum(p)
}

// noStore is the same without spells that the heating-up of a store may be: of unknown use, and no longer than that
// takes. A coil takes less and less towards the end, and any burner cycles then.
func (v verdict) noStore(p *analyse.Pass, burns []episode.Firing) verdict {
	if p.Plant.HotWater != analyse.CylinderHotWater {
		return v
	}
	v.spells = slices.DeleteFunc(slices.Clone(v.spells), func(s spell) bool {
		return s.Duration() < storeHeats && slices.ContainsFunc(burns[s.first:s.last+1], func(f episode.Firing) bool { return !f.UseKnown })
	})
	return v.sum(p)
}

// runningTime stands for the demand where that is not known: the burns and the pauses between them that are no rest.
func runningTime(burns []episode.Firing) time.Duration {
	var d time.Duration
	for i, f := range burns {
		d += f.Duration()
		if i+1 < len(burns) {
			if off := burns[i+1].From.Sub(f.To); off <= joinSpells {
				d += max(0, off)
			}
		}
	}
	return d
}

// toldUse tells whether every burn was told from hot water by the shape of flow and return.
func toldUse(burns []episode.Firing) bool {
	for _, f := range burns {
		if f.Basis != episode.ByShape || !f.UseKnown {
			return false
		}
	}
	return true
}

// soundOrUnseen answers where nothing was found: clear, if there was enough to see.
func soundOrUnseen(p *analyse.Pass, burns []episode.Firing, demand time.Duration, because string) {
	asked := demand
	shapes := shapeOnly(p)
	if !p.Has(decode.HeatDemand, decode.HeatActive) {
		if asked = p.Facts.To.Sub(p.Facts.From); shapes {
			asked = runningTime(burns)
		}
	}
	every := time.Duration(0)
	for _, c := range p.Coverage {
		if c.Series.Point == decode.Flame && (every == 0 || c.Interval < every) {
			every = c.Interval
		}
	}
	share, worst := seenShare(p)
	standFor, at := stood(p)
	switch {
	case shapes && share < seenEnough:
		p.NotAssessable(unseen(share, worst))
	case shapes && standFor >= leastTotal:
		p.NotAssessable("nothing was found, but " + at.Because + "; connect the boiler's bus or a flame contact")
	case asked < leastDemand:
		p.NotAssessable(fmt.Sprintf("heat was asked for during %s only, in %s; %s are needed",
			analyse.Span(asked), analyse.Count(len(burns), "heating firing"), analyse.Span(leastDemand)))
	case !shapes && every > fineEnough:
		p.NotAssessable(fmt.Sprintf("the flame was read every %s only, so that burns under %s cannot be told", analyse.Span(every), analyse.Span(shortBurn)))
	default:
		p.Clear(because)
	}
}

// days counts the days, in the site's zone, on which spells began.
func days(p *analyse.Pass, spells []spell) int {
	seen := map[string]bool{}
	for _, s := range spells {
		seen[p.Site.Day(s.From)] = true
	}
	return len(seen)
}
