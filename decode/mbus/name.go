package mbus

import (
	"fmt"
	"strconv"
	"strings"
)

var functionNames = [4]string{"", "max", "min", "error"}

// String is the key's name in job sheets and tables: "energy", "energy storage 1", "power max tariff 2".
func (k Key) String() string {
	t := k.Quantity.String()
	if k.Function != Instantaneous {
		t += " " + functionNames[k.Function&3]
	}
	for _, x := range []struct {
		word string
		n    uint64
	}{{"storage", k.Storage}, {"tariff", uint64(k.Tariff)}, {"subunit", uint64(k.Subunit)}} {
		if x.n != 0 {
			t += " " + x.word + " " + strconv.FormatUint(x.n, 10)
		}
	}
	return t
}

// ParseKey is the inverse of [Key.String].
func ParseKey(name string) (k Key, err error) {
	words := strings.Fields(name)
	if len(words) == 0 {
		return k, fmt.Errorf("%q names no value of a meter", name)
	}
	if k.Quantity = quantityOf(words[0]); k.Quantity == NoQuantity {
		return k, fmt.Errorf("%q is no quantity that meters tell; known: %s", words[0], strings.Join(Mappable(), ", "))
	}
	for i := 1; i < len(words); i++ {
		switch w := words[i]; w {
		case "max":
			k.Function = Maximum
		case "min":
			k.Function = Minimum
		case "error":
			k.Function = InError
		case "storage", "tariff", "subunit":
			if i++; i == len(words) {
				return k, fmt.Errorf("%q: %s wants a number", name, w)
			}
			n, err := strconv.ParseUint(words[i], 10, map[string]int{"storage": 41, "tariff": 20, "subunit": 10}[w])
			if err != nil {
				return k, fmt.Errorf("%q: %q is no %s", name, words[i], w)
			}
			switch w {
			case "storage":
				k.Storage = n
			case "tariff":
				k.Tariff = uint32(n)
			default:
				k.Subunit = uint16(n)
			}
		default:
			return k, fmt.Errorf("%q: %q is none of max, min, error, storage N, tariff N, subunit N", name, w)
		}
	}
	return k, nil
}

func quantityOf(name string) Quantity {
	for q := NoQuantity + 1; q < quantityCount; q++ {
		if quantityNames[q] == name {
			return q
		}
	}
	return NoQuantity
}

// Mappable lists the quantities that can be a point at all.
func Mappable() []string {
	var out []string
	for q := NoQuantity + 1; q < quantityCount; q++ {
		if len(pointsOf(q)) > 0 {
			out = append(out, q.String())
		}
	}
	return out
}

// Name is the record's key and what its VIFEs add: "energy, forward", "volume-flow, upper limit storage 1".
func (v *Value) Name() string {
	t := v.Key.String()
	if v.Quantity == NoQuantity && !v.fixed {
		table := ""
		if v.table != 0 {
			table = fmt.Sprintf("%02X ", v.table)
		}
		t += fmt.Sprintf(" (VIF %s%02X)", table, v.first&withoutMore)
	}
	if v.makers() {
		return t
	}
	for _, code := range v.chain[:v.chained] {
		if _, _, words := combinable(code); words != "" {
			t += ", " + words
		}
		if code&withoutMore == vifMaker {
			break
		}
	}
	return t
}

// UnitText is the unit: by the tables, or as the meter tells it in words.
func (v *Value) UnitText() string {
	if v.unitText != nil {
		return latin(v.unitText)
	}
	return v.Unit
}
