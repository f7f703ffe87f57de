package circulation

import (
	"iter"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// signs is what the record tells of the cause.
type signs struct {
	off, on       int  // of the dead firings, by the pump's word
	spells        int  // stretches without water with sound runs between them
	healed        bool // sound runs came after the last
	soundBefore   bool // and before
	refilled      bool
	plate         bool // hot water is made without a cylinder
	guessed       bool // reheats are told by nothing but their warm return
	reheats       int  // hot-water firings with water moving, amid those without
	deadReheats   int  // and those without water
	warm          bool
	lasts         time.Duration // the longest stretch without water
	sudden        time.Duration // of the last sound firing before, where that was a long one
	pressure      float64
	pressureKnown bool
}

func read(p *analyse.Pass, o observed, dead, all []bout) signs {
	var s signs
	first, last := dead[0].From, dead[len(dead)-1].To
	s.plate = p.Plant.HotWater == analyse.InstantaneousHotWater
	for _, b := range dead {
		for _, f := range b.dead {
			switch f.Rise.Pump {
			case episode.SaidOff:
				s.off++
			case episode.SaidOn:
				s.on++
			}
		}
	}
	s.hotWater(p, o, dead)
	s.course(p, dead, all)
	for _, l := range p.Facts.Lockouts {
		if l.Reset == episode.ResetRefill && l.To.Before(first.Add(lateFault)) && first.Sub(l.To) <= workWithin {
			s.refilled = true
		}
		if l.Preceding.Pressure != nil && !l.From.Before(first) && l.From.Sub(last) <= lateFault && (!s.pressureKnown || *l.Preceding.Pressure < s.pressure) {
			s.pressure, s.pressureKnown = *l.Preceding.Pressure, true
		}
	}
	return s
}

// hotWater counts the hot-water firings amid those without water.
func (s *signs) hotWater(p *analyse.Pass, o observed, dead []bout) {
	for _, f := range o.hotWater {
		if !slices.ContainsFunc(dead, func(b bout) bool { return f.Overlap(b.Span) > 0 }) {
			continue
		}
		switch judge(p, f) {
		case follows:
			s.reheats++
		case noWater:
			s.deadReheats++
		}
	}
}

// course looks at what came before, between and after. Where nothing tells reheats of a cylinder from heating, sound
// runs between ones without water may be reheats: the way through the cylinder is open.
func (s *signs) course(p *analyse.Pass, dead, all []bout) {
	first, last := dead[0].From, dead[len(dead)-1].To
	between, open := 0, false
	was := follows
	for _, b := range dead {
		s.lasts = max(s.lasts, b.Duration())
	}
	for i, b := range all {
		switch b.verdict {
		case noWater:
			if was == follows {
				s.spells++
			}
			was = noWater
			continue
		case follows:
		default:
			continue
		}
		if b.burnt() < float64(recovers) && b.From.After(first) {
			continue // what hot water left in the pipes moved, or one stroke of a pump that sticks
		}
		was = follows
		s.healed = s.healed || b.From.After(last)
		s.soundBefore = s.soundBefore || b.From.Before(first)
		if b.From.Before(first) && first.Sub(b.To) <= workWithin {
			s.sudden = lastSound(p, b)
		}
		s.warm = s.warm || b.To.Before(first) && first.Sub(b.To) <= warmWithin
		if likeReheat(all, i) {
			between++
			open = open || slices.ContainsFunc(b.firings, func(f *episode.Firing) bool { return !f.UseKnown })
		}
	}
	if s.reheats == 0 && open && between > 1 && p.Plant.HotWater == analyse.CylinderHotWater {
		s.reheats, s.guessed = between, true
	}
}

// likeReheat tells whether a run that found water moving may have been a cylinder's reheat: those before and after it found
// none, and it burned no longer than a reheat takes. Where heating itself goes on for hours between two stretches
// without water, water came back.
func likeReheat(all []bout, i int) bool {
	told := func(list iter.Seq2[int, bout]) verdict {
		for _, b := range list {
			if b.verdict == noWater || b.verdict == follows {
				return b.verdict
			}
		}
		return unclear
	}
	return all[i].burnt() <= float64(reheatMost) && told(slices.Backward(all[:i])) == noWater && told(slices.All(all[i+1:])) == noWater
}

// lastSound is how long the last firing of a run that found water moving burned, where that was long; else 0.
func lastSound(p *analyse.Pass, b bout) time.Duration {
	for _, f := range slices.Backward(b.firings) {
		if judge(p, f) != follows {
			continue
		}
		if d := f.Duration(); d > 2*quickEnd {
			return d
		}
		break
	}
	return 0
}
