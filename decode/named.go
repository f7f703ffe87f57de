package decode

import (
	"time"

	"tundish/capture"
)

// Named is something that a device said and of which there is no point: a meter's energy of last year, its number, the
// greatest power it has seen. It is kept under the device's own terms and shown; no check looks at it.
type Named struct {
	Seq     uint64    // the record it came from
	Time    time.Time // UTC
	Source  string    // in the job sheet
	Channel string    // which part of the source: a meter's name; empty where there is one only
	Name    string    // in words, the same each time: "energy storage 1"
	Value   float64   // in Unit; holds when Text is empty
	Unit    string    // "" for none
	Text    string    // what is no number: a text, a date, digits that are none
	Quality Quality
	Why     string // what is doubtful; empty for good
}

// Series is the name under which it stands beside readings: "meter/energy storage 1", "meters/hall/energy storage 1".
func (n Named) Series() string {
	if n.Channel == "" {
		return n.Source + "/" + n.Name
	}
	return n.Source + "/" + n.Channel + "/" + n.Name
}

// Namer is the optional power of a [Decoder] to give also what has no point. It is Decode, with one thing more; of a
// record either is called, once.
type Namer interface {
	DecodeNamed(rec capture.Record, emit func(Reading), named func(Named)) error
}
