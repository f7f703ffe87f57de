package opentherm

import (
	"fmt"
	"strconv"
	"strings"
)

// Explanation says what a frame means, in the words of the trade. It is for people; its wording may change.
type Explanation struct {
	Frame Frame
	// Err is why the frame is to be rejected, nil for a sound one. A rejected frame has no values.
	Err   error
	Entry Entry
	// Values are what the frame tells, one a line: "flow temperature at the boiler: 61.5 °C".
	Values []string
	// Remarks are doubts, values outside the specified range, broken habits.
	Remarks []string
}

// Explain says what a frame means. Every 32 bits have an explanation; for a frame that breaks a rule it says which.
func Explain(f Frame) Explanation {
	x := Explanation{Frame: f, Err: f.Check(), Entry: Lookup(f.ID())}
	if x.Err != nil {
		return x
	}
	switch f.Type() {
	case ReadData:
		x.request()
	case WriteData, ReadAck, WriteAck:
		x.carried()
	case InvalidData:
		x.say("the controller has no valid value: no reading")
	case DataInvalid:
		x.say("the appliance knows this id but has no valid value: no reading")
	case UnknownDataID:
		x.say("the appliance does not support this id: no reading")
		if x.Entry.Slave {
			x.remark("the specification makes this id mandatory for the appliance (5.2)")
		}
	}
	x.habits()
	return x
}

func (x *Explanation) say(format string, a ...any) {
	x.Values = append(x.Values, fmt.Sprintf(format, a...))
}
func (x *Explanation) remark(format string, a ...any) {
	x.Remarks = append(x.Remarks, fmt.Sprintf(format, a...))
}

// request explains a Read-Data. Its word is usually 0; status ids carry the master's flags, index ids the index.
func (x *Explanation) request() {
	e, f := x.Entry, x.Frame
	switch {
	case e.status:
		x.say("%s: %s", e.Fields[0].Name, flagWords(e.Fields[0].bits, f.HB()))
		x.say("asks for the status of the %s", e.Fields[1].Name)
	case e.index:
		x.say("asks for %s %d", e.Fields[0].Name, f.HB())
	default:
		x.say("asks for it; a request carries no value")
		if f.Word() != 0 {
			x.remark("a request usually carries 0000, this one %04X", f.Word())
		}
	}
}

// carried explains a frame with a value in it.
func (x *Explanation) carried() {
	e, f := x.Entry, x.Frame
	if f.Type() == WriteAck && f.ID() != 4 { // a command is answered by its response code
		x.say("accepted by the appliance, which may have changed the value")
	}
	if e.Standing != Assigned {
		x.say("raw word %04X, meaning not known", f.Word())
		return
	}
	if !x.special() {
		for _, field := range e.Fields {
			x.field(field)
		}
	}
	x.reservedByte()
	if e.Doubt != "" {
		x.remark("%s", e.Doubt)
	}
}

// field says one value by its type, and whether it is outside its range.
func (x *Explanation) field(d Field) {
	if d.Part == NoPart {
		return
	}
	name := d.Name
	if name == "" {
		name = x.Entry.Name
	}
	raw := d.Part.raw(x.Frame.Word())
	switch d.Type {
	case Flag8:
		x.say("%s: %s", name, flagWords(d.bits, uint8(raw)))
		return
	case Special:
		x.say("%s: %s %02X", name, d.Part, raw)
		return
	}
	v := number(d.Type, raw)
	x.say("%s: %s", name, quantity(v, d.Unit))
	if d.Ranged() && (v < d.Low || v > d.High) {
		x.remark("%s: %s is outside the specified range, %s to %s: doubt it", name, quantity(v, d.Unit),
			quantity(d.Low, ""), quantity(d.High, d.Unit))
	}
}

// reservedByte remarks on a byte that should be 0 because the id uses the other one only.
func (x *Explanation) reservedByte() {
	switch d := x.Entry.Fields; {
	case d[1].Part != NoPart:
	case d[0].Part == HB && x.Frame.LB() != 0:
		x.remark("LB is not used by this id, yet it is %02X", x.Frame.LB())
	case d[0].Part == LB && x.Frame.HB() != 0:
		x.remark("HB is not used by this id, yet it is %02X", x.Frame.HB())
	}
}

// habits remarks on what a device that keeps the specification would not send.
func (x *Explanation) habits() {
	e, f := x.Entry, x.Frame
	if s := f.Spare(); s != 0 {
		x.remark("the spare bits are %04b, not 0; a receiver ignores them", s)
	}
	if e.Standing != Assigned {
		return
	}
	switch t := f.Type(); {
	case t == ReadData && e.Dir&Read == 0:
		x.remark("the controller is meant to write this id, not to read it")
	case t == WriteData && e.Dir&Write == 0:
		x.remark("the controller is meant to read this id, not to write it")
	}
}

// Headline says in one line what kind of frame it is, or why it is to be rejected.
func (x Explanation) Headline() string {
	f := x.Frame
	if x.Err != nil {
		return fmt.Sprintf("%s: rejected: %v", f, x.Err)
	}
	sender := "appliance (slave)"
	if f.FromMaster() {
		sender = "controller (master)"
	}
	return fmt.Sprintf("%s: %s from the %s, data id %d: %s", f, f.Type(), sender, f.ID(), x.Entry.Name)
}

// Lines gives the explanation line by line: the headline first, all others indented.
func (x Explanation) Lines() []string {
	lines := []string{x.Headline()}
	if x.Err != nil {
		return append(lines, fmt.Sprintf("  taken as it stands it would be %s of data id %d (%s), word %04X: not to be trusted",
			x.Frame.Type(), x.Frame.ID(), x.Entry.Name, x.Frame.Word()))
	}
	for _, v := range x.Values {
		lines = append(lines, "  "+v)
	}
	for _, r := range x.Remarks {
		lines = append(lines, "  note: "+r)
	}
	return append(lines, "  "+x.provenance())
}

// provenance gives the raw word and where its meaning comes from.
func (x Explanation) provenance() string {
	e := x.Entry
	s := fmt.Sprintf("raw word %04X (HB %02X, LB %02X)", x.Frame.Word(), x.Frame.HB(), x.Frame.LB())
	if e.Class != 0 {
		s += "; class " + strconv.Itoa(int(e.Class)) + ", " + e.Class.String()
	}
	return s + "; source: " + e.Source()
}

// String gives all lines, without a line end after the last.
func (x Explanation) String() string { return strings.Join(x.Lines(), "\n") }

// quantity prints a number exactly, with a true minus sign, and its unit.
func quantity(v float64, unit string) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if v < 0 {
		s = "−" + s[1:]
	}
	if unit != "" {
		s += " " + unit
	}
	return s
}
