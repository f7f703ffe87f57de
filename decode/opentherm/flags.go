package opentherm

import (
	"fmt"
	"strings"
)

// bitField is one bit, or a few, of a flag byte.
type bitField struct {
	at, width uint8    // lowest bit, number of bits
	name      string   // what a set bit means; of several bits, what they tell
	words     []string // by value; where a clear bit means something too, or there are several bits
	mark      string   // said behind it, where it is not from v2.2
}

const (
	markLater  = " (after v2.2)"
	markMemory = " (after v2.2, from memory)"
)

func bit(at uint8, name string) bitField { return bitField{at: at, width: 1, name: name} }

func either(at uint8, clear, set string) bitField {
	return bitField{at: at, width: 1, words: []string{clear, set}}
}

func (b bitField) marked(mark string) bitField {
	b.mark = mark
	return b
}

// The flag bytes; bits that no line names are reserved.
var (
	masterStatus = []bitField{ // 5.3.1
		bit(0, "heating enabled"),
		bit(1, "hot water enabled"),
		bit(2, "cooling enabled"),
		bit(3, "outside-temperature compensation active"),
		bit(4, "circuit 2 enabled"),
		bit(5, "summer mode").marked(markMemory),
		bit(6, "hot water blocked").marked(markLater),
	}
	slaveStatus = []bitField{ // 5.3.1
		bit(0, "fault (see data id 5)"),
		bit(1, "heating active"),
		bit(2, "hot water active"),
		bit(3, "flame on"),
		bit(4, "cooling active"),
		bit(5, "circuit 2 active"),
		bit(6, "diagnostic event (see data id 115)"),
		bit(7, "electricity production on").marked(markMemory),
	}
	masterConfiguration = []bitField{bit(0, "smart power mode").marked(markMemory)} // 5.3.2: all reserved in v2.2
	slaveConfiguration  = []bitField{                                               // 5.3.2
		either(0, "no hot water", "hot water present"),
		either(1, "modulating", "on/off only"),
		either(2, "no cooling", "cooling"),
		either(3, "hot water instantaneous or not stated", "hot water from a storage cylinder"),
		either(4, "controller may use low-off and pump control", "controller may not use low-off and pump control"),
		either(5, "no circuit 2", "circuit 2"),
		bit(6, "remote water filling not available").marked(markMemory),
		bit(7, "the appliance switches between heating and cooling").marked(markMemory),
	}
	faultFlags = []bitField{ // 5.3.1
		bit(0, "service due"),
		bit(1, "lockout reset over the bus is allowed (a permission, not a fault)"),
		bit(2, "low water pressure"),
		bit(3, "gas or flame fault"),
		bit(4, "air-pressure fault"),
		bit(5, "water over-temperature"),
	}
	remoteParameters = []bitField{ // 5.3.5
		bit(0, "hot-water set-point"),
		bit(1, "highest flow set-point"),
	}
	overruleFlags = []bitField{ // 5.3.8.3
		either(0, "a manual change may not overrule", "a manual change may overrule"),
		either(1, "a programmed change may not overrule", "a programmed change may overrule"),
	}
	ventilationMaster = []bitField{
		bit(0, "ventilation enabled"), bit(1, "bypass position"), bit(2, "bypass mode"), bit(3, "free ventilation"),
	}
	ventilationSlave = []bitField{
		bit(0, "fault"), bit(1, "ventilation active"), bit(2, "bypass status"), bit(3, "bypass automatic"),
		bit(4, "free ventilation"), bit(5, "diagnostic event, by one library"),
		bit(6, "diagnostic event, from memory"),
	}
	ventilationConfiguration = []bitField{bit(0, "system type"), bit(1, "bypass"), bit(2, "speed control")}
	ventilationParameters    = []bitField{bit(0, "nominal ventilation").marked(markMemory)}
	solarMaster              = []bitField{{at: 0, width: 3, name: "solar mode"}}
	solarSlave               = []bitField{
		bit(0, "fault"), {at: 1, width: 3, name: "solar mode"}, {at: 4, width: 2, name: "solar status"},
	}
	unnamedBits []bitField // a flag byte whose bits no source read names
)

// flagWords spells a flag byte out: what is set, in bit order; what is clear where that means something too.
func flagWords(bits []bitField, b uint8) string {
	var words []string
	rest := b
	for _, f := range bits {
		mask := uint8(1<<f.width-1) << f.at
		v := b & mask >> f.at
		rest &^= mask
		switch {
		case f.words != nil:
			words = append(words, f.words[v]+f.mark)
		case f.width > 1:
			words = append(words, fmt.Sprintf("%s %d%s", f.name, v, f.mark))
		case v != 0:
			words = append(words, f.name+f.mark)
		}
	}
	for i := range 8 {
		if rest>>i&1 != 0 {
			words = append(words, fmt.Sprintf("bit %d set (reserved or not known)", i))
		}
	}
	if words == nil {
		return "nothing set"
	}
	return strings.Join(words, ", ")
}
