package mbus

import (
	"errors"
	"fmt"

	"tundish/capture"
	"tundish/decode"
)

// Decode takes one telegram: the bytes of a frame, or a line of text that has them in hexadecimal.
func (d *Decoder) Decode(rec capture.Record, emit func(decode.Reading)) error {
	return d.DecodeNamed(rec, emit, nil)
}

// DecodeNamed is Decode that gives also what has no point; named may be nil.
func (d *Decoder) DecodeNamed(rec capture.Record, emit func(decode.Reading), named func(decode.Named)) error {
	if rec.Note != "" {
		d.n.notes++
		return nil
	}
	d.n.records++
	b, name, ok := frameOf(rec.Payload, d.line[:])
	if !ok {
		d.n.layout++
		return &decode.Error{Rule: "a frame of the M-Bus, or one in hexadecimal", Err: ErrStart}
	}
	if rec.Channel != "" {
		name = rec.Channel
	}
	d.rec, d.emit, d.named, d.refused, d.why = rec, emit, named, nil, ""
	if d.meter = d.meters[name]; d.meter == nil && name != "" {
		d.n.notYours++
		return nil
	}
	offset, err := d.reader.read(b, d.begin, d.take)
	d.rec, d.emit, d.named = capture.Record{}, nil, nil
	if err = d.finish(&d.reader.t, err); err != nil {
		if &b[0] == &d.line[0] { // of a line the place in the text is not kept
			offset = 0
		}
		return errors.Join(d.refused, &decode.Error{Offset: offset, Rule: "a meter's answer", Err: err})
	}
	return d.refused
}

// finish counts what a frame was, and says whether its error is one.
func (d *Decoder) finish(t *Telegram, err error) error {
	switch {
	case errors.Is(err, ErrNoAnswer):
		if t.Frame.Kind == Ack {
			d.n.acks++
		} else {
			d.n.overheard++
		}
		return nil
	case err == nil:
	case errors.Is(err, ErrApplication):
		d.n.application++
		return err
	case errors.Is(err, ErrCI):
		d.n.otherCI++
		return err
	case t.Frame.Kind == 0:
		d.n.damaged++
		return err
	default:
		d.n.brokenOff++
	}
	if t.Locked {
		d.n.locked++
	}
	if len(t.Maker) > 0 {
		d.n.maker++
	}
	if t.More {
		d.n.more++
	}
	return err
}

// telegram takes the header, ahead of the values.
func (d *Decoder) telegram(t *Telegram) {
	d.n.telegrams++
	d.head = t.Header
	if d.meter == nil {
		d.meter = d.whose(t)
	}
	if d.meter == nil {
		d.n.notYours++
		return
	}
	if t.Header.Status.PowerLow() {
		d.n.powerLow++
	}
	if t.Header.Status.Busy() {
		d.n.busy++
	}
	if d.why = t.Header.Status.Fault(); d.why != "" {
		d.n.faulty++
	} else {
		d.why = t.Doubt
	}
	if m, r := d.meter, &d.rec; r.Sweep == 0 || r.Sweep != m.sweep || r.Run != m.run {
		m.run, m.sweep, m.seen = r.Run, r.Sweep, 0
	}
}

// whose finds the meter of a telegram by the address and number in it.
func (d *Decoder) whose(t *Telegram) *meter {
	for _, m := range d.order {
		if m.Address >= 0 && int(t.Frame.A) == m.Address || m.ID != "" && t.Header.Known && fits(m.ID, t.Header.ID) {
			return m
		}
	}
	return nil
}

// fits compares a number of 8 digits, F for any, with a meter's.
func fits(pattern string, id uint32) bool {
	for i := range min(len(pattern), 8) {
		c := pattern[i]
		if c == 'F' || c == 'f' {
			continue
		}
		if "0123456789ABCDEF"[id>>(28-4*i)&0xF] != c {
			return false
		}
	}
	return len(pattern) == 8
}

// value takes one record.
func (d *Decoder) value(v *Value) {
	if d.meter == nil {
		return
	}
	d.n.values++
	p := decode.NoPoint
	if v.Plain {
		p = d.meter.point(v.Key, d.head)
	}
	if p != decode.NoPoint && d.reading(v, p) {
		return
	}
	switch {
	case v.Lack == BadDigits:
		d.n.digits++
	case v.Lack == Refused:
		d.n.refused++
	case v.Lack == Lowest || v.Lack == NotANumber:
		d.n.none++
	case v.Quantity == NoQuantity:
		d.n.unknown++
	case !v.Plain:
		d.n.qualified++
	case p == decode.NoPoint:
		if _, known := d.unused[v.Key]; known || len(d.unused) < mostUnused {
			d.unused[v.Key]++
		} else {
			d.n.manyUnused++
		}
	}
	if d.named != nil {
		d.told(v)
	}
}

// reading emits a value as a point; false: it cannot be one, and stays a named value.
func (d *Decoder) reading(v *Value, p decode.Point) bool {
	if v.Lack != Present {
		return false
	}
	s, ok := d.to(v.Unit, p)
	if !ok {
		d.n.otherUnit++
		return false
	}
	if d.meter.seen&(1<<p) != 0 {
		d.n.again++
		return false
	}
	x := s.Of(v.Number)
	series := decode.Series{Source: d.source, Point: p}
	if !p.Holds(x) {
		d.n.impossible++
		d.refused = errors.Join(d.refused, &decode.Error{Series: series, Fault: decode.Impossible, Value: x, Rule: p.String(),
			Err: fmt.Errorf("meter %s: %v %s cannot be", d.meter.Name, x, p.Unit())})
		return false
	}
	d.meter.seen |= 1 << p
	q := decode.Good
	if d.why != "" {
		q = decode.Doubtful
		d.n.doubtful++
	}
	d.n.readings++
	d.emit(decode.Reading{Seq: d.rec.Seq, Time: d.rec.Time, Series: series, Value: x, Quality: q, Why: d.why})
	return true
}

// told gives a value under the meter's own terms.
func (d *Decoder) told(v *Value) {
	n := decode.Named{Seq: d.rec.Seq, Time: d.rec.Time, Source: d.source, Name: v.Name(), Unit: v.UnitText(), Quality: decode.Good}
	if len(d.order) > 1 {
		n.Channel = d.meter.Name
	}
	if n.Value = v.Number; v.Lack != Present {
		n.Text, n.Unit = v.Text(), ""
		if v.Lack != NoData {
			n.Text = v.Lack.String() + " (" + n.Text + ")"
		}
	}
	if d.why != "" {
		n.Quality, n.Why = decode.Doubtful, d.why
	}
	d.named(n)
}
