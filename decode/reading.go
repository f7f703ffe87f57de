// Package decode turns raw records into readings: time, source, point, value, quality. This package holds the
// vocabulary; one folder below it decodes one bus, meter or probe. Nothing here or below does I/O or asks the time.
package decode

import (
	"fmt"
	"strings"
	"time"

	"tundish/capture"
)

// Series names a stream of values: which source, and of what.
type Series struct {
	Source string
	Point  Point
}

// String gives the name used in files and tables: "boiler/flow".
func (s Series) String() string { return s.Source + "/" + s.Point.String() }

// ParseSeries is the inverse of [Series.String].
func ParseSeries(name string) (Series, error) {
	i := strings.LastIndexByte(name, '/')
	if i <= 0 {
		return Series{}, fmt.Errorf("%q is not a series: it wants SOURCE/POINT", name)
	}
	p, err := ParsePoint(name[i+1:])
	return Series{name[:i], p}, err
}

// Quality says how far a reading can be trusted.
type Quality uint8

const (
	Unknown  Quality = iota // nothing is known of it
	Good                    // as the device gave it, all checks passed
	Doubtful                // usable with care; the reading's Why says what is doubtful
)

func (q Quality) String() string { return [...]string{"unknown", "good", "doubtful"}[min(q, 2)] }

// Reading is one decoded value.
type Reading struct {
	Seq     uint64    // the record it came from
	Time    time.Time // UTC
	Series  Series    // the point fixes the unit
	Value   float64   // in that unit; finite, see Point.Holds
	Quality Quality
	Why     string // what is doubtful; empty for good
}

// Decoder turns the records of one source into readings, in order. It keeps going after bad bytes: what was wrong
// comes back as an error (an [*Error] or a join of them), and whatever was good has been emitted all the same.
// A Decoder holds the state of one source and belongs to one goroutine.
//
// A decoder that counts things of interest besides (frames, parity errors, unanswered requests) also has
// Tally() []Count.
type Decoder interface {
	Decode(rec capture.Record, emit func(Reading)) error
}

// Tallier is the optional power of a [Decoder] to say what it counted.
type Tallier interface{ Tally() []Count }

// Count is one thing a decoder counted.
type Count struct {
	Name string // in words: "frames", "parity errors"
	N    uint64
}

// SensorFault is what a sensor, or what reads it, gave instead of a measurement.
type SensorFault uint8

const (
	Unmeasured SensorFault = iota // a power-on value, too little power: it answered without having measured
	Impossible                    // a number that its point cannot have: −127 °C, 850 °C
	NoAnswer                      // no number at all: a word such as nan, or bytes that are all zero
)

// Error says which rule some bytes broke, and where in the payload.
type Error struct {
	// Series is the one whose sensor gave something that is no measurement, Fault says what. Zero: the error is another.
	Series Series
	Fault  SensorFault
	Value  float64 // of an [Impossible] one, in the point's unit; finite
	Offset int     // in the payload, bytes
	Rule   string  // the rule broken, in words: "odd parity"
	Err    error   // cause, may be nil
}

func (e *Error) Error() string {
	if e.Err != nil {
		return fmt.Sprintf("byte %d: %s: %v", e.Offset, e.Rule, e.Err)
	}
	return fmt.Sprintf("byte %d: %s", e.Offset, e.Rule)
}

func (e *Error) Unwrap() error { return e.Err }
