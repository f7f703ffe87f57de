package payload

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/unit"
)

const (
	// WaitedMost is the longest time away after which a message that waited at the broker still gives a reading, a
	// doubtful one. Own proposal: water at a boiler changes by some kelvin in it, and a firing is not misplaced by more.
	WaitedMost = time.Minute
	// AheadMost is how far a sender's clock may be ahead of the logger's and still be right. Own proposal: both are
	// set over a network.
	AheadMost = 2 * time.Second
	// AtOnce is how long after it was sent a message may come and its reading still be taken as it comes, among what
	// other sources gave. Own proposal. A later one has its place by the sender's time, which whoever needs readings in
	// order of time must find for it.
	AtOnce = time.Minute
	// LateMost is how long after it was sent a message may come and its reading still be placed among those of its time.
	// Own proposal: a broker that was not reached over a week of holidays. A later one gives its reading at the sender's
	// time all the same, for whoever does not need the order.
	LateMost = 7 * 24 * time.Hour
	// rememberMost is how many of the latest messages are remembered, so that one that is sent again is known. Own
	// proposal: more than a broker sends ahead of its receipts.
	rememberMost = 256
)

// Value says where a value stands and what it is of.
type Value struct {
	Topic string // the whole topic, no wildcards
	Path  Path   // into JSON; zero: the message is the value
	Point decode.Point
	// The number in the message becomes number × Scale + Offset, and then To of that. Scale 0 is 1, the zero To changes
	// nothing.
	Scale, Offset float64
	To            unit.Scale
	Invert        bool // what is sent as 1 is 0: a contact that opens for a call
	// OnChange: it is told when it changes, so that the last word is what holds, however old.
	OnChange bool
	On, Off  []string // words for 1 and 0, in any case; both empty: on, true, 1 and off, false, 0
	Time     *Path    // of the sender's time, nil: none
	TimeUnit TimeUnit

	words bool // On and Off were named
}

// Config is what a [Decoder] needs to know of its source.
type Config struct {
	Source string // name in the job sheet; the readings' series carry it
	Values []Value
}

// Decoder turns messages into readings. It belongs to one goroutine.
type Decoder struct {
	source string
	topics map[string][]Value
	n      counts

	latest [rememberMost]uint64 // a ring of the latest messages, by topic and payload
	place  int
	awake  bool      // the last record was a message
	alive  time.Time // when the source was last known to be connected
}

// New makes a decoder. The error names a value that makes no sense.
func New(c Config) (*Decoder, error) {
	if c.Source == "" {
		return nil, errors.New("messages: the source has no name")
	}
	d := &Decoder{source: c.Source, topics: map[string][]Value{}}
	taken := map[decode.Point]string{}
	for _, v := range c.Values {
		if other, twice := taken[v.Point]; twice {
			return nil, fmt.Errorf("messages: %q comes from topic %s already: one source gives a point once", v.Point, other)
		}
		taken[v.Point] = v.Topic
		if v.Point == decode.NoPoint || v.Topic == "" || strings.ContainsAny(v.Topic, "+#") {
			return nil, fmt.Errorf("messages: topic %q, point %q: a point is of one topic, without wildcards", v.Topic, v.Point)
		}
		if v.Scale == 0 {
			v.Scale = 1
		}
		if v.To == (unit.Scale{}) {
			v.To.Factor = 1
		}
		v.words = len(v.On)+len(v.Off) > 0
		if !v.words {
			v.On, v.Off = onWords, offWords
		}
		d.topics[v.Topic] = append(d.topics[v.Topic], v)
	}
	return d, nil
}

// Decode takes one message.
func (d *Decoder) Decode(rec capture.Record, emit func(decode.Reading)) error {
	if rec.Note != "" {
		if d.awake { // the first word of an outage: until here the source was connected
			d.awake, d.alive = false, rec.Time
		}
		d.n.notes++
		return nil
	}
	d.n.messages++
	topic, text, start := rec.Channel, rec.Payload, 0
	if topic == "" {
		line, ok := split(rec.Payload)
		if !ok {
			d.n.lines++
			return &decode.Error{Rule: "a line is a topic, white space and the message"}
		}
		topic, text, start = string(line), rec.Payload[len(line):], len(line)
	}
	topic, mark := unmark(topic)
	waited := rec.Time.Sub(d.alive)
	if mark == "" {
		d.alive = rec.Time
	}
	d.awake = true
	values := d.topics[topic]
	text, from := trim(text)
	switch {
	case len(values) == 0:
		d.n.noPoint++
		return nil
	case len(text) == 0:
		d.n.empty++
		return nil
	}
	if mark != capture.Retained { // which would be known to a message of the same words that was never taken
		sum := digest(topic, text)
		if mark == capture.Resent && d.known(sum) {
			d.n.again++
			return nil
		}
		d.keep(sum)
	}
	m := message{seq: rec.Seq, came: rec.Time, text: text, start: start + from, mark: mark, waited: waited}
	var errs error
	for i := range values {
		if err := d.one(&m, &values[i], emit); err != nil {
			errs = join(errs, err)
		}
	}
	return errs
}

// one takes one value out of a message.
func (d *Decoder) one(m *message, v *Value, emit func(decode.Reading)) error {
	series := decode.Series{Source: d.source, Point: v.Point}
	text, at, err := m.at(v.Path)
	if err != nil {
		return d.failed(m, v, at, err)
	}
	if len(v.Path.steps) > 0 || len(text) > 1 && text[0] == '"' && text[len(text)-1] == '"' {
		var plain bool
		if text, plain = scalar(text); !plain {
			d.n.values++
			return &decode.Error{Series: series, Fault: decode.NoAnswer, Offset: m.start, Rule: rule(v), Err: ErrNumber}
		}
	}
	x, err := v.of(text)
	if err != nil {
		e := &decode.Error{Series: series, Fault: fault(err), Offset: m.start, Rule: rule(v), Err: err}
		if e.Fault == decode.Impossible && !math.IsNaN(x) && !math.IsInf(x, 0) {
			d.n.impossible++
			e.Value = x
			return e
		}
		e.Fault = decode.NoAnswer
		d.n.values++
		return e
	}
	t, why, ok := d.dated(m, v)
	if !ok {
		return nil
	}
	r := decode.Reading{Seq: m.seq, Time: t, Series: series, Value: x, Quality: decode.Good, Why: why}
	if why != "" {
		r.Quality = decode.Doubtful
		d.n.doubtful++
	}
	d.n.readings++
	emit(r)
	return nil
}

func (d *Decoder) failed(m *message, v *Value, at int, err error) error {
	if errors.Is(err, ErrNone) {
		d.n.absent++ // a message may leave out what did not change
		return nil
	}
	d.n.broken++
	return &decode.Error{Offset: m.start + at, Rule: rule(v), Err: err}
}

func rule(v *Value) string {
	topic := v.Topic
	if v.Path.text != "" {
		topic += " " + v.Path.text
	}
	return fmt.Sprintf("%s of %s", v.Point, topic)
}

// join keeps the only error as it is.
func join(a, b error) error {
	if a == nil {
		return b
	}
	return errors.Join(a, b)
}
