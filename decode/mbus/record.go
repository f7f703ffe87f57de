package mbus

import "errors"

// Key says which value of a quantity a record holds. The zero of all but Quantity is the plain value of now.
type Key struct {
	Quantity Quantity
	Function Function
	Storage  uint64 // 0: now; others are values kept by the meter
	Tariff   uint32 // 0: in total
	Subunit  uint16
}

// Now tells whether it is the value of now, in total, of the meter itself.
func (k Key) Now() bool { return k == Key{Quantity: k.Quantity} }

// Value is one record of a telegram. It refers to the telegram's bytes and is valid as long as they are.
type Value struct {
	Key
	Offset int    // of its DIF in the telegram, bytes
	Unit   string // "" for none
	Number float64
	Lack   Lack // Present: Number holds in Unit
	// Plain tells that nothing in the record makes Number something other than the quantity itself.
	Plain bool

	field     byte // kind of data, as in a DIF
	backwards bool // high byte first
	isText    bool
	unitText  []byte // of a unit told as text, last character first
	data      []byte
	first     byte // VIF, and the table it is of
	table     byte
	chain     [longestChain]byte // VIFEs behind the table's own
	chained   int
	fixed     bool // of the older structure, which has no VIF
}

// The reasons for which the records of a telegram cannot be read on; find them with [errors.Is].
var (
	ErrCut      = errors.New("a record ends behind the telegram")
	ErrDIFs     = errors.New("more than ten DIFE")
	ErrVIFs     = errors.New("more than ten VIFE")
	ErrReserved = errors.New("a reserved code, whose length nobody knows")
)

// The special DIFs (EN 13757-3, 6.3; MB 6.3).
const (
	difMaker     = 0x0F
	difMakerMore = 0x1F
	difFiller    = 0x2F
	difReadAll   = 0x7F
)

// tail is what stands behind the records.
type tail struct {
	maker int // offset of the maker's own data, −1: none
	more  bool
}

// records walks over the records of b, which lies at offset in the telegram. What comes before an error has been given.
func (r *reader) records(b []byte, offset int, backwards bool, each func(*Value)) (t tail, at int, err error) {
	t.maker = -1
	v := &r.v
	for i := 0; i < len(b); {
		switch b[i] {
		case difFiller:
			i++
			continue
		case difMaker, difMakerMore:
			t.maker, t.more = offset+i+1, b[i] == difMakerMore
			return t, 0, nil
		case difReadAll:
			i++
			continue
		}
		*v = Value{Offset: offset + i, backwards: backwards}
		n, err := v.parse(b[i:])
		if err != nil {
			return t, offset + min(i+n, len(b)), err
		}
		each(v)
		i += n
	}
	return t, 0, nil
}

// parse takes the record that b begins with, and says how long it is, or how far it could be read.
func (v *Value) parse(b []byte) (int, error) {
	i, err := v.dif(b)
	if err != nil {
		return i, err
	}
	n, err := v.vif(b[i:])
	if i += n; err != nil {
		return i, err
	}
	length, negative := int(fieldLengths[v.field]), false
	if v.field == fieldVariable {
		if i >= len(b) {
			return i, ErrCut
		}
		var ok bool
		length, v.field, negative, v.isText, ok = variable(b[i])
		if !ok {
			return i, ErrReserved
		}
		i++
	}
	if len(b)-i < length {
		return len(b), ErrCut
	}
	v.data = b[i : i+length]
	v.read(negative)
	return i + length, nil
}

// dif takes DIF and DIFEs.
func (v *Value) dif(b []byte) (int, error) {
	d := b[0]
	v.field = d & 0xF
	if v.field == fieldSpecial {
		return 0, ErrReserved
	}
	v.Function = Function(d >> 4 & 3)
	v.Storage = uint64(d >> 6 & 1)
	i := 1
	for k := 0; d&moreFollows != 0; k++ {
		if k == longestChain {
			return i, ErrDIFs
		}
		if i >= len(b) {
			return i, ErrCut
		}
		d = b[i]
		i++
		v.Storage |= uint64(d&0xF) << (4*k + 1)
		v.Tariff |= uint32(d>>4&3) << (2 * k)
		v.Subunit |= uint16(d>>6&1) << k
	}
	return i, nil
}

// vif takes VIF and VIFEs, and a unit told as text behind them.
func (v *Value) vif(b []byte) (int, error) {
	if len(b) == 0 {
		return 0, ErrCut
	}
	i, code := 1, b[0]
	v.first = code
	if code == vifSecondFB || code == vifSecondFD {
		if len(b) < 2 {
			return 1, ErrCut
		}
		v.table, code, i = code, b[1], 2
		v.first = code
	}
	for more := code&moreFollows != 0; more; i++ {
		if v.chained == longestChain {
			return i, ErrVIFs
		}
		if i >= len(b) {
			return i, ErrCut
		}
		v.chain[v.chained] = b[i]
		v.chained++
		more = b[i]&moreFollows != 0
	}
	if v.table == 0 && code&withoutMore == vifText {
		if i >= len(b) || len(b)-i-1 < int(b[i]) {
			return i, ErrCut
		}
		v.unitText = b[i+1 : i+1+int(b[i])]
		i += 1 + int(b[i])
	}
	return i, nil
}

// read makes the number of the data.
func (v *Value) read(negative bool) {
	m := v.meaning()
	v.Quantity, v.Unit = m.quantity, m.unit
	v.Plain = v.Quantity != NoQuantity && v.Quantity != MakersOwn && v.Quantity != AnyQuantity
	if v.isText || v.field == fieldReadOut || v.isWhen() {
		v.Lack = NoData
		v.qualify()
		return
	}
	if len(v.data) > 8 || v.field == 0x9 && len(v.data) > 7 {
		v.Lack = TooWide
		v.qualify()
		return
	}
	var low [8]byte
	b := v.data
	if v.backwards {
		for i, x := range b {
			low[len(b)-1-i] = x
		}
		b = low[:len(b)]
	}
	v.Number, v.Lack = number(v.field, v.Quantity.bits(), b)
	if negative {
		v.Number = -v.Number
	}
	if e, scaled := v.qualify(); scaled {
		v.Number = scale(v.Number, int(m.exp)+e)
	}
	if v.Lack != Present {
		v.Number = 0
	}
}

// qualify takes the VIFEs: how far they move the decade, and whether the VIF's decade holds at all.
func (v *Value) qualify() (exp int, scaled bool) {
	scaled = true
	if v.makers() { // and what its VIFEs mean is the maker's to say
		return 0, false
	}
	for _, code := range v.chain[:v.chained] {
		e, by, _ := combinable(code)
		switch e {
		case multiplies:
			exp += int(by)
			continue
		case spoils:
			v.Lack = Refused
		case eventCount, replaces:
			scaled, v.Unit = false, ""
		}
		v.Plain = false
		if code&withoutMore == vifMaker { // what follows is the maker's
			break
		}
	}
	return exp, scaled
}

// makers tells whether the VIF is the maker's own.
func (v *Value) makers() bool { return v.table == 0 && v.first&withoutMore == vifMaker }

func (v *Value) meaning() meaning {
	switch v.table {
	case vifSecondFB:
		return secondFB[v.first&withoutMore]
	case vifSecondFD:
		return secondFD[v.first&withoutMore]
	}
	return primary[v.first&withoutMore]
}
