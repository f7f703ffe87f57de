package fit

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// sources judges what the sources deliver.
func (j *judge) sources() {
	for _, s := range j.Sources {
		if s.Records == 0 {
			j.item(Now, s.Name, "nothing came from it", "look at plug, cable and port, and run this again")
			continue
		}
		for _, e := range s.Expected {
			if j.coverage(e) == nil {
				j.item(Now, e.String(), strings.TrimSpace("gave no reading "+s.Names[e.String()]), "look at its lead and at its number in the job sheet")
			}
		}
		if s.Bus {
			j.bus(s)
		}
	}
	for _, c := range j.Result.Coverage {
		if c.Readings > leastRequests && float64(c.Doubtful) > doubtfulShare*float64(c.Readings) {
			j.item(Soon, c.Series.String(), fmt.Sprintf("%.0f %% of its readings are doubtful", 100*float64(c.Doubtful)/float64(c.Readings)), "tundish export names the reason beside each reading")
		}
	}
	for _, c := range j.Result.Coverage {
		if c.Series.Point == decode.Outside && c.Readings > leastRequests && c.Min == c.Max && j.length() >= fullDay {
			j.item(Soon, c.Series.String(), fmt.Sprintf("gave %.4g °C without any change for the whole record; weather moves more", c.Min), "it may be a stand-in value of the controller or a sensor that is stuck: hang a probe outside")
		}
	}
	if _, has := j.best([]decode.Point{decode.Outside}); !has && !j.Result.From.IsZero() {
		j.item(Soon, "outside", "no outside temperature"+j.refused([]decode.Point{decode.Outside}),
			"hang a probe outside, in the shade, away from flue, vents and windows: without it output and pressure cannot be held against the weather")
	}
}

// bus judges the traffic of one bus.
func (j *judge) bus(s Source) {
	n := s.Tally
	part := func(a, b uint64) float64 { return float64(a) / max(1, float64(b)) }
	switch frames, requests := n["frames"], n["requests"]; {
	case n["lines"] >= leastRequests && part(n["lines without a frame"], n["lines"]) > framelessShare:
		j.item(Now, s.Name, fmt.Sprintf("%.0f %% of its lines hold no frame", 100*part(n["lines without a frame"], n["lines"])),
			"compare baud and pattern in the job sheet with the adapter's papers")
		return
	case n["lines"] >= leastRequests && part(n["lines that are no level change"], n["lines"]) > framelessShare:
		j.item(Now, s.Name, fmt.Sprintf("%.0f %% of its lines are no level change", 100*part(n["lines that are no level change"], n["lines"])),
			"compare baud and pattern in the job sheet with the adapter's papers")
		return
	case frames == 0 && n["level changes"] >= leastChanges:
		j.item(Now, s.Name, "no frame comes of its level changes", "compare time in the job sheet with what the adapter's papers say that its numbers count; a line where controller and appliance do not speak OpenTherm gives none either")
		return
	case frames >= leastRequests && requests == 0:
		j.item(Soon, s.Name, "only the appliance's side of the bus is heard, so that its values stay doubtful", "see whether the adapter has a second channel or a setting for the controller's side")
		return
	case requests >= leastRequests && n["replies paired"] == 0:
		j.item(Now, s.Name, "only the controller's side of the bus is heard: no value of the appliance can be read", "see whether the adapter has a second channel or a setting for the appliance's side, and whether the appliance has mains")
		return
	case requests == 0 && frames == 0:
		if n["cells"] == 0 {
			j.early("%s: no frame was heard yet", s.Name)
		}
		return
	case frames >= leastRequests && part(n["parity errors"], frames) > parityShare:
		j.item(Soon, s.Name, fmt.Sprintf("%.1f %% of its frames have parity errors", 100*part(n["parity errors"], frames)), "shorten or re-route its lead away from mains cables")
	}
	requests := n["requests"]
	if share := part(n["requests unanswered"], requests); requests < leastRequests {
		j.early("%s: fewer than %d requests were heard", s.Name, leastRequests)
	} else if share > unansweredShare {
		j.item(Soon, s.Name, fmt.Sprintf("%.0f %% of the controller's requests were not answered", 100*share), "look at the adapter's place on the line; an appliance without mains does not answer either")
	} else {
		j.good("%s: %.1f %% of %d requests answered", s.Name, 100*(1-share), requests)
	}
	var silent []string
	for _, a := range s.Asked {
		if a.Answered == 0 && a.Asked >= askedOften {
			var other bool
			for _, p := range a.Points {
				_, has := j.best([]decode.Point{p})
				other = other || has
			}
			if !other && !slices.Contains(silent, a.Name) {
				silent = append(silent, a.Name)
			}
		}
	}
	if len(silent) > 0 {
		j.item(Know, s.Name, "asked for and never given by the appliance: "+strings.Join(silent, ", "), "what of it is wanted needs a probe or a meter of its own")
	}
}

// sights says where burns cannot be told apart.
func (j *judge) sights() {
	if len(j.Result.Facts.Sights) == 0 {
		if j.length() > 0 {
			j.early("firings: nothing tells them yet; flow and return, or the bus's flame, would")
		}
		return
	}
	last := j.sight()
	switch {
	case last.Basis == "" && j.length() < fullDay:
		j.early("firings cannot be told yet: %s", last.Because)
	case last.Basis == "":
		j.item(Now, "firings", "cannot be told: "+last.Because, "the bus's flame signal, or probes on flow and return read every few seconds, would tell them")
	case last.Shortest > tooSlow && last.Interval <= quickEnough:
		j.item(Soon, "firings", fmt.Sprintf("burns and pauses shorter than %s can be missed (%s: %s)", analyse.Span(last.Shortest), last.Source, last.Because),
			"the flame from the bus would tell them; probes better in touch with their pipes may")
	case last.Shortest > tooSlow:
		j.item(Now, "firings", fmt.Sprintf("burns and pauses shorter than %s can be missed (%s read every %s)", analyse.Span(last.Shortest), last.Source, analyse.Span(last.Interval)),
			"read it more often: every 10 s shows short cycling; or take the flame from the bus")
	default:
		j.good("firings are told by %s, down to %s", last.Source, analyse.Span(last.Shortest))
	}
}

// sight is the best that firings were told by over a fair part of the record: where the bus dies with its mains, what
// stands in for it meanwhile says nothing of the set-up. Else it is the last.
func (j *judge) sight() episode.Sight {
	all := j.Result.Facts.Sights
	best, total := all[len(all)-1], map[string]time.Duration{}
	for _, x := range all {
		of := string(x.Basis) + x.Source
		total[of] += x.Duration()
		if x.Basis != "" && total[of] >= j.length()/fairPart && (best.Basis == "" || x.Shortest < best.Shortest) {
			best = x
		}
	}
	return best
}

func (j *judge) clock() {
	switch {
	case !j.Clock.Live:
	case !j.Clock.Synced:
		j.item(Now, "clock", "was never seen synchronised: times are as right as this machine's clock", "set it by a network, a telephone or a clock module before you leave; a box without a battery loses it with the mains")
	default:
		j.good("clock synchronised")
	}
	if j.Clock.Steps > 0 {
		j.item(Know, "clock", "was set "+analyse.Times(j.Clock.Steps), "")
	}
}

func (j *judge) disk() {
	d := j.Disk
	switch {
	case !j.Clock.Live:
		return
	case d.Recorded < leastRate:
		j.early("disk: how long the room lasts is known after %s", analyse.Span(leastRate))
		return
	case !d.Free.Known || d.Size <= 0:
		j.item(Know, "disk", "how much room is left is not known", "look at it by hand")
		return
	}
	days := float64(d.Free.Value) / (float64(d.Size) / (d.Recorded.Hours() / 24))
	j.out.DaysLeft = analyse.Some(days)
	what := fmt.Sprintf("room for %.0f more days at the present rate", days)
	switch {
	case days < soonFull:
		j.item(Now, "disk", what, "make room or use a larger card: the logger stops when it is full")
	case days < fullLater:
		j.item(Know, "disk", what, "")
	default:
		j.good("disk: %s", what)
	}
}
