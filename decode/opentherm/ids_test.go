package opentherm

import (
	"slices"
	"strings"
	"testing"
)

// OpenTherm Protocol Specification v2.2, 5.4: the ids in its list; 5.3.5 keeps 51–55 and 59–63 free.
var idsOfV22 = slices.Concat(span(0, 33), span(48, 50), span(56, 58), span(100, 100), span(115, 127))

// Ids in the lists of general-purpose protocol libraries that v2.2 does not have.
var idsAfterV22 = slices.Concat(span(34, 39), span(70, 91), span(93, 99), span(101, 114))

func span(from, to int) (ids []uint8) {
	for id := from; id <= to; id++ {
		ids = append(ids, uint8(id))
	}
	return ids
}

func TestEveryIDIsInTheTable(t *testing.T) {
	free := slices.Concat(span(51, 55), span(59, 63))
	unassigned := slices.Concat(span(40, 47), span(64, 69), span(92, 92))
	for id := range 256 {
		e := Lookup(uint8(id))
		want, origin := Assigned, NoOrigin
		switch i := uint8(id); {
		case slices.Contains(idsOfV22, i):
			origin = FromV22
		case slices.Contains(idsAfterV22, i):
			origin = AfterV22
		case slices.Contains(free, i):
			want, origin = KeptFree, FromV22
		case slices.Contains(unassigned, i):
			want = Unassigned
		case id >= 128:
			want, origin = Makers, FromV22
		default:
			t.Fatalf("id %d is in none of the test's lists", id)
		}
		if e.Standing != want || e.Origin != origin || e.ID != uint8(id) || e.Name == "" {
			t.Errorf("id %d: standing %d, %s, name %q; want standing %d, %s", id, e.Standing, e.Origin, e.Name, want, origin)
		}
		if want == Assigned {
			checkEntry(t, e)
		}
	}
}

// checkEntry holds an assigned entry to what every one needs.
func checkEntry(t *testing.T, e Entry) {
	if e.Class < 1 || e.Class > 8 || e.Dir == 0 {
		t.Errorf("id %d: class %d, direction %d", e.ID, e.Class, e.Dir)
	}
	if (e.Origin == FromV22) != strings.HasPrefix(e.Clause, "5.") {
		t.Errorf("id %d: %s, clause %q", e.ID, e.Origin, e.Clause)
	}
	n := 0
	for i, f := range e.Fields {
		if f.Part == NoPart {
			continue
		}
		n++
		switch {
		case f.Type == NoType:
			t.Errorf("id %d: field %d has no type", e.ID, i)
		case f.Part == Word && (i != 0 || !f.Type.wide() && f.Type != Special):
			t.Errorf("id %d: field %d is a whole word of type %s", e.ID, i, f.Type)
		case f.Part != Word && f.Type.wide():
			t.Errorf("id %d: field %d is one byte of type %s", e.ID, i, f.Type)
		case f.Low > f.High:
			t.Errorf("id %d: field %d from %v to %v", e.ID, i, f.Low, f.High)
		}
		for _, b := range f.bits {
			if b.words != nil && len(b.words) != 1<<b.width || b.at+b.width > 8 || b.words == nil && b.name == "" {
				t.Errorf("id %d: field %d has a bad flag at bit %d", e.ID, i, b.at)
			}
		}
	}
	if n == 0 {
		t.Errorf("id %d has no field", e.ID)
	}
}

// 5.2: mandatory ids.
func TestMandatoryIDs(t *testing.T) {
	master, slave := []uint8{0, 1, 3}, []uint8{0, 1, 3, 14, 17, 25}
	for id := range 256 {
		e := Lookup(uint8(id))
		if e.Master != slices.Contains(master, e.ID) || e.Slave != slices.Contains(slave, e.ID) {
			t.Errorf("id %d: mandatory for master %v, for slave %v", id, e.Master, e.Slave)
		}
	}
}

// 5.3 and 5.4: types and ranges of the values that diagnosis rests on.
func TestTypesAndRanges(t *testing.T) {
	tests := []struct {
		id        uint8
		field     int
		kind      DataType
		unit      string
		low, high float64
	}{
		{1, 0, F88, "°C", 0, 100}, {8, 0, F88, "°C", 0, 100}, {9, 0, F88, "°C", 0, 30}, {14, 0, F88, "%", 0, 100},
		{15, 0, U8, "kW", 0, 255}, {15, 1, U8, "%", 0, 100}, {16, 0, F88, "°C", -40, 127}, {17, 0, F88, "%", 0, 100},
		{18, 0, F88, "bar", 0, 5}, {19, 0, F88, "l/min", 0, 16}, {24, 0, F88, "°C", -40, 127},
		{25, 0, F88, "°C", -40, 127}, {26, 0, F88, "°C", -40, 127}, {27, 0, F88, "°C", -40, 127},
		{28, 0, F88, "°C", -40, 127}, {33, 0, S16, "°C", -40, 500}, {48, 0, S8, "°C", 0, 127}, {56, 0, F88, "°C", 0, 127},
		{57, 0, F88, "°C", 0, 127}, {116, 0, U16, "starts", 0, 0}, {120, 0, U16, "h", 0, 0},
	}
	for _, tt := range tests {
		f := Lookup(tt.id).Fields[tt.field]
		if f.Type != tt.kind || f.Unit != tt.unit || f.Low != tt.low || f.High != tt.high {
			t.Errorf("id %d field %d: %s %q %v to %v", tt.id, tt.field, f.Type, f.Unit, f.Low, f.High)
		}
	}
}
