package modbus

import (
	"cmp"
	"fmt"
	"slices"
)

// Function is a Modbus function code that reads registers. There are two, and no other is ever sent.
type Function uint8

// The functions (MODBUS Application Protocol Specification V1.1b3, 6.3 and 6.4).
const (
	ReadHolding Function = 3
	ReadInput   Function = 4
)

// Longest is the most registers that one request may ask for (V1.1b3, 6.3 and 6.4: 0x7D).
const Longest = 125

// Block is what one request asks for, or registers that belong together and are never asked for in two.
type Block struct {
	Unit     uint8 // of the device, when it is not the source's own; 0: the source's own
	Function Function
	First    uint16 // address of the first register, from 0 as on the wire
	Count    int    // of registers
}

// Last is the address of the last register.
func (b Block) Last() int { return int(b.First) + b.Count - 1 }

// Channel names the block in records: "holding 100-103", "unit 5 input 7-7".
func (b Block) Channel() string {
	table := "holding"
	if b.Function == ReadInput {
		table = "input"
	}
	s := fmt.Sprintf("%s %d-%d", table, b.First, b.Last())
	if b.Unit != 0 {
		s = fmt.Sprintf("unit %d %s", b.Unit, s)
	}
	return s
}

// check says what no request can ask for, or nil.
func (b Block) check() error {
	switch {
	case b.Function != ReadHolding && b.Function != ReadInput:
		return fmt.Errorf("function %d: only 3 and 4, which read registers, are ever sent", b.Function)
	case b.Count < 1 || b.Count > Longest:
		return fmt.Errorf("%s: a request asks for 1 to %d registers", b.Channel(), Longest)
	case b.Last() > 65535:
		return fmt.Errorf("%s: the last address is 65535", b.Channel())
	}
	return nil
}

// Plan puts wanted registers together into as few requests as can be: what lies side by side, or has no more than gap
// registers between, is asked for in one, up to longest registers (0: [Longest]). What belongs together stays
// together, so that no counter is torn between two answers. The blocks come in order of device, function and address.
func Plan(wanted []Block, gap, longest int) []Block {
	if longest <= 0 || longest > Longest {
		longest = Longest
	}
	sorted := slices.Clone(wanted)
	slices.SortFunc(sorted, func(a, b Block) int {
		return cmp.Or(cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Function, b.Function), cmp.Compare(a.First, b.First), cmp.Compare(b.Count, a.Count))
	})
	var plan []Block
	for _, w := range sorted {
		if len(plan) > 0 {
			p := &plan[len(plan)-1]
			count := max(p.Last(), w.Last()) - int(p.First) + 1
			inside := w.Last() <= p.Last()
			if p.Unit == w.Unit && p.Function == w.Function && int(w.First) <= p.Last()+1+gap && (inside || count <= longest) {
				p.Count = count
				continue
			}
		}
		plan = append(plan, w)
	}
	return plan
}
