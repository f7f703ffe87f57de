package opentherm

import (
	"fmt"

	"tundish/decode"
)

// How a value is obtained from a conversation.
type origin uint8

const (
	byAnswer   origin = iota // the slave's own value: from Read-Ack
	bySetpoint               // the master's, but the slave may change it: from Write-Ack
	byMaster                 // the master's own measurement or wish for the room: from its Write-Data
)

// mapping ties one value of a data id to a point.
type mapping struct {
	id     uint8
	field  int // which of the entry's fields
	point  decode.Point
	origin origin
}

// mappings lists what gives readings, status (id 0) and commands (id 4) apart. hotWater is the point of id 26.
func mappings(hotWater decode.Point) []mapping {
	return []mapping{
		{1, 0, decode.FlowSetpoint, bySetpoint},
		{5, 0, decode.FaultFlags, byAnswer},
		{5, 1, decode.FaultCode, byAnswer},
		{14, 0, decode.ModulationCeiling, bySetpoint},
		{15, 0, decode.OutputMax, byAnswer},
		{15, 1, decode.ModulationMin, byAnswer},
		{16, 0, decode.RoomSetpoint, byMaster},
		{17, 0, decode.Modulation, byAnswer},
		{18, 0, decode.Pressure, byAnswer},
		{19, 0, decode.HotWaterRate, byAnswer},
		{24, 0, decode.Room, byMaster},
		{25, 0, decode.Flow, byAnswer},
		{26, 0, hotWater, byAnswer},
		{27, 0, decode.Outside, byAnswer},
		{28, 0, decode.Return, byAnswer},
		{33, 0, decode.Flue, byAnswer},
		{36, 0, decode.FlameCurrent, byAnswer},
		{56, 0, decode.HotWaterSetpoint, bySetpoint},
		{113, 0, decode.FailedStarts, byAnswer},
		{114, 0, decode.FlameLosses, byAnswer},
		{115, 0, decode.DiagnosticCode, byAnswer},
		{116, 0, decode.BurnerStarts, byAnswer},
		{120, 0, decode.BurnerHours, byAnswer},
	}
}

// doubtKind is why a reading is doubtful, apart from its value.
type doubtKind uint8

const (
	sure doubtKind = iota
	alone
	unconfirmed
	crossed
	zeroed
	doubtKinds
)

var doubtWords = [doubtKinds]string{
	alone:       "no request seen",
	unconfirmed: "not confirmed: the appliance did not answer",
	crossed:     "the appliance answered a write as if it were a read",
	zeroed:      "acknowledged as 0, which is not what was asked for",
}

// rule is a mapping made ready for the hot path: all words are made beforehand.
type rule struct {
	point     decode.Point
	part      Part
	kind      DataType
	low, high float64 // specified range; none where equal
	zeroUnset bool    // 0 means that the appliance states nothing
	within    [doubtKinds]string
	outside   [doubtKinds]string
}

// idRules is what one data id gives: at most two values.
type idRules struct {
	n      uint8
	origin origin
	rules  [2]rule
}

// rulesOf makes the rules of every data id.
func rulesOf(hotWater decode.Point) *[256]idRules {
	var all [256]idRules
	for _, m := range mappings(hotWater) {
		f := Lookup(m.id).Fields[m.field]
		r := rule{point: m.point, part: f.Part, kind: f.Type, low: f.Low, high: f.High, zeroUnset: m.id == 15}
		for k := range doubtKinds {
			r.within[k] = doubtWords[k]
			r.outside[k] = outsideWords(f, doubtWords[k])
		}
		e := &all[m.id]
		e.rules[e.n], e.origin = r, m.origin
		e.n++
	}
	return &all
}

func outsideWords(f Field, doubt string) string {
	s := fmt.Sprintf("outside %s to %s, the range of OpenTherm v2.2", quantity(f.Low, ""), quantity(f.High, f.Unit))
	if doubt != "" {
		s = doubt + "; " + s
	}
	return s
}
