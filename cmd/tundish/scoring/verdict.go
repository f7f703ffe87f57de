package scoring

import (
	"strings"

	"tundish/analyse"
	"tundish/cmd/tundish/cases"
)

// verdict is what one answer is worth against its label.
type verdict uint8

const (
	hit         verdict = iota // there, and found
	missedClear                // there, and said to be clear
	missedOpen                 // there and to be seen, and said to be not assessable
	falseAlarm                 // not there, and found
	rightClear                 // not there, and clear
	rightOpen                  // not there, and said to be not assessable
	unseenFound                // there, found without the points that would show it
	unseenOpen                 // cannot be seen, and said so
	unseenClear                // cannot be seen, and called clear
	spared                     // cannot be seen because it cannot be there, and the answer says that it does not apply
	arguedFound                // two engineers may differ: found,
	arguedClear                // clear,
	arguedOpen                 // not assessable
)

// wrong tells that an answer is a mistake.
func (v verdict) wrong() bool {
	switch v {
	case missedClear, missedOpen, falseAlarm, unseenClear:
		return true
	}
	return false
}

// spareWords begin the because of a check that does not apply to the plant (package analyse).
const spareWords = "does not apply"

// judge weighs an answer. What the capture does not hold can only be said to be not assessable: clear is wrong there
// even where it happens to be true, unless the kind cannot be at such a plant.
func judge(l cases.Label, k analyse.Checked) verdict {
	if !l.Visible {
		switch {
		case k.Outcome == analyse.NotAssessable:
			return unseenOpen
		case k.Outcome == analyse.Found && l.Verdict == cases.Absent:
			return falseAlarm
		case k.Outcome == analyse.Found:
			return unseenFound
		case l.Verdict == cases.Absent && strings.HasPrefix(k.Because, spareWords):
			return spared
		}
		return unseenClear
	}
	switch l.Verdict {
	case cases.Arguable:
		return pick(k.Outcome, arguedFound, arguedClear, arguedOpen)
	case cases.Present:
		return pick(k.Outcome, hit, missedClear, missedOpen)
	}
	return pick(k.Outcome, falseAlarm, rightClear, rightOpen)
}

func pick(o analyse.Outcome, found, clear, open verdict) verdict {
	switch o {
	case analyse.Found:
		return found
	case analyse.Clear:
		return clear
	}
	return open
}

func (t *Told) verdict() verdict { return judge(t.Label, t.Checked) }

// wanted says what the answer should have been.
func (t *Told) wanted() string {
	switch {
	case !t.Label.Visible:
		return analyse.NotAssessable.String()
	case t.Label.Verdict == cases.Present:
		return analyse.Found.String()
	case t.Label.Verdict == cases.Absent:
		return analyse.Clear.String()
	}
	return "arguable"
}
