package opentherm

import (
	"errors"
	"fmt"
	"regexp"
	"time"

	"tundish/capture"
	"tundish/decode"
)

// ReplyLimit is how old a request may be and still be answered. The specification has the reply begin 20–800 ms
// after the request (4.3.1); slow adapters and logs with times in whole seconds need more. Own proposal.
const ReplyLimit = 5 * time.Second

// Config is what a [Decoder] needs to know of its source.
type Config struct {
	// Source is the source's name in the job sheet; the readings' series carry it.
	Source string
	// Pattern says where a line holds the frame, see [CompilePattern]; empty: by the rule of [FindFrame].
	Pattern string
	// HotWater is what data id 26 is of: [decode.Cylinder] or [decode.HotWater]. Zero: HotWater.
	HotWater decode.Point
}

// Decoder follows the conversation on one bus and gives its readings. It belongs to one goroutine.
//
// A record is one whole line of the adapter. The slave's values count when its Read-Ack answers the request before
// it; the master's when the slave has answered its Write-Data, see the package's table of points. A request waits
// for its reply until the master speaks again, [ReplyLimit] has passed or the source was lost. As long as no request
// has been seen at all, as with an adapter that hears the slave only, replies stand alone and are doubtful.
//
// Frames with odd parity or the reserved type come back as [*decode.Error]; they never give readings.
type Decoder struct {
	source  string
	pattern *regexp.Regexp
	rules   *[256]idRules

	pending pending
	refused *decode.Error // the last value of the line under way that its point cannot have
	heard   bool          // a request was seen
	n       counts
	noPoint [256]uint64 // answers with a value of which there is no point, by data id
	asked   [256]uint64 // requests, by data id
	given   [256]uint64 // of them acknowledged
}

// pending is the request that waits for its reply.
type pending struct {
	live  bool
	frame Frame
	stamp
	run uint32
	at  time.Duration
}

// stamp is what a reading takes over from its record.
type stamp struct {
	seq  uint64
	time time.Time
}

// New makes a decoder at the beginning of a stream.
func New(c Config) (*Decoder, error) {
	if c.Source == "" {
		return nil, errors.New("opentherm: the source has no name")
	}
	switch c.HotWater {
	case decode.NoPoint:
		c.HotWater = decode.HotWater
	case decode.Cylinder, decode.HotWater:
	default:
		return nil, fmt.Errorf("opentherm source %q: hot water cannot be %q; it is cylinder or hot-water", c.Source, c.HotWater)
	}
	pattern, err := CompilePattern(c.Pattern)
	if err != nil {
		return nil, fmt.Errorf("opentherm source %q: %w", c.Source, err)
	}
	return &Decoder{source: c.Source, pattern: pattern, rules: rulesOf(c.HotWater)}, nil
}

// Decode takes one line. A line without a frame is no error; it is counted.
func (d *Decoder) Decode(rec capture.Record, emit func(decode.Reading)) error {
	if rec.Note != "" {
		d.n.notes++
		d.Flush(emit)
		return nil
	}
	d.n.lines++
	at := locate(rec.Payload, d.pattern)
	if at < 0 {
		d.n.frameless++
		return nil
	}
	f, _ := digits(rec.Payload[at : at+FrameDigits])
	return d.take(f, at, &rec, emit)
}

// take takes a frame that ended with a record, at an offset of its payload: the one way from frames to readings, whether
// an adapter printed the frame or its edges.
func (d *Decoder) take(f Frame, at int, rec *capture.Record, emit func(decode.Reading)) error {
	d.n.frames++
	d.refused = nil
	switch {
	case !f.EvenParity():
		d.n.oddParity++
		return &decode.Error{Offset: at, Rule: ruleParity, Err: ErrOddParity}
	case f.Type() == ReservedType:
		d.n.reserved++
		return &decode.Error{Offset: at, Rule: ruleType, Err: ErrReservedType}
	case f.FromMaster():
		d.request(f, rec, emit)
	default:
		d.reply(f, rec, emit)
	}
	if d.refused != nil {
		return d.refused
	}
	return nil
}

// Flush ends the pending request as if the master had gone on: a value that it wrote and that nobody confirmed is
// given as doubtful. For the end of a stream; the decoder stays usable.
func (d *Decoder) Flush(emit func(decode.Reading)) {
	p := &d.pending
	if !p.live {
		return
	}
	p.live = false
	d.n.unanswered++
	if r := &d.rules[p.frame.ID()]; p.frame.Type() == WriteData && r.origin != byAnswer {
		d.values(r, p.frame.Word(), p.stamp, unconfirmed, emit)
	}
}

// request takes a frame of the master.
func (d *Decoder) request(f Frame, rec *capture.Record, emit func(decode.Reading)) {
	d.Flush(emit)
	d.n.requests++
	d.asked[f.ID()]++
	d.heard = true
	s := stamp{rec.Seq, rec.Time}
	d.pending = pending{live: true, frame: f, stamp: s, run: rec.Run, at: rec.At}
	switch {
	case f.ID() == 0 && f.Type() == ReadData:
		// The demand is the master's own word: it holds whether or not the boiler answers.
		d.bit(decode.HeatDemand, f.HB(), 0, s, sure, emit)
	case f.ID() == 4 && f.Type() == WriteData:
		d.command(f, s, sure, emit)
	}
}

// reply takes a frame of the slave.
func (d *Decoder) reply(f Frame, rec *capture.Record, emit func(decode.Reading)) {
	switch f.Type() {
	case DataInvalid:
		d.n.invalid++
	case UnknownDataID:
		d.n.unknownID++
	}
	s := stamp{rec.Seq, rec.Time}
	if !d.heard {
		d.n.alone++
		d.standalone(f, s, emit)
		return
	}
	if d.pending.live && d.pending.tooOld(rec) {
		d.Flush(emit)
	}
	p := d.pending
	if !p.live || f.ID() != p.frame.ID() || f.Type() == WriteAck && p.frame.Type() == ReadData {
		d.n.orphans++
		return
	}
	d.pending.live = false
	d.n.paired++
	d.answered(p, f, s, emit)
}

// tooOld tells whether rec comes too late to answer. The monotonic clock is asked where there is one, as wall time
// may be stepped between request and reply.
func (p *pending) tooOld(rec *capture.Record) bool {
	if rec.Run != p.run {
		return true
	}
	age := rec.Time.Sub(p.time)
	if rec.At != 0 || p.at != 0 {
		age = rec.At - p.at
	}
	return age > ReplyLimit
}

// answered takes the reply f to request p.
func (d *Decoder) answered(p pending, f Frame, s stamp, emit func(decode.Reading)) {
	r := &d.rules[f.ID()]
	wrote := p.frame.Type() == WriteData
	if f.Type() == ReadAck || f.Type() == WriteAck {
		d.given[f.ID()]++
	}
	switch f.Type() {
	case ReadAck:
		kind := sure
		if p.frame.Type() != ReadData {
			kind = crossed
		}
		d.answer(r, f, s, kind, emit)
	case WriteAck:
		switch {
		case !wrote:
		case r.origin == byMaster:
			d.values(r, p.frame.Word(), p.stamp, sure, emit)
		case r.origin == bySetpoint && f.Word() == 0 && p.frame.Word() != 0:
			d.values(r, 0, s, zeroed, emit)
		case r.origin == bySetpoint:
			d.values(r, f.Word(), s, sure, emit)
		case r.n == 0 && f.ID() != 4:
			d.noPoint[f.ID()]++
		}
	default: // Data-Invalid, Unknown-DataId: the slave's side has no value
		switch {
		case wrote && r.origin == byMaster:
			d.values(r, p.frame.Word(), p.stamp, sure, emit)
		case wrote && r.origin == bySetpoint:
			d.n.refused++
		}
	}
}

// standalone takes a reply of a stream in which no request has been seen yet.
func (d *Decoder) standalone(f Frame, s stamp, emit func(decode.Reading)) {
	r := &d.rules[f.ID()]
	switch {
	case f.Type() == ReadAck:
		if f.ID() == 0 {
			d.bit(decode.HeatDemand, f.HB(), 0, s, alone, emit)
		}
		d.answer(r, f, s, alone, emit)
	case f.Type() == WriteAck && f.ID() == 4:
		d.command(f, s, alone, emit)
	case f.Type() == WriteAck && r.origin != byAnswer:
		d.values(r, f.Word(), s, alone, emit)
	}
}

// answer takes a Read-Ack that counts.
func (d *Decoder) answer(r *idRules, f Frame, s stamp, kind doubtKind, emit func(decode.Reading)) {
	switch {
	case f.ID() == 0:
		d.bit(decode.Fault, f.LB(), 0, s, kind, emit)
		d.bit(decode.HeatActive, f.LB(), 1, s, kind, emit)
		d.bit(decode.HotWaterActive, f.LB(), 2, s, kind, emit)
		d.bit(decode.Flame, f.LB(), 3, s, kind, emit)
	case r.n == 0:
		d.noPoint[f.ID()]++
	default:
		d.values(r, f.Word(), s, kind, emit)
	}
}

// commandReset is the code of data id 4 that asks for a lockout reset (5.3.3).
const commandReset = 1

func (d *Decoder) command(f Frame, s stamp, kind doubtKind, emit func(decode.Reading)) {
	if f.HB() == commandReset {
		d.bit(decode.ResetRequest, 1, 0, s, kind, emit)
	}
}

// bit emits one bit of a status byte.
func (d *Decoder) bit(p decode.Point, b uint8, at uint, s stamp, kind doubtKind, emit func(decode.Reading)) {
	d.send(p, float64(b>>at&1), doubtWords[kind], s, emit)
}

// values emits what a data id gives; a value that its point cannot have is counted instead.
func (d *Decoder) values(r *idRules, word uint16, s stamp, kind doubtKind, emit func(decode.Reading)) {
	for i := range r.n {
		u := &r.rules[i]
		raw := u.part.raw(word)
		if u.zeroUnset && (raw == 0 || HB.raw(word) == 0) {
			d.n.unstated++
			continue
		}
		v := number(u.kind, raw)
		if !u.point.Holds(v) {
			d.n.impossible++
			d.refused = &decode.Error{Series: decode.Series{Source: d.source, Point: u.point}, Fault: decode.Impossible, Value: v,
				Rule: u.point.String(), Err: ErrImpossible}
			continue
		}
		why := u.within[kind]
		if u.low != u.high && (v < u.low || v > u.high) {
			why = u.outside[kind]
		}
		d.send(u.point, v, why, s, emit)
	}
}

func (d *Decoder) send(p decode.Point, v float64, why string, s stamp, emit func(decode.Reading)) {
	q := decode.Good
	if why != "" {
		q = decode.Doubtful
	}
	emit(decode.Reading{Seq: s.seq, Time: s.time, Series: decode.Series{Source: d.source, Point: p},
		Value: v, Quality: q, Why: why})
}
