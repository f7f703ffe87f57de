package building

import (
	"fmt"
	"math"
	"strings"
)

// Problem is one thing wrong, or doubtful, with a house.
type Problem struct {
	// Path addresses the value: "room[0].element[2].opening[1].area_m2".
	Path string
	// Place names it for people: "room Living, outside wall".
	Place string
	Msg   string
	// Warning: the house can be computed all the same.
	Warning bool
	// Word and Known are of a name that means nothing, and the ones that would have.
	Word  string
	Known []string
}

func (p Problem) Error() string {
	text := p.Msg
	if key := p.Key(); key != "" {
		text = key + ": " + text
	}
	if p.Place != "" {
		text = p.Place + ": " + text
	}
	return text
}

// Problems are all that stop a computation.
type Problems []Problem

func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, x := range p {
		lines[i] = x.Error()
	}
	return strings.Join(lines, "\n")
}

// at is a place in the house while it is checked.
type at struct {
	c    *checker
	path string
	name string
}

type checker struct {
	house *House
	all   []Problem
}

func (a at) key(k string) string {
	if a.path == "" || k == "" {
		return a.path + k
	}
	return a.path + "." + k
}

func (a at) fail(key, format string, args ...any) {
	a.c.all = append(a.c.all, Problem{Path: a.key(key), Place: a.name, Msg: fmt.Sprintf(format, args...)})
}

func (a at) warn(key, format string, args ...any) {
	a.c.all = append(a.c.all, Problem{Path: a.key(key), Place: a.name, Msg: fmt.Sprintf(format, args...), Warning: true})
}

// unknown: a name that means nothing.
func (a at) unknown(key, what, word string, known []string) {
	a.c.all = append(a.c.all, Problem{Path: a.key(key), Place: a.name, Msg: fmt.Sprintf("%q is no %s", word, what), Word: word, Known: known})
}

// in is a place within: "room[3]", and its name for people.
func (a at) in(key, name string) at {
	if a.name != "" {
		name = a.name + ", " + name
	}
	return at{a.c, a.key(key), name}
}

// bound is what a value may be: outside low to high it is refused, outside fromLow to toHigh it is doubted. All are own
// proposals: what can stand on a house at all; beyond that it is a slip of the pen or of the unit.
type bound struct {
	unit      string
	low, high float64
	// doubtLow and doubtHigh: 0 and 0 are none.
	doubtLow, doubtHigh float64
	hint                string
}

const unitHint = "is the unit right?"

var (
	insideBound    = bound{"°C", 0, 40, 5, 28, "a room is heated to 5 to 28 °C; degrees Fahrenheit?"}
	otherBound     = bound{"°C", -60, 60, -40, 40, unitHint}
	outsideBound   = bound{"°C", -60, 25, -40, 15, unitHint}
	meanBound      = bound{"°C", -30, 30, 0, 0, unitHint}
	areaBound      = bound{"m²", 1e-4, 1e5, 0.02, 2000, "millimetres or square feet?"}
	volumeBound    = bound{"m³", 0.1, 1e6, 1, 5000, unitHint}
	sizeBound      = bound{"m", 0.05, 500, 0.2, 60, "millimetres?"}
	heightBound    = bound{"m", 0.2, 100, 1.8, 8, "millimetres?"}
	uBound         = bound{"W/m²K", 1e-3, 10, 0.05, 7, "even a bare sheet of metal has less than 7; milliwatts?"}
	changesBound   = bound{"1/h", 0, 30, 0.1, 6, "air changes an hour, not m³/h"}
	leakBound      = bound{"1/h", 0, 30, 0, 6, "air changes an hour, not m³/h"}
	flowBound      = bound{"m³/h", 0, 1e5, 0, 2000, "l/s × 3.6 is m³/h"}
	shareBound     = bound{"", 0, 1, 0, 0, "a share of 1, not a percentage"}
	psiBound       = bound{"W/mK", -1, 5, -0.5, 1.5, unitHint}
	lengthBound    = bound{"m", 0, 2000, 0, 200, "millimetres?"}
	surchargeBound = bound{"W/m²K", 0, 1, 0, 0.3, "usual are 0.02 to 0.15"}
	percentBound   = bound{"%", 0, 100, 0, 60, "a percentage, not a share"}
	yearBound      = bound{"", 1000, 2200, 0, 0, "a year"}
	airBound       = bound{"Wh/m³K", 0.2, 0.5, 0.28, 0.37, "0.33 in Britain, 0.34 in EN 12831"}
	thickBound     = bound{"m", 1e-4, 3, 2e-4, 1.2, "millimetres?"}
	airGapBound    = bound{"m", 1e-4, thickestAirM, 0, 0, "the table of air layers ends at 0.3 m; a larger space is an unheated one"}
	lambdaBound    = bound{"W/mK", 1e-3, 500, 0.01, 60, unitHint}
	layerRBound    = bound{"m²K/W", 1e-4, 50, 0, 20, unitHint}
	wm2Bound       = bound{"W/m²", 0, 200, 0, 60, unitHint}
	slabBound      = bound{"m²", 1, 1e5, 0, 2000, unitHint}
	edgeBound      = bound{"m", 0.5, 5000, 0, 300, unitHint}
	wallBound      = bound{"m", 0.03, 3, 0.08, 1.2, "millimetres?"}
	soilBound      = bound{"W/mK", 0.1, 6, 0.8, 4, "1.5 clay, 2.0 sand, 3.5 rock"}
)

// check holds a value to its bound; nil is fine. It tells whether the value can be worked with.
func (a at) check(key string, p *float64, b bound) bool {
	if p == nil {
		return true
	}
	v := *p
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		a.fail(key, "%v is no number", v)
		return false
	case v < 0 && b.low >= 0 && b.unit != "°C":
		a.fail(key, "%v%s is below 0, which cannot be", v, unitAfter(b.unit))
		return false
	case v < b.low || v > b.high:
		a.fail(key, "%v is outside %v to %v%s; %s", v, b.low, b.high, unitAfter(b.unit), b.hint)
		return false
	case b.doubtLow == 0 && b.doubtHigh == 0:
	case v < b.doubtLow || v > b.doubtHigh:
		a.warn(key, "%v%s is unusual; %s", v, unitAfter(b.unit), b.hint)
	}
	return true
}

func unitAfter(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

// need is check for what must be there.
func (a at) need(key string, p *float64, b bound, hint string) bool {
	if p == nil {
		a.fail(key, "is missing; %s", hint)
		return false
	}
	return a.check(key, p, b)
}

// Key is the key that the problem is with; empty where it is with a whole table, which Place names already.
func (p Problem) Key() string {
	key := p.Path[strings.LastIndexByte(p.Path, '.')+1:]
	if strings.HasSuffix(key, "]") || p.Place == key || strings.HasSuffix(p.Place, ", "+key) {
		return ""
	}
	return key
}
