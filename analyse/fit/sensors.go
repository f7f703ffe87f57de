package fit

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// sensors judges how the sensors of flow and return sit.
func (j *judge) sensors() {
	w := j.Watch
	order := slices.Clone(w.order)
	slices.SortFunc(order, func(a, b *sensor) int { return cmp.Compare(a.String(), b.String()) })
	said := map[decode.Series]bool{} // one fault of a sensor is enough
	for _, s := range order {
		said[s.Series] = s.stuckNow()
	}
	swapped := false
	for _, ret := range order {
		flow := w.of(ret.Source, decode.Flow)
		if ret.Point != decode.Return || flow == nil {
			continue
		}
		if !said[ret.Series] && !said[flow.Series] {
			swapped = j.pair(flow, ret, said) || swapped
		}
	}
	for _, s := range order {
		// Beside swapped probes a sound sensor seems not to move with its pipe.
		if s.stuck.n > 0 && (s.stuckNow() || !swapped) {
			j.stuck(s)
		}
		if !said[s.Series] && s.short.of >= leastMinutes {
			j.beside(s)
		}
	}
}

func (j *judge) stuck(s *sensor) {
	rank := Soon
	if s.stuckNow() {
		rank = Now
	}
	j.item(rank, s.String(), fmt.Sprintf("gave %.4g °C without any change for %s to %s, while the water moved by more than it can have missed",
		s.stuck.value, analyse.Span(s.stuck.to.Sub(s.stuck.from)), j.Site.DayClock(s.stuck.to)),
		"warm it in the hand: if it does not follow, change it or its lead")
}

// stuckNow tells whether a sensor still gives the value on which it stuck.
func (s *sensor) stuckNow() bool {
	return s.stuck.n > 0 && s.stuck.value == s.value && s.stuck.from.Equal(s.hold.from)
}

// beside tells how a probe compares with the appliance's own sensor of the same pipe.
func (j *judge) beside(s *sensor) {
	short := s.short.value()
	rank := Soon
	if max(short, -short) >= looseShare {
		rank = Now
	}
	switch {
	case short >= poorShare:
		j.item(rank, s.String(), fmt.Sprintf("reads low by %.0f %% of the pipe's warmth, against the appliance's own sensor while firing", short*100),
			"it hardly touches its pipe: strap it on bare metal and insulate it; if it sits well, the appliance's own sensor may read high")
	case short <= -poorShare:
		j.item(rank, s.String(), fmt.Sprintf("reads high by %.0f %% of the pipe's warmth, against the appliance's own sensor while firing", -short*100),
			"see that it sits on the right pipe; if it does, the appliance's own sensor may read low")
	default:
		j.good("%s follows the appliance's own sensor, %.0f %% of the pipe's warmth apart", s.Series, max(short, -short)*100)
	}
}

// pair judges the two pipes of one source, and tells whether its probes look swapped.
func (j *judge) pair(flow, ret *sensor, said map[decode.Series]bool) (swapped bool) {
	for _, s := range []*sensor{flow, ret} {
		if s.cold.mostly() {
			said[s.Series] = true
			other := flow
			if s == flow {
				other = ret
			}
			how := "strap it on the pipe again and insulate it; is it well on, no water may be moving in that pipe"
			if s.bus {
				how = "feel that pipe with care, it may be hot: the appliance's sensor may be off it, or no water moves"
			}
			j.item(Now, s.String(), fmt.Sprintf("stays cold while %s gets hot", other.Series), how)
		}
	}
	if said[flow.Series] || said[ret.Series] {
		return false
	}
	switch {
	case !ret.reversed.judged() && j.slow(flow, ret) > stale:
		j.item(Know, ret.Source, fmt.Sprintf("read only every %s: too seldom to tell how its probes sit", analyse.Span(j.slow(flow, ret))), "feel the pipes with care, they may be hot, and compare by hand")
	case !ret.reversed.judged() && j.length() >= fullDay:
		j.item(Know, ret.Source, fmt.Sprintf("which pipe is flow could not be told: only %.0f min of firing that warmed the pipes were seen", ret.reversed.of), "ask for heat for half an hour and run this again")
	case !ret.reversed.judged():
		j.early("%s: which pipe is flow needs %.0f min of firing, %.0f were seen; ask for heat for half an hour and run this again", ret.Source, leastMinutes, ret.reversed.of)
	case !ret.reversed.mostly():
		if ret.reversed.n <= (1-mostOf)*ret.reversed.of {
			j.good("%s: return no hotter than flow while firing", ret.Source)
		} else {
			j.item(Know, ret.Source, fmt.Sprintf("return read hotter than flow in %.0f %% of the firing", 100*ret.reversed.n/ret.reversed.of), "look at the contact of both probes")
		}
	case ret.bus:
		said[flow.Series], said[ret.Series] = true, true
		j.item(Soon, ret.Source, "the appliance's own return reads hotter than its flow while firing", "its two sensors may be swapped or one of them wrong: work inside the casing is for registered people")
	case ret.cross.judged() && !ret.cross.mostly(): // the appliance's own pair says that they are not crossed
		said[flow.Series] = true
		j.item(Now, flow.String(), "reads below the return while firing, and the return agrees with the appliance's own", "the flow probe has poor contact: strap it on bare metal and insulate it")
	default:
		said[flow.Series], said[ret.Series] = true, true
		what := fmt.Sprintf("flow and return look swapped: return was hotter in %.0f %% of the firing", 100*ret.reversed.n/ret.reversed.of)
		how := "follow the pipes; exchange the two in the job sheet (recorded data can be read with --job)"
		if ret.cross.mostly() {
			what += ", and each agrees with the appliance's other pipe"
		} else {
			how += "; if they are right, the flow probe is off its pipe"
		}
		j.item(Now, ret.Source, what, how)
		return true
	}
	return false
}

// slow is how far apart the readings of a pair usually are.
func (j *judge) slow(flow, ret *sensor) (longest time.Duration) {
	for _, s := range []*sensor{flow, ret} {
		if c := j.coverage(s.Series); c != nil {
			longest = max(longest, c.Interval)
		}
	}
	return longest
}
