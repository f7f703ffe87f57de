package payload

import (
	"bytes"
	"slices"
	"strings"
	"time"

	"tundish/capture"
)

// message is one message and what is known of its age.
type message struct {
	seq    uint64
	came   time.Time
	text   []byte
	start  int // of text in the record's payload
	mark   string
	waited time.Duration // at the most, where it waited
}

// at gives what stands at a path, and where it went wrong.
func (m *message) at(p Path) ([]byte, int, error) {
	if len(p.steps) == 0 {
		return m.text, 0, nil
	}
	return find(m.text, p)
}

// dated gives the time of a reading, and why it is doubtful; ok is false where the time is not known.
func (d *Decoder) dated(m *message, v *Value) (t time.Time, why string, ok bool) {
	came := m.came
	missing := ""
	if v.Time != nil {
		sent, err := m.sent(v)
		switch {
		case err != nil:
			d.n.undated++
			missing = "the sender's time is missing or cannot be read"
		case sent.After(came.Add(AheadMost)):
			d.n.ahead++
			missing = "the sender's clock is ahead of the logger's"
		case sent.After(came):
			return came, "", true
		default:
			switch late := came.Sub(sent); {
			case late > LateMost:
				d.n.tooLate++
			case late > AtOnce:
				d.n.late++
			}
			return sent, "", true
		}
	}
	switch {
	case m.mark == "":
		return came, missing, true
	case v.OnChange: // whenever it changed, this is what it says now
		return came, "the broker had kept it: what it said last, and since when is not known", true
	case m.mark != capture.Retained && m.waited <= WaitedMost:
		return came, "waited at the broker for up to a minute", true
	}
	if m.mark == capture.Retained {
		d.n.retained++
	} else {
		d.n.waited++
	}
	return came, "", false
}

// sent is the sender's time.
func (m *message) sent(v *Value) (time.Time, error) {
	text, _, err := m.at(*v.Time)
	if err != nil {
		return time.Time{}, err
	}
	text, plain := scalar(text)
	if !plain {
		return time.Time{}, ErrTime
	}
	return v.TimeUnit.when(text)
}

// known tells whether a message is among those that came last.
func (d *Decoder) known(sum uint64) bool { return slices.Contains(d.latest[:], sum) }

// keep puts a message among those that came last.
func (d *Decoder) keep(sum uint64) {
	d.latest[d.place] = sum
	d.place = (d.place + 1) % rememberMost
}

// digest tells messages apart: FNV-1a of topic and message, never 0, which is an empty place.
func digest(topic string, text []byte) uint64 {
	const offset, prime = 14695981039346656037, 1099511628211
	sum := uint64(offset)
	for i := range len(topic) {
		sum = (sum ^ uint64(topic[i])) * prime
	}
	sum = (sum ^ '#') * prime
	for _, c := range text {
		sum = (sum ^ uint64(c)) * prime
	}
	return max(sum, 1)
}

// split gives the topic that a line of a file begins with.
func split(line []byte) ([]byte, bool) {
	end := bytes.IndexAny(line, " \t\r\n")
	return line[:max(end, 0)], end > 0
}

// unmark parts a channel into topic and mark. With a mark that is none of ours the channel is no topic.
func unmark(channel string) (topic, mark string) {
	for _, mark := range [...]string{capture.Retained, capture.Waited, capture.Resent} {
		if topic, ok := strings.CutSuffix(channel, mark); ok {
			return topic, mark
		}
	}
	return channel, ""
}
