package onewire

import (
	"errors"
	"fmt"
)

// The reasons for which a scratchpad gives no temperature; find them with [errors.Is].
var (
	ErrChecksum      = errors.New("the checksum of the 9 bytes is wrong")
	ErrZero          = errors.New("all 9 bytes are 0: the bus is held low, or the probe is gone")
	ErrConfiguration = errors.New("byte 4 is not a configuration that this family can have")
	ErrPowerOn       = errors.New("power-on value: the probe has not measured")
	ErrPower         = errors.New("07FF: the probe has too little power to measure")
	ErrRange         = errors.New("outside −55 to 125 °C, the range of the probe")
	ErrCounts        = errors.New("bytes 6 and 7 are not counts that this family can have")
)

// The range of the probes, °C (DS18B20 datasheet, DS18S20 datasheet).
const (
	lowestC  = -55
	highestC = 125
)

// powerOnC is what every probe shows before its first conversion, °C (DS18B20 datasheet, memory map).
const powerOnC = 85

// Words that stand for something other than a temperature.
const (
	powerOnWord        = 0x0550 // 85 °C, in the scale of 1/16 °C
	powerOnWordDS18S20 = 0x00AA // 85 °C, in its scale of 1/2 °C (DS18S20 datasheet)
	noPowerWord        = 0x07FF // 127.9375 °C: a conversion with too little power (kernel documentation of w1_therm)
)

// powerOnByte6 stands in byte 6 until the first conversion (older DS18B20 datasheets; the kernel driver's test).
const powerOnByte6 = 0x0C

// Family is the family code of a probe, the first byte of its ROM.
type Family uint8

// The families read here.
const (
	DS18S20  Family = 0x10
	DS1822   Family = 0x22
	DS18B20  Family = 0x28
	DS1825   Family = 0x3B
	DS28EA00 Family = 0x42
)

func (f Family) known() bool {
	switch f {
	case DS18S20, DS1822, DS18B20, DS1825, DS28EA00:
		return true
	}
	return false
}

// Scratchpad is the memory of a probe, as read.
type Scratchpad [9]byte

// crc8 is the checksum of 1-Wire: x⁸+x⁵+x⁴+1, least significant bit first, start 0 (DS18B20 datasheet, CRC
// generation; Maxim application note 27). Over data with its checksum behind it the result is 0.
func crc8(b []byte) uint8 {
	var crc uint8
	for _, c := range b {
		crc = crcTable[crc^c]
	}
	return crc
}

var crcTable = func() (t [256]uint8) {
	const polynomial = 0x8C // the bits of 0x31 mirrored
	for i := range t {
		crc := uint8(i)
		for range 8 {
			low := crc & 1
			crc >>= 1
			if low != 0 {
				crc ^= polynomial
			}
		}
		t[i] = crc
	}
	return t
}()

// word is the temperature register.
func (s *Scratchpad) word() int16 { return int16(uint16(s[1])<<8 | uint16(s[0])) }

// Celsius gives the temperature in °C. The step is 1/2, 1/4, 1/8 or 1/16 °C by the configuration, bits below it are
// undefined and cut off; of a DS18S20 it is one part in byte 7, usually 1/16 °C. The error says why there is none.
func (s *Scratchpad) Celsius(f Family) (float64, error) {
	switch {
	case *s == Scratchpad{}:
		return 0, ErrZero // eight zero bytes have checksum 0: nothing else would notice
	case crc8(s[:]) != 0:
		return 0, ErrChecksum
	case f == DS18S20:
		return s.extended()
	case !s.configured(f):
		return 0, ErrConfiguration
	}
	w := s.word()
	switch {
	case w == noPowerWord:
		return 0, ErrPower
	case w == powerOnWord && s[6] == powerOnByte6:
		return 0, ErrPowerOn
	}
	undefined := 3 - s[4]>>5&3 // low bits that the resolution leaves undefined
	c := float64(w&^(1<<undefined-1)) / 16
	if c < lowestC || c > highestC {
		return 0, ErrRange
	}
	return c, nil
}

// configured tells whether byte 4 is 0 R1 R0 1 1111. A DS1825 has its address pins in the low bits (from memory).
func (s *Scratchpad) configured(f Family) bool {
	if f == DS1825 {
		return s[4]&0x90 == 0x10
	}
	return s[4]&0x9F == 0x1F
}

// extended gives the temperature of a DS18S20: the register in half degrees without its lowest bit, less a quarter,
// plus the share of a degree that bytes 6 (count remaining) and 7 (counts for a degree) tell (formula of the DS18S20
// datasheet, as published code quotes it).
func (s *Scratchpad) extended() (float64, error) {
	remain, perDegree := s[6], s[7]
	if perDegree == 0 || remain > perDegree {
		return 0, ErrCounts
	}
	c := float64(s.word()>>1) - 0.25 + float64(perDegree-remain)/float64(perDegree)
	if c < lowestC || c > highestC {
		return 0, ErrRange
	}
	return c, nil
}

// suspect tells whether the register is what it is after power-on, whatever byte 6 says: not all parts keep it. A
// DS18S20 has 0C there at a true 85 °C too.
func (s *Scratchpad) suspect(f Family) bool {
	if f == DS18S20 {
		return s.word() == powerOnWordDS18S20
	}
	return s.word() == powerOnWord
}

// millidegrees is what the kernel's driver makes of the register of the 1/16 °C families: in integers, cut toward
// zero, undefined bits included.
func (s *Scratchpad) millidegrees() int { return int(s.word()) * 1000 / 16 }

func (f Family) String() string {
	switch f {
	case DS18S20:
		return "DS18S20"
	case DS1822:
		return "DS1822"
	case DS18B20:
		return "DS18B20"
	case DS1825:
		return "DS1825"
	case DS28EA00:
		return "DS28EA00"
	}
	return fmt.Sprintf("family %02X", uint8(f))
}
