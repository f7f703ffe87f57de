package ignition

import (
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// retryWithin is how soon a burner control repeats a failed attempt: after a pause and a purge. Own proposal: less than
// the anti-cycle waits that follow a stop by control, 3 to 5 min (common practice, no source).
const retryWithin = 2 * time.Minute

// setAside are brief flames that are not counted as failed attempts.
type setAside struct {
	uncounted int // the next flame came too late for a retry, and the appliance's own count did not rise
	slow      int // the next flame came too late for a retry, and the count was not there or rose with others
}

// sift sets aside the flames that control may have put out, as where no water moves: those after which the next flame was
// a long time coming. A count that stands says by itself little: some appliances count flames that go out elsewhere.
func sift(f *episode.Facts) (list []episode.Attempt, out setAside) {
	next := 0
	for i, a := range f.Attempts {
		for next < len(f.Firings) && !f.Firings[next].From.After(a.At) {
			next++
		}
		var after time.Time // the next flame or attempt
		if next < len(f.Firings) {
			after = f.Firings[next].From
		}
		if i+1 < len(f.Attempts) && f.Attempts[i+1].At.After(a.At) && (after.IsZero() || f.Attempts[i+1].At.Before(after)) {
			after = f.Attempts[i+1].At
		}
		switch late := !after.IsZero() && after.Sub(a.At) > retryWithin; {
		case a.Flame == 0 || a.Then == episode.ThenLockout || !late:
			list = append(list, a)
		case a.Uncounted:
			out.uncounted++
		default:
			out.slow++
		}
	}
	return list, out
}

func (s setAside) tell(p *analyse.Pass) {
	if s.uncounted > 0 {
		p.RuledOut("flames that control put out", "%s went out within seconds, the next came more than %s later, and the appliance's own count of failed starts did not rise", analyse.Count(s.uncounted, "flame"), analyse.Span(retryWithin))
	}
	if s.slow > 0 {
		p.LeftOpen("flames that control put out", "%s went out within seconds, and the next came more than %s later, as after a stop by control", analyse.Count(s.slow, "flame"), analyse.Span(retryWithin))
	}
}
