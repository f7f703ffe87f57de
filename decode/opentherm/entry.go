package opentherm

import "strconv"

// Class is the class of a data id, 1–8 (5.1; the text there counts seven, eight are listed and used). 0: no class.
type Class uint8

var classNames = [...]string{"", "control and status", "configuration", "remote commands", "sensors and information",
	"remote boiler parameters", "transparent slave parameters", "fault history", "special control"}

// String gives the class in words.
func (c Class) String() string {
	if int(c) < len(classNames) {
		return classNames[c]
	}
	return "class " + strconv.Itoa(int(c))
}

// Direction says what the master may do with an id. The zero Direction is none: the id has no use.
type Direction uint8

// The directions.
const (
	Read      Direction = 1 << iota // the master asks
	Write                           // the master tells
	ReadWrite = Read | Write
)

func (d Direction) String() string { return [...]string{"", "read", "write", "read and write"}[d&3] }

// Origin says where an entry of the table is from.
type Origin uint8

// The origins. The zero Origin stands with ids that no source assigns.
const (
	NoOrigin   Origin = iota
	FromV22           // OpenTherm Protocol Specification v2.2, read in full
	AfterV22          // added later; known from the id lists of general-purpose protocol libraries
	FromMemory        // no source read
)

func (o Origin) String() string {
	return [...]string{"no source assigns it", "OpenTherm v2.2",
		"after v2.2, from general-purpose protocol libraries", "from memory"}[min(o, FromMemory)]
}

// Standing says what a data id is to us.
type Standing uint8

// The standings.
const (
	Unassigned Standing = iota // no source read assigns it
	Assigned                   // has a meaning
	KeptFree                   // kept free for further remote parameters (5.3.5)
	Makers                     // for makers' test and diagnostics; the meaning is not public (5.1)
)

// Field is one value in the word of a data id. The zero Field is no field.
type Field struct {
	Part Part
	Type DataType
	Name string // where the two bytes differ in meaning; else empty, the entry's name says it
	Unit string // as printed, "" for plain numbers and flags
	// Low and High are the range that the specification gives, both ends included; equal where it gives none.
	Low, High float64

	bits []bitField
}

// Ranged tells whether the specification gives a range.
func (f Field) Ranged() bool { return f.Low != f.High }

// Entry is what the table holds of one data id.
type Entry struct {
	ID       uint8
	Standing Standing
	Class    Class
	Dir      Direction
	Name     string // in trade words
	Fields   [2]Field
	Origin   Origin
	Clause   string // of v2.2: "5.3.1"; empty for later ids
	// Master and Slave tell whether the specification makes the id mandatory for that side (5.2).
	Master, Slave bool
	// Doubt says in words where sources disagree or what is from memory; empty where nothing is in doubt.
	Doubt string

	index  bool // HB is an index that a Read-Data carries too
	status bool // HB is the master's status that a Read-Data carries too
}

// Source tells in words where the entry is from.
func (e Entry) Source() string {
	if e.Clause != "" {
		return e.Origin.String() + ", " + e.Clause
	}
	return e.Origin.String()
}

// Lookup gives the entry of a data id. Every id has one; Standing tells what it is worth.
func Lookup(id uint8) Entry {
	e, ok := v22Entries[id]
	if !ok {
		e, ok = laterEntries[id]
	}
	switch {
	case ok && e.Standing == Unassigned:
		e.Standing = Assigned
	case ok:
	case id >= 128:
		e = Entry{Standing: Makers, Name: "maker's test and diagnostics, meaning not public", Origin: FromV22, Clause: "5.1"}
	case id >= 51 && id <= 63:
		e = Entry{Standing: KeptFree, Class: 5, Name: "kept free for further remote parameters", Origin: FromV22, Clause: "5.3.5"}
	default:
		e = Entry{Name: "unassigned"}
	}
	e.ID = id
	return e
}

// one makes the fields of an id whose word is a single value.
func one(d DataType, unit string, low, high float64) [2]Field {
	return [2]Field{{Part: Word, Type: d, Unit: unit, Low: low, High: high}}
}

// two makes the fields of an id whose bytes are two values.
func two(hb, lb Field) [2]Field {
	hb.Part, lb.Part = HB, LB
	if hb.Type == NoType {
		return [2]Field{lb}
	}
	if lb.Type == NoType {
		return [2]Field{hb}
	}
	return [2]Field{hb, lb}
}
