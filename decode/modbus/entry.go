package modbus

import (
	"errors"
	"fmt"
	"math"

	"tundish/decode"
	"tundish/decode/unit"
)

// Table is one of the two tables of registers (MODBUS Application Protocol V1.1b3, 4.3). The zero Table is none.
type Table uint8

// The tables, by the function code that reads them (V1.1b3, 6.3 and 6.4).
const (
	Holding Table = 3
	Input   Table = 4
)

func (t Table) String() string {
	switch t {
	case Holding:
		return "holding"
	case Input:
		return "input"
	}
	return fmt.Sprintf("table-%d", uint8(t))
}

// Type says how a value stands in its registers. The zero Type is none.
type Type uint8

// The types. BCD has a decimal digit in each four bits.
const (
	U16 Type = iota + 1
	I16
	U32
	I32
	F32 // IEEE 754 single
	U64
	I64
	F64 // IEEE 754 double
	BCD16
	BCD32
	Bit // one bit of a register
	typeCount
)

var typeInfo = [typeCount]struct {
	name  string
	words int
}{{"", 0}, {"u16", 1}, {"i16", 1}, {"u32", 2}, {"i32", 2}, {"f32", 2}, {"u64", 4}, {"i64", 4}, {"f64", 4}, {"bcd16", 1}, {"bcd32", 2}, {"bit", 1}}

func (t Type) String() string {
	if t == 0 || t >= typeCount {
		return fmt.Sprintf("type-%d", uint8(t))
	}
	return typeInfo[t].name
}

// Words is how many registers a value of the type takes: 1, 2 or 4.
func (t Type) Words() int {
	if t >= typeCount {
		return 0
	}
	return typeInfo[t].words
}

// Types lists the names of the types.
func Types() []string {
	var names []string
	for t := U16; t < typeCount; t++ {
		names = append(names, t.String())
	}
	return names
}

// ParseType finds a type by its name.
func ParseType(name string) (Type, bool) {
	for t := U16; t < typeCount; t++ {
		if typeInfo[t].name == name {
			return t, true
		}
	}
	return 0, false
}

// Entry is one line of a register map.
type Entry struct {
	Point   decode.Point
	Unit    uint8 // of the device, when it is not the source's own; 0: the source's own
	Table   Table
	Address uint16 // of the first register, from 0 as on the wire
	Type    Type
	Bit     uint8 // of a Bit: 0 the lowest to 15
	// LittleWords: the register with the lowest digits comes first. LittleBytes: in each register the low byte does.
	LittleWords, LittleBytes bool
	// Scale and Offset make the value: raw × Scale + Offset. Scale 0 is 1.
	Scale, Offset float64
	// To leads from the unit of that value to the point's. Its zero value changes nothing.
	To unit.Scale
	// Invert: 0 says 1 and 1 says 0; for points that are 0 or 1.
	Invert bool
	// Absent are raw values of whole numbers and BCD that say that there is no value, as a number or as the bits:
	// 0x8000 and -32768 are the same i16. AbsentFloats are those of floats.
	Absent       []int64
	AbsentFloats []float64
}

// Last is the address of the last register. A sound entry's is at most 65535.
func (e Entry) Last() int { return int(e.Address) + e.Type.Words() - 1 }

// Place names the registers: "input 100-101", "holding 7 bit 3".
func (e Entry) Place() string {
	s := fmt.Sprintf("%s %d", e.Table, e.Address)
	if e.Unit != 0 {
		s = fmt.Sprintf("unit %d %s", e.Unit, s)
	}
	switch {
	case e.Type == Bit:
		return fmt.Sprintf("%s bit %d", s, e.Bit)
	case e.Type.Words() > 1:
		return fmt.Sprintf("%s-%d", s, e.Last())
	}
	return s
}

// Check says what is wrong with an entry on its own, or nil.
func (e Entry) Check() error {
	switch {
	case e.Point == decode.NoPoint || e.Point.Unit() == "":
		return errors.New("an entry needs a point")
	case e.Table != Holding && e.Table != Input:
		return errors.New(`the table is "holding" (function 3) or "input" (function 4)`)
	case e.Type.Words() == 0:
		return errors.New("an entry needs a type")
	case e.Last() > math.MaxUint16:
		return fmt.Errorf("%s at %d reaches past the last address, 65535", e.Type, e.Address)
	case e.Bit > 15:
		return fmt.Errorf("bit %d: a register has the bits 0 to 15", e.Bit)
	case e.Type == Bit && !e.Point.Binary():
		return fmt.Errorf("a bit is 0 or 1, %s is in %s", e.Point, e.Point.Unit())
	case e.Type == Bit && (e.Scale != 0 && e.Scale != 1 || e.Offset != 0):
		return errors.New("a bit has no scale and no offset")
	case e.Invert && !e.Point.Binary():
		return fmt.Errorf("only what is 0 or 1 can be inverted, %s is in %s", e.Point, e.Point.Unit())
	case !finite(e.Scale) || !finite(e.Offset) || !finite(e.To.Factor) || !finite(e.To.Offset):
		return errors.New("scale and offset must be finite numbers")
	}
	return e.checkAbsent()
}

// checkAbsent says which value for none the type can never have, or nil.
func (e Entry) checkAbsent() error {
	float := e.Type == F32 || e.Type == F64
	switch {
	case e.Type == Bit && len(e.Absent)+len(e.AbsentFloats) > 0:
		return errors.New("a bit has no value that says none")
	case !float && len(e.AbsentFloats) > 0:
		return fmt.Errorf("%v is no raw value of %s", e.AbsentFloats[0], e.Type)
	case float && len(e.Absent) > 0:
		return fmt.Errorf("%v is a whole number, %s a float", e.Absent[0], e.Type)
	}
	for _, a := range e.AbsentFloats {
		if !finite(a) {
			return errors.New("what is no number is never a value: it need not be named as absent")
		}
	}
	bits := 16 * e.Type.Words()
	signed := e.Type == I16 || e.Type == I32 || e.Type == I64 || e.Type == U64 // 64 bits: beyond 2⁶³ as a negative number
	for _, a := range e.Absent {
		if bits < 64 && a >= 1<<bits || a < 0 && (!signed || bits < 64 && a < -1<<(bits-1)) {
			return fmt.Errorf("%d is no raw value of %s", a, e.Type)
		}
	}
	return nil
}

// Conflict says why two entries cannot both be right, or nil: registers may be shared only where both read the same
// registers in the same way, or where at least one takes a bit of a whole 16-bit register.
func Conflict(a, b Entry) error {
	if a.Unit != b.Unit || a.Table != b.Table || a.Last() < int(b.Address) || b.Last() < int(a.Address) {
		return nil
	}
	switch {
	case a.Type == b.Type && a.Address == b.Address && a.LittleWords == b.LittleWords && a.LittleBytes == b.LittleBytes:
		return nil
	case a.Type.Words() == 1 && b.Type.Words() == 1 && (a.Type == Bit || b.Type == Bit) && a.LittleBytes == b.LittleBytes:
		return nil
	}
	return fmt.Errorf("%s as %s and %s as %s overlap and contradict each other: look them up again",
		b.Place(), b.describe(), a.Place(), a.describe())
}

// describe tells type and order.
func (e Entry) describe() string {
	s := e.Type.String()
	if e.LittleWords && e.Type.Words() > 1 {
		s += ", little words"
	}
	if e.LittleBytes {
		s += ", little bytes"
	}
	return s
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
