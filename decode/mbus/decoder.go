package mbus

import (
	"errors"
	"fmt"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/unit"
)

// Meter is what a [Decoder] needs to know of one meter.
type Meter struct {
	Name string // of the channel in records
	// Address is the primary address, −1: it is selected by ID. ID holds 8 digits, F for any; "": it has an address.
	Address int
	ID      string
	// Medium stands in where the telegram does not tell what is metered; [MediumUnknown]: not known.
	Medium Medium
	// ByMedium gives the points that a meter of its medium has by itself. Points then adds to them, and takes away where
	// a value has NoPoint.
	ByMedium bool
	Points   map[Key]decode.Point
}

// Config is what a [Decoder] needs to know of its source.
type Config struct {
	Source string // name in the job sheet; the readings' series carry it
	Meters []Meter
}

// Decoder turns telegrams into readings. It belongs to one goroutine.
//
// A reading is a value of now in total that has a point, see [Meter]; of a value that comes twice in one sweep the first
// counts. It is doubtful where the meter's own status says that something is wrong with it.
type Decoder struct {
	source string
	meters map[string]*meter
	order  []*meter
	scales map[conversion]unit.Scale
	line   [LongestFrame]byte // the bytes of a line of text
	n      counts
	unused map[Key]uint64  // plain values without a point
	begin  func(*Telegram) // d.telegram and d.value, bound once
	take   func(*Value)

	// Of the telegram in hand.
	reader  reader
	rec     capture.Record
	meter   *meter
	head    Header
	why     string
	emit    func(decode.Reading)
	named   func(decode.Named)
	refused error // what could not be, joined
}

type meter struct {
	Meter
	run, sweep uint32
	seen       uint64 // points of this sweep, a bit each
	given      uint64 // points that the job sheet gives to a value, of whichever meter
}

// New makes a decoder. The error names a meter that makes no sense.
func New(c Config) (*Decoder, error) {
	if c.Source == "" {
		return nil, errors.New("m-bus: the source has no name")
	}
	d := &Decoder{source: c.Source, meters: map[string]*meter{}, scales: map[conversion]unit.Scale{}, unused: map[Key]uint64{}}
	d.begin, d.take = d.telegram, d.value
	taken := map[decode.Point]string{}
	for _, m := range c.Meters {
		if d.meters[m.Name] != nil || m.Name == "" {
			return nil, fmt.Errorf("m-bus source %q: %q is not the name of one meter", c.Source, m.Name)
		}
		for k, p := range m.Points {
			if p == decode.NoPoint {
				continue
			}
			if !CanBe(k.Quantity, p) {
				return nil, fmt.Errorf("m-bus source %q: meter %s: %s cannot be %q", c.Source, m.Name, k, p)
			}
			if other, twice := taken[p]; twice {
				return nil, fmt.Errorf("m-bus source %q: meter %s: %q is a value of meter %s already", c.Source, m.Name, p, other)
			}
			taken[p] = m.Name
		}
		own := &meter{Meter: m}
		d.meters[m.Name] = own
		d.order = append(d.order, own)
	}
	for p := range taken { // what the job sheet gives to one value is no other's by itself
		for _, m := range d.order {
			m.given |= 1 << p
		}
	}
	return d, nil
}

// medium is what is metered: as the telegram tells, else as the job sheet does.
func (m *meter) medium(h Header) Medium {
	if h.Known && h.Medium != MediumUnknown && h.Medium != mediumOther {
		return h.Medium
	}
	return m.Medium
}

// point is what a plain value is of.
func (m *meter) point(k Key, h Header) decode.Point {
	if p, told := m.Points[k]; told {
		return p
	}
	if m.ByMedium && k.Now() {
		if p := byMedium(m.medium(h), k.Quantity); m.given&(1<<p) == 0 {
			return p
		}
	}
	return decode.NoPoint
}
