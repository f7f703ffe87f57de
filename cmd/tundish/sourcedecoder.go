package main

import (
	"strings"

	"tundish/capture"
	"tundish/capture/readingscsv"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
	"tundish/decode/light"
	"tundish/decode/readings"
)

// sourceDecoder decodes the records of one source, whichever way they came: as its adapter gives them, or as values
// from a file, which can stand in for any source.
type sourceDecoder struct {
	own    decode.Decoder // nil: a kind that this version cannot decode
	values *readings.Decoder
	paired map[decode.Point]jobsheet.Mapping // offsets of sensors that no probe's mapping has
	raw    bool                              // the record under way is as a device gave it, and nobody has corrected it
	light  *light.Interpreter                // of the source's indicator light, if it gives one
	emit   func(decode.Reading)              // of the record under way
	with   func(decode.Reading)              // take, made once: nothing is made anew for each record
}

// newSourceDecoder makes the decoder of a source; plant is the sheet that says what the plant is.
func newSourceDecoder(s *jobsheet.Source, plant *jobsheet.Sheet) (*sourceDecoder, error) {
	values, err := readings.New(readings.Config{Source: s.Name, Columns: columns(s)})
	if err != nil {
		return nil, err
	}
	d := &sourceDecoder{values: values, paired: s.Paired}
	d.with = d.take
	if d.light, err = light.NewInterpreter(s.Name, plant.Light); err != nil {
		return nil, err
	}
	if k := kindOf(s); k.decode != nil {
		if d.own, err = k.decode(s, plant); err != nil {
			return nil, err
		}
	}
	return d, nil
}

func (d *sourceDecoder) Decode(rec capture.Record, emit func(decode.Reading)) error {
	d.emit, d.raw = emit, !strings.HasPrefix(rec.Channel, readingscsv.ChannelPrefix)
	switch {
	case readings.IsReadings(rec.Channel):
		return d.values.Decode(rec, d.with)
	case d.own != nil:
		return d.own.Decode(rec, d.with)
	}
	return nil
}

// take passes a reading on, and after one of a light what the light says by then.
func (d *sourceDecoder) take(r decode.Reading) {
	if m, ok := d.paired[r.Series.Point]; ok && d.raw {
		r = corrected(r, float64(m.Offset))
	}
	d.emit(r)
	if r.Series.Point == decode.Light {
		d.light.Take(r, d.emit)
	}
}

// corrected adds the offset of a comparison in the same water.
func corrected(r decode.Reading, offsetK float64) decode.Reading {
	if v := r.Value + offsetK; r.Series.Point.Holds(v) {
		r.Value = v
		return r
	}
	r.Quality, r.Why = decode.Doubtful, "with its offset it would be a temperature that cannot be"
	return r
}

// DecodeNamed is Decode that gives also what has no point; named may be nil.
func (d *sourceDecoder) DecodeNamed(rec capture.Record, emit func(decode.Reading), named func(decode.Named)) error {
	if n, ok := d.own.(decode.Namer); ok && named != nil && !readings.IsReadings(rec.Channel) {
		d.emit, d.raw = emit, true
		return n.DecodeNamed(rec, d.with, named)
	}
	return d.Decode(rec, emit)
}

// Tally gives what was counted by the ways that were used.
func (d *sourceDecoder) Tally() []decode.Count {
	var out []decode.Count
	if t, ok := d.own.(decode.Tallier); ok {
		out = append(out, t.Tally()...)
	}
	return append(out, d.values.Tally()...)
}

// flush gives what a decoder still holds back at the end of the record.
func (d *sourceDecoder) flush(emit func(decode.Reading)) {
	if f, ok := d.own.(interface{ Flush(func(decode.Reading)) }); ok {
		f.Flush(emit)
	}
	d.light.Flush(emit)
}
