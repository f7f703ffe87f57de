package modbus

import (
	"errors"
	"fmt"
	"slices"

	"tundish/capture"
	"tundish/decode"
)

// Config is what a [Decoder] needs to know of its source.
type Config struct {
	Source string // name in the job sheet; the readings' series carry it
	Map    []Entry
}

// Decoder turns registers into readings. It belongs to one goroutine.
type Decoder struct {
	source  string
	entries []Entry
	channel string // the one that was read last, and what it says: sources repeat themselves
	place   place
	line    [2 * longest]byte // the registers of a line of text
	n       counts
}

type counts struct{ records, readings, absent, noNumber, impossible, layout, nobody, notes uint64 }

// New makes a decoder. The error names what cannot be in the map.
func New(c Config) (*Decoder, error) {
	if c.Source == "" {
		return nil, errors.New("modbus: the source has no name")
	}
	for i, e := range c.Map {
		if err := e.Check(); err != nil {
			return nil, fmt.Errorf("modbus source %q: %s: %w", c.Source, e.Place(), err)
		}
		for _, other := range c.Map[:i] {
			if err := Conflict(other, e); err != nil {
				return nil, fmt.Errorf("modbus source %q: %w", c.Source, err)
			}
			if other.Point == e.Point {
				return nil, fmt.Errorf("modbus source %q: %s is %q as %s is already", c.Source, e.Place(), e.Point, other.Place())
			}
		}
	}
	return &Decoder{source: c.Source, entries: slices.Clone(c.Map)}, nil
}

// Decode takes one answer.
func (d *Decoder) Decode(rec capture.Record, emit func(decode.Reading)) error {
	if rec.Note != "" {
		d.n.notes++
		return nil
	}
	d.n.records++
	registers := rec.Payload
	known := rec.Channel != "" && rec.Channel == d.channel
	if !known {
		name, ok := rec.Channel, true
		var p place
		if name == "" {
			var channel []byte
			if channel, registers, ok = parseLine(rec.Payload, d.line[:]); ok {
				p, ok = parseChannel(string(channel))
			}
		} else {
			p, ok = parseChannel(name)
		}
		if !ok {
			d.n.layout++
			return &decode.Error{Rule: "which registers these are"}
		}
		d.channel, d.place = rec.Channel, p
	}
	if len(registers) != 2*d.place.count {
		d.n.layout++
		return &decode.Error{Rule: "two bytes a register"}
	}
	return d.registers(&rec, registers, emit)
}

// registers reads every entry that lies in the answer whole.
func (d *Decoder) registers(rec *capture.Record, registers []byte, emit func(decode.Reading)) error {
	var errs []error
	used := false
	for i := range d.entries {
		e := &d.entries[i]
		from := int(e.Address) - d.place.first
		if e.Unit != d.place.unit || e.Table != d.place.table || from < 0 || e.Last() >= d.place.first+d.place.count {
			continue
		}
		used = true
		if err := d.entry(e, registers[2*from:2*(from+e.Type.Words())], rec, emit); err != nil {
			if rec.Channel != "" { // in a line the offset would be of what it means, not of the line
				err.Offset = 2 * from
			}
			errs = append(errs, err)
		}
	}
	if !used {
		d.n.nobody++
	}
	switch len(errs) {
	case 0:
		return nil
	case 1:
		return errs[0]
	}
	return errors.Join(errs...)
}

// entry reads one value.
func (d *Decoder) entry(e *Entry, regs []byte, rec *capture.Record, emit func(decode.Reading)) *decode.Error {
	series := decode.Series{Source: d.source, Point: e.Point}
	raw, absent, err := e.raw(e.bits(regs))
	switch {
	case err != nil:
		d.n.noNumber++
		return &decode.Error{Series: series, Fault: decode.NoAnswer, Rule: e.Place(), Err: err}
	case absent:
		d.n.absent++
		return nil
	}
	v := e.value(raw)
	if !e.Point.Holds(v) {
		d.n.impossible++
		fault := decode.Impossible
		if !finite(v) { // a scale took a double past its end
			v, fault = 0, decode.NoAnswer
		}
		return &decode.Error{Series: series, Fault: fault, Value: v, Rule: e.Place(),
			Err: fmt.Errorf("%s of %v %s: %w", e.Point, v, e.Point.Unit(), ErrImpossible)}
	}
	d.n.readings++
	emit(decode.Reading{Seq: rec.Seq, Time: rec.Time, Series: series, Value: v, Quality: decode.Good})
	return nil
}

// Tally says what was counted so far.
func (d *Decoder) Tally() []decode.Count {
	n := d.n
	return []decode.Count{
		{Name: "answers", N: n.records},
		{Name: "readings", N: n.readings},
		{Name: "registers that say no value", N: n.absent},
		{Name: "registers that hold no number", N: n.noNumber},
		{Name: "values that cannot be", N: n.impossible},
		{Name: "answers not of the layout", N: n.layout},
		{Name: "answers of which the map names nothing", N: n.nobody},
		{Name: "notes passed over", N: n.notes},
	}
}
