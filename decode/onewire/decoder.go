package onewire

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"tundish/capture"
	"tundish/decode"
)

// Mapping says what a probe measures.
type Mapping struct {
	Point decode.Point
	// OffsetK is added to what the probe says, K: the outcome of a comparison in the same water.
	OffsetK float64
}

// OffsetLimitK is the largest offset taken for a calibration, K. Own proposal: three times what two probes inside
// their datasheet's limits can differ by at the ends of their range (±2 °C each).
const OffsetLimitK = 12

// Config is what a [Decoder] needs to know of its source.
type Config struct {
	Source string // name in the job sheet; the readings' series carry it
	// Points tells the probes by their folder name in the kernel's list: "28-0000a71c01f4".
	Points map[string]Mapping
}

// Decoder turns what probes delivered into readings. It belongs to one goroutine.
//
// A value of 85 °C is what a probe shows before its first measurement. Where the scratchpad tells, it is an
// [ErrPowerOn]; where it does not, the reading is doubtful unless the probe's reading before it is so near that water
// could have come from there. A reading whose t= disagrees with the probe's own bytes is doubtful as well.
type Decoder struct {
	source string
	probes map[string]*probe
	names  map[string]string // of probes, as in lines, where they are no strings yet
	near   []heard           // those that gave something, by their channel as it came: they are few
	n      counts
}

type heard struct {
	channel string
	*probe
}

type probe struct {
	Mapping
	family Family
	last   history
}

type counts struct {
	records, notYours, empty, refused, layout, checksum, powerOn, power, bad, readings, doubtful, notes uint64
}

// New makes a decoder. The error names a channel that is no probe read here, or a mapping that makes no sense.
func New(c Config) (*Decoder, error) {
	if c.Source == "" {
		return nil, errors.New("one-wire: the source has no name")
	}
	d := &Decoder{source: c.Source, probes: make(map[string]*probe, len(c.Points)), names: make(map[string]string, len(c.Points))}
	for channel, m := range c.Points {
		f, err := FamilyOf(channel)
		if err != nil {
			return nil, fmt.Errorf("one-wire source %q: %w", c.Source, err)
		}
		if !m.Point.Temperature() {
			return nil, fmt.Errorf("one-wire source %q: probe %s: %q is not a temperature", c.Source, channel, m.Point)
		}
		if !(m.OffsetK >= -OffsetLimitK && m.OffsetK <= OffsetLimitK) {
			return nil, fmt.Errorf("one-wire source %q: probe %s: offset of %v K is outside ±%d K: compare the probes again",
				c.Source, channel, m.OffsetK, OffsetLimitK)
		}
		name := strings.ToLower(channel)
		d.probes[name], d.names[name] = &probe{Mapping: m, family: f}, name
	}
	return d, nil
}

// FamilyOf reads the family out of a probe's folder name: two hexadecimal digits, "-", twelve more.
func FamilyOf(channel string) (Family, error) {
	family, serial, ok := strings.Cut(channel, "-")
	code, err := strconv.ParseUint(family, 16, 8)
	_, serialErr := strconv.ParseUint(serial, 16, 48)
	if !ok || err != nil || serialErr != nil || len(family) != 2 || len(serial) != 12 {
		return 0, fmt.Errorf("%q is not the name of a probe, as 28-0000a71c01f4 is", channel)
	}
	if f := Family(code); f.known() {
		return f, nil
	}
	return 0, fmt.Errorf("%s: family %02X is not a thermometer read here", channel, code)
}

// of finds a probe; nil: it is not in the job sheet.
func (d *Decoder) of(channel string) *probe {
	for i := range d.near {
		if d.near[i].channel == channel {
			return d.near[i].probe
		}
	}
	p := d.probes[channel]
	if p != nil && len(d.near) < 16 {
		d.near = append(d.near, heard{channel, p})
	}
	return p
}

// Decode takes what one probe delivered.
func (d *Decoder) Decode(rec capture.Record, emit func(decode.Reading)) error {
	if rec.Note != "" {
		d.n.notes++
		return nil
	}
	d.n.records++
	file, start := rec.Payload, 0
	if rec.Channel == "" {
		var ok bool
		if rec.Channel, file, start, ok = d.line(rec.Payload); !ok {
			d.n.layout++
			return &decode.Error{Rule: "a line is a probe, white space and what its file held", Err: ErrLine}
		}
	}
	p := d.of(rec.Channel)
	if p == nil {
		d.n.notYours++
		return nil
	}
	s, offset, err := parse(file)
	if err != nil {
		d.n.layout++
		return &decode.Error{Offset: start + offset, Rule: "probe " + rec.Channel, Err: err}
	}
	return d.slave(p, &rec, &s, emit)
}

// slave takes what a probe's file turned out to hold.
func (d *Decoder) slave(p *probe, rec *capture.Record, s *slave, emit func(decode.Reading)) (err error) {
	c, why, suspect := 0.0, "", false
	switch s.content {
	case isEmpty:
		d.n.empty++
		return nil
	case isRefused:
		d.n.refused++
		return nil
	case isPad:
		c, err = s.pad.Celsius(p.family)
		suspect = s.pad.suspect(p.family)
		if s.hasT && p.family != DS18S20 && s.milli != s.pad.millidegrees() {
			why = "the kernel's t= is not what the probe's bytes say"
		}
	case isMilli:
		c, err = celsius(s.milli)
		suspect = c == powerOnC
	}
	if err != nil {
		d.failed(err)
		e := &decode.Error{Rule: "probe " + rec.Channel, Err: err}
		of := decode.Series{Source: d.source, Point: p.Point}
		switch {
		case errors.Is(err, ErrPowerOn) || errors.Is(err, ErrPower):
			e.Series = of
		case errors.Is(err, ErrZero):
			e.Series, e.Fault = of, decode.NoAnswer
		case s.content == isMilli && errors.Is(err, ErrRange): // software writes −127000 for a probe that is gone
			e.Series, e.Fault, e.Value = of, decode.Impossible, float64(s.milli)/1000
		}
		return e
	}
	if suspect && why == "" {
		why = p.last.doubt(rec)
	}
	return d.measured(p, rec, c, why, emit)
}

// measured emits a temperature that the probe itself vouches for.
func (d *Decoder) measured(p *probe, rec *capture.Record, c float64, why string, emit func(decode.Reading)) error {
	v := c + p.OffsetK
	if !p.Point.Holds(v) {
		d.failed(ErrRange)
		return &decode.Error{Series: decode.Series{Source: d.source, Point: p.Point}, Fault: decode.Impossible, Value: v, Rule: "probe " + rec.Channel, Err: fmt.Errorf("%s cannot be %v °C: %w", p.Point, v, ErrRange)}
	}
	q := decode.Good
	if why != "" {
		q = decode.Doubtful
		d.n.doubtful++
	} else {
		p.last.keep(rec, c) // only what is beyond doubt may support the next one
	}
	d.n.readings++
	emit(decode.Reading{Seq: rec.Seq, Time: rec.Time, Series: decode.Series{Source: d.source, Point: p.Point},
		Value: v, Quality: q, Why: why})
	return nil
}

// celsius is the temperature of a file that holds millidegrees alone.
func celsius(milli int) (float64, error) {
	c := float64(milli) / 1000
	switch {
	case milli == noPowerWord*1000/16:
		return 0, ErrPower
	case c < lowestC || c > highestC:
		return 0, ErrRange
	}
	return c, nil
}

func (d *Decoder) failed(err error) {
	switch {
	case errors.Is(err, ErrChecksum):
		d.n.checksum++
	case errors.Is(err, ErrPowerOn):
		d.n.powerOn++
	case errors.Is(err, ErrPower):
		d.n.power++
	default:
		d.n.bad++
	}
}

// Tally says what was counted so far.
func (d *Decoder) Tally() []decode.Count {
	n := d.n
	return []decode.Count{
		{Name: "records", N: n.records},
		{Name: "readings", N: n.readings},
		{Name: "doubtful readings", N: n.doubtful},
		{Name: "probe not in the job sheet", N: n.notYours},
		{Name: "empty: the probe did not answer", N: n.empty},
		{Name: "refused by the kernel (NO)", N: n.refused},
		{Name: "not in the layout of w1_slave", N: n.layout},
		{Name: "checksum errors", N: n.checksum},
		{Name: "power-on values", N: n.powerOn},
		{Name: "too little power", N: n.power},
		{Name: "scratchpads that cannot be", N: n.bad},
		{Name: "notes passed over", N: n.notes},
	}
}
