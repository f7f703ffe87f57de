package opentherm

import (
	"fmt"

	"tundish/decode"
)

// counts is what a [Decoder] counts, apart from the answers without a point.
type counts struct {
	lines, frames, frameless, oddParity, reserved uint64

	requests, unanswered, paired, orphans, alone uint64
	invalid, unknownID, refused                  uint64
	impossible, unstated, notes                  uint64
}

// Tally says what was counted so far. The first entries are always there, in this order; behind them stands one for
// each data id that was answered but gives no readings, in the order of the ids.
func (d *Decoder) Tally() []decode.Count {
	n := d.n
	t := []decode.Count{
		{Name: "lines", N: n.lines},
		{Name: "frames", N: n.frames},
		{Name: "lines without a frame", N: n.frameless},
		{Name: "parity errors", N: n.oddParity},
		{Name: "reserved type", N: n.reserved},
		{Name: "requests", N: n.requests},
		{Name: "replies paired", N: n.paired},
		{Name: "replies without request", N: n.orphans},
		{Name: "replies before any request", N: n.alone},
		{Name: "requests unanswered", N: n.unanswered},
		{Name: "invalid answers", N: n.invalid},
		{Name: "unknown-id answers", N: n.unknownID},
		{Name: "set-points refused", N: n.refused},
		{Name: "values that cannot be", N: n.impossible},
		{Name: "output or least modulation not stated", N: n.unstated},
		{Name: "notes passed over", N: n.notes},
	}
	for id, c := range d.noPoint {
		if c > 0 {
			t = append(t, decode.Count{Name: fmt.Sprintf("data id %d (%s), no point", id, Lookup(uint8(id)).Name), N: c})
		}
	}
	return t
}
