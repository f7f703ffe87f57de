package mbus

import (
	"cmp"
	"fmt"
	"slices"

	"tundish/decode"
)

// mostUnused is how many different values without a point are counted apart. Own choice: meters keep up to 36 months of
// several quantities.
const mostUnused = 512

// counts is what a [Decoder] counts, apart from the values without a point.
type counts struct {
	records, telegrams, readings, doubtful, values        uint64
	acks, overheard, damaged, brokenOff, application      uint64
	otherCI, locked, layout, notYours, maker, more, notes uint64
	faulty, powerLow, busy                                uint64
	digits, refused, none, unknown, qualified, manyUnused uint64
	otherUnit, again, impossible                          uint64
}

// Tally says what was counted so far. The first entries are always there, in this order; behind them stands one for each
// value of now, or of a storage, tariff or subunit, that has no point.
func (d *Decoder) Tally() []decode.Count {
	n := d.n
	t := []decode.Count{
		{Name: "records", N: n.records},
		{Name: "telegrams", N: n.telegrams},
		{Name: "values", N: n.values},
		{Name: "readings", N: n.readings},
		{Name: "doubtful readings", N: n.doubtful},
		{Name: "acknowledgements", N: n.acks},
		{Name: "requests overheard", N: n.overheard},
		{Name: "neither a frame nor one in hexadecimal", N: n.layout},
		{Name: "damaged frames", N: n.damaged},
		{Name: "telegrams that break off", N: n.brokenOff},
		{Name: "errors answered", N: n.application},
		{Name: "kinds of answer not read here", N: n.otherCI},
		{Name: "encrypted telegrams", N: n.locked},
		{Name: "meter not in the job sheet", N: n.notYours},
		{Name: "telegrams with the maker's own data", N: n.maker},
		{Name: "telegrams followed by more", N: n.more},
		{Name: "telegrams of a meter with an error", N: n.faulty},
		{Name: "telegrams of a meter with low power", N: n.powerLow},
		{Name: "telegrams of a busy meter", N: n.busy},
		{Name: "values of digits that are none", N: n.digits},
		{Name: "values the meter says it has not", N: n.refused},
		{Name: "values that stand for none", N: n.none},
		{Name: "values of an unknown quantity", N: n.unknown},
		{Name: "values of another meaning than the plain one", N: n.qualified},
		{Name: "values in a unit that the point cannot have", N: n.otherUnit},
		{Name: "values given a second time", N: n.again},
		{Name: "values that cannot be", N: n.impossible},
		{Name: "notes passed over", N: n.notes},
	}
	keys := make([]Key, 0, len(d.unused))
	for k := range d.unused {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b Key) int {
		return cmp.Or(cmp.Compare(a.Quantity, b.Quantity), cmp.Compare(a.Function, b.Function), cmp.Compare(a.Storage, b.Storage),
			cmp.Compare(a.Tariff, b.Tariff), cmp.Compare(a.Subunit, b.Subunit))
	})
	for _, k := range keys {
		t = append(t, decode.Count{Name: fmt.Sprintf("%s, no point", k), N: d.unused[k]})
	}
	if n.manyUnused > 0 {
		t = append(t, decode.Count{Name: "further values, no point", N: n.manyUnused})
	}
	return t
}
