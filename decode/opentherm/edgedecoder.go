package opentherm

import (
	"errors"
	"fmt"
	"time"

	"tundish/capture"
	"tundish/decode"
)

// TimeBase says what the number in a line counts, in µs.
type TimeBase uint8

// The time bases.
const (
	SinceChange    TimeBase = iota // since the change before it on the same channel
	SinceAnyChange                 // since the change before it on any channel
	Counter                        // of a clock that goes on, and that may begin again after 2³² µs (71.6 min)
)

// TimeBases are the time bases by their names in the job sheet.
func TimeBases() map[string]TimeBase {
	return map[string]TimeBase{"since-change": SinceChange, "since-any-change": SinceAnyChange, "counter": Counter}
}

// EdgeConfig is what an [EdgeDecoder] needs to know of its source.
type EdgeConfig struct {
	Config // Pattern is one of [CompileEdgePattern]
	Time   TimeBase
}

// EdgeDecoder reads the lines of an adapter that tells level changes only, and gives the frames that they make to a
// [Decoder]: from there on they are as if an adapter had printed them. It belongs to one goroutine.
//
// # Lines
//
// A line is one change:
//
//	512            µs; see [TimeBase] for since when
//	512 1    1 512    R512    512 falling    the same with the level: 0 1, R F, H L, or a word, in any case
//	M 512 1    s,0,512                          the same with a channel: any other word of up to 8 letters
//
// Words are parted by spaces, tabs, commas, semicolons, colons and equals signs, or by where letters meet digits at one
// end; the word µs is passed over. Of two bare numbers, the one that is 0 or 1 is the level; where both are, the line is read as
// the last one that could be read in one way only. A line of another form is no change; it is counted. A pattern replaces
// the rule.
//
// # Levels
//
// Master and slave use levels of different kinds, and adapters turn them round; none of it matters here, since an idle
// line is known by its quiet: the change that ends it goes to active. A level only shows where a change was missed, as
// it must alternate. Without levels, two missed changes within one frame can invert what lies between them unseen by
// everything but the parity bit.
//
// # Channels
//
// Both directions on one channel, since they take turns, or a channel each, or a source each: see [EdgeDecoder.Join]. At
// most four are followed; a further name
// takes the place of the one not heard for longest.
//
// # Frames
//
// As OpenTherm Protocol Specification v2.2 has it, 3.4.2 and 3.4.3: see [MidBitLeast]; what is out of time rejects the
// frame, and what is left of it is passed over until the line is quiet. Two changes less than [GlitchBelow] apart do not
// count. A frame has the time of its last change's record.
type EdgeDecoder struct {
	*Decoder
	lines edgeLines
	base  TimeBase

	clock    uint64 // of SinceAnyChange, µs
	channels [4]channel
	heard    uint64 // changes so far
	joined   bool   // the Decoder is another's
	e        edgeCounts
}

// channel is one direction, or both.
type channel struct {
	name channelName
	used uint64        // place of its last change among all, from 1; 0: unused
	at   uint64        // of its last change, µs on the channel's own clock
	raw  uint64        // what the counter said
	run  uint32        // of its last record,
	came time.Duration // its arrival on the run's clock
	time time.Time     // and by wall time
	wire wire
}

type edgeCounts struct {
	lines, unread, changes, glitches, outside uint64
	faults                                    [noStop + 1]uint64
	stray                                     uint64
}

// NewEdges makes a decoder at the beginning of a stream.
func NewEdges(c EdgeConfig) (*EdgeDecoder, error) {
	lines, err := newEdgeLines(c.Pattern)
	if err != nil {
		return nil, fmt.Errorf("opentherm-edges source %q: %w", c.Source, err)
	}
	if c.Time > Counter {
		return nil, errors.New("opentherm-edges: there is no such time base")
	}
	c.Config.Pattern = ""
	d, err := New(c.Config)
	if err != nil {
		return nil, err
	}
	return &EdgeDecoder{Decoder: d, lines: lines, base: c.Time}, nil
}

// Join has the frames go to the decoder of another source, which listens to the other direction of the same bus, so that
// requests and replies find each other. The readings belong to the other source, and it counts the frames. Both belong
// to one goroutine then, and their records must come in order of time.
func (d *EdgeDecoder) Join(other *EdgeDecoder) { d.Decoder, d.joined = other.Decoder, true }

// Asked tells what [Decoder.Asked] does; of a decoder that joined another nothing.
func (d *EdgeDecoder) Asked() []Asked {
	if d.joined {
		return nil
	}
	return d.Decoder.Asked()
}

// Decode takes one line. Whatever is no frame is no error; it is counted. The error of a frame is that of [Decoder.Decode].
func (d *EdgeDecoder) Decode(rec capture.Record, emit func(decode.Reading)) error {
	if rec.Note != "" {
		d.silence()
		return d.Decoder.Decode(rec, emit)
	}
	d.e.lines++
	c, ok := d.lines.read(rec.Payload)
	if !ok {
		d.e.unread++
		return nil
	}
	d.e.changes++
	d.heard++
	e := d.change(d.channel(c.channel), &c, &rec)
	if !e.whole {
		d.count(&e)
		return nil
	}
	return d.take(e.frame, 0, &rec, emit)
}

// change takes a change on its channel.
func (d *EdgeDecoder) change(ch *channel, c *change, rec *capture.Record) wireEvent {
	// Changes that arrive so far apart are not neighbours, whatever the numbers say: a counter may have come round.
	quiet := ch.used == 0 || rec.Run != ch.run || ch.away(rec) > ReplyLimit
	switch d.base {
	case SinceChange:
		ch.at += c.us
	case SinceAnyChange:
		d.clock += c.us
		ch.at = d.clock
	case Counter:
		ch.at += uint64(uint32(c.us - ch.raw))
		ch.raw = c.us
	}
	ch.used, ch.run, ch.came, ch.time = d.heard, rec.Run, rec.At, rec.Time
	return ch.wire.change(ch.at, c.level, quiet)
}

// away is how long after the channel's last line a record arrived, by the clock that cannot be stepped where there is one.
func (ch *channel) away(rec *capture.Record) time.Duration {
	if rec.At != 0 || ch.came != 0 {
		return rec.At - ch.came
	}
	return rec.Time.Sub(ch.time)
}

// channel finds a channel by its name.
func (d *EdgeDecoder) channel(name channelName) *channel {
	oldest := &d.channels[0]
	for i := range d.channels {
		ch := &d.channels[i]
		if ch.used != 0 && ch.name == name {
			return ch
		}
		if ch.used < oldest.used {
			oldest = ch
		}
	}
	if why, bits := oldest.wire.state.end(); why != sound {
		d.fault(why, bits)
	}
	*oldest = channel{name: name}
	return oldest
}

// silence ends what is under way on all channels: lines were lost.
func (d *EdgeDecoder) silence() {
	for i := range d.channels {
		ch := &d.channels[i]
		if why, bits := ch.wire.state.end(); why != sound {
			d.fault(why, bits)
		}
		*ch = channel{}
	}
}
