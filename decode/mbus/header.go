package mbus

import (
	"encoding/binary"
	"fmt"
)

// Header is what stands before the records. Of a short header only Access, Status and Config are known, of none nothing.
type Header struct {
	Known   bool   // it names the meter: id, manufacturer, version, medium
	ID      uint32 // 8 BCD digits, as they print in hexadecimal
	Maker   uint16 // [MakerLetters]
	Version uint8
	Medium  Medium
	Access  uint8 // counts telegrams
	Status  Status
	Config  uint16 // neither 0 nor FFFF: encrypted or special
}

// IDText gives the 8 digits of the meter's number.
func (h Header) IDText() string { return fmt.Sprintf("%08X", h.ID) }

// MakerLetters gives the three letters that a manufacturer's code stands for (EN 13757-3; MB 6.3.1): five bits each,
// 1 is A. A code that stands for none is given in hexadecimal.
func MakerLetters(code uint16) string {
	var t [3]byte
	for i := range t {
		n := byte(code>>(5*(2-i))) & 0x1F
		if n < 1 || n > 26 || code > 0x7FFF {
			return fmt.Sprintf("%04X", code)
		}
		t[i] = 'A' + n - 1
	}
	return string(t[:])
}

// MakerCode is the inverse for three letters A to Z; false: it is not that.
func MakerCode(letters string) (code uint16, ok bool) {
	if len(letters) != 3 {
		return 0, false
	}
	for i := range 3 {
		c := letters[i]
		if c < 'A' || c > 'Z' {
			return 0, false
		}
		code = code<<5 | uint16(c-'A'+1)
	}
	return code, true
}

const (
	longHeader  = 12
	shortHeader = 4
)

// parseLong reads the header of 12 bytes; backwards: high byte first.
func parseLong(b []byte, backwards bool) Header {
	order := binary.ByteOrder(binary.LittleEndian)
	if backwards {
		order = binary.BigEndian
	}
	h := Header{Known: true, ID: order.Uint32(b), Maker: order.Uint16(b[4:]), Version: b[6], Medium: Medium(b[7])}
	h.Access, h.Status, h.Config = b[8], Status(b[9]), order.Uint16(b[10:])
	return h
}

// Status is the status byte (EN 13757-3:2013, table 7; EN 13757-7, 7.5.6).
type Status uint8

const (
	statusError     = 0x02 // of bits 1–0: any application error
	statusAbnormal  = 0x03 // of bits 1–0: abnormal condition; reserved before 2013
	statusPowerLow  = 0x04
	statusPermanent = 0x08
	statusTemporary = 0x10
)

// Fault says in words what the meter thinks is wrong with its values; empty: nothing. Power that is low is no fault of
// a value, see [Status.PowerLow]. Bits 7 to 5 are the maker's own.
func (s Status) Fault() string {
	switch {
	case s&statusPermanent != 0:
		return "the meter reports a permanent error"
	case s&statusTemporary != 0:
		return "the meter reports a temporary error"
	case s&3 == statusAbnormal:
		return "the meter reports an abnormal condition"
	case s&3 == statusError:
		return "the meter reports an application error"
	}
	return ""
}

// PowerLow tells whether its battery, or its supply, is low.
func (s Status) PowerLow() bool { return s&statusPowerLow != 0 }

// Busy tells that it had no time for an answer.
func (s Status) Busy() bool { return s&3 == 1 }

// Medium is what is metered (EN 13757-7, device types; MB 8.4.1).
type Medium uint8

// Those that matter here.
const (
	MediumElectricity  Medium = 0x02
	MediumGas          Medium = 0x03
	MediumHeat         Medium = 0x04 // flow sensor in the return
	MediumWarmWater    Medium = 0x06
	MediumWater        Medium = 0x07
	MediumHeatInflow   Medium = 0x0C // flow sensor in the flow
	MediumHeatAndCold  Medium = 0x0D
	MediumUnknown      Medium = 0x0F
	mediumOther        Medium = 0x00
	mediumCoolingOut   Medium = 0x0A
	mediumCoolingIn    Medium = 0x0B
	mediumHotWater     Medium = 0x15
	mediumColdWater    Medium = 0x16
	mediumCostAllotter Medium = 0x08
	mediumRoomSensor   Medium = 0x1B
)

var mediumNames = map[Medium]string{
	mediumOther: "other", MediumElectricity: "electricity", MediumGas: "gas", MediumHeat: "heat, flow sensor in the return",
	MediumWarmWater: "warm water", MediumWater: "water", mediumCostAllotter: "heat cost allocator",
	mediumCoolingOut: "cooling, flow sensor in the outlet", mediumCoolingIn: "cooling, flow sensor in the inlet",
	MediumHeatInflow: "heat, flow sensor in the flow", MediumHeatAndCold: "heat and cooling", MediumUnknown: "unknown",
	mediumHotWater: "hot water", mediumColdWater: "cold water", mediumRoomSensor: "room sensor",
}

func (m Medium) String() string {
	if n, ok := mediumNames[m]; ok {
		return n
	}
	return fmt.Sprintf("device type %02X", uint8(m))
}

// heats tells whether it meters heat that is given off.
func (m Medium) heats() bool {
	return m == MediumHeat || m == MediumHeatInflow || m == MediumHeatAndCold
}
