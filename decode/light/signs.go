package light

import (
	"errors"

	"tundish/decode"
)

// Means is what a sign says of the appliance, by the maker's instructions.
type Means string

// What a sign may mean.
const (
	Nothing Means = ""         // words alone
	Lockout Means = "lockout"  // it is in fault, until somebody resets it
	Retry   Means = "retry"    // an attempt to light has failed, and it tries again
	Flame   Means = "flame"    // the burner is lit
	NoMains Means = "no-mains" // it has no supply
)

// AllMeans lists what a sign may mean, words alone left out.
func AllMeans() []Means { return []Means{Lockout, Retry, Flame, NoMains} }

// Entry is a line of the engineer's table.
type Entry struct {
	Words string
	Means Means
	Cause string // of a lockout, a word of the vocabulary; empty: not said
}

// Table is what the signs of a light mean, from the maker's instructions.
type Table map[Sign]Entry

func (t Table) has(m Means) bool {
	for _, e := range t {
		if e.Means == m {
			return true
		}
	}
	return false
}

// Interpreter turns the readings of one light into what they say: the sign as [decode.LightSign], and what the table
// makes of it: fault, flame, supply, and a count of attempts that failed. Times are those at which a sign began; a sign
// is sure some seconds later. It belongs to one goroutine.
type Interpreter struct {
	source  string
	table   Table
	reader  Reader
	points  []derived
	retries int
	sign    Sign
	any     bool
	emit    func(decode.Reading)
}

// derived is a point that the table gives.
type derived struct {
	point decode.Point
	means Means
	yes   float64 // the value while the sign means it
}

// NewInterpreter is for the light of a source.
func NewInterpreter(source string, table Table) (*Interpreter, error) {
	if source == "" {
		return nil, errors.New("light: a source needs a name")
	}
	i := &Interpreter{source: source, table: table}
	for _, d := range []derived{{decode.Fault, Lockout, 1}, {decode.Flame, Flame, 1}, {decode.Supply, NoMains, 0}} {
		if table.has(d.means) {
			i.points = append(i.points, d)
		}
	}
	return i, nil
}

// Take takes a reading of the light and emits what is sure by then. Other readings are passed over.
func (i *Interpreter) Take(r decode.Reading, emit func(decode.Reading)) {
	if r.Series.Point != decode.Light || r.Quality != decode.Good {
		return
	}
	i.emit = emit
	i.reader.Take(r.Time, r.Value == 1, func(s Seen) { i.told(r.Seq, s) })
	i.emit = nil
}

// Flush emits what the light showed last.
func (i *Interpreter) Flush(emit func(decode.Reading)) {
	i.emit = emit
	i.reader.End(func(s Seen) { i.told(0, s) })
	i.emit = nil
}

func (i *Interpreter) told(seq uint64, s Seen) {
	say := func(p decode.Point, v float64) {
		r := decode.Reading{Seq: seq, Time: s.From, Series: decode.Series{Source: i.source, Point: p}, Value: v, Quality: decode.Good}
		if s.Why != "" {
			r.Quality, r.Why = decode.Doubtful, s.Why
		}
		i.emit(r)
	}
	say(decode.LightSign, float64(s.Sign))
	means := i.table[s.Sign].Means
	for _, d := range i.points {
		v := 1 - d.yes
		if means == d.means {
			v = d.yes
		}
		say(d.point, v)
	}
	if i.table.has(Retry) {
		if means == Retry && (!i.any || s.Sign != i.sign) {
			i.retries++
		}
		say(decode.FailedStarts, float64(i.retries))
	}
	i.any, i.sign = true, s.Sign
}
