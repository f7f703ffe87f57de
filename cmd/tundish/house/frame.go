package house

import (
	"math"
	"math/bits"
)

// Message types (OpenTherm Protocol Specification v2.2, 4.2.2).
const (
	readData      = 0
	writeData     = 1
	readAck       = 4
	writeAck      = 5
	unknownDataID = 7
)

// frame makes a frame with even parity (OpenTherm Protocol Specification v2.2, 4.2): parity, type, four spare bits,
// data id, value.
func frame(kind, id uint8, value uint16) uint32 {
	f := uint32(kind&7)<<28 | uint32(id)<<16 | uint32(value)
	return f | uint32(bits.OnesCount32(f)&1)<<31
}

// f88 is a value in 1/256, rounded to its device's step first (OpenTherm Protocol Specification v2.2, 5.1).
func f88(v, step float64) uint16 {
	if step > 0 {
		v = math.Round(v/step) * step
	}
	return uint16(int16(math.Round(min(max(v, -128), 127.99609375) * 256)))
}

func pair(high, low uint8) uint16 { return uint16(high)<<8 | uint16(low) }

// crc8 is the 1-Wire checksum: x⁸+x⁵+x⁴+1, least significant bit first, start 0 (DS18B20 datasheet, CRC generation).
func crc8(data []byte) (crc byte) {
	for _, b := range data {
		crc ^= b
		for range 8 {
			if crc&1 != 0 {
				crc = crc>>1 ^ 0x8C
			} else {
				crc >>= 1
			}
		}
	}
	return crc
}
