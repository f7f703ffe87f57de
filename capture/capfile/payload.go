package capfile

import (
	"bytes"
	"encoding/hex"
	"math/bits"
	"strconv"
)

// The forms in which a payload is kept. A form other than verbatim is used only where it gives the same bytes back.
const (
	formVerbatim = 0
	formLower    = 1 // one run of 8 hex digits, lower case, between a prefix and a suffix
	formUpper    = 2 // likewise, upper case
	formScratch  = 3 // a probe's scratchpad as the Linux kernel's w1_therm prints it
)

// frameDigits is the length of the run of hex digits that makes a line a frame: 32 bits.
const frameDigits = 8

// scratchLen is the length of a DS18B20 scratchpad with its CRC (DS18B20 datasheet, memory map).
const scratchLen = 9

const (
	lowerHex = "0123456789abcdef"
	upperHex = "0123456789ABCDEF"
)

func isHex(c byte) bool {
	return '0' <= c && c <= '9' || 'a' <= c && c <= 'f' || 'A' <= c && c <= 'F'
}

// frameAt finds the one run of exactly 8 hex digits; -1 where there is none or a second one.
func frameAt(p []byte) int {
	found := -1
	for i := 0; i < len(p); {
		if !isHex(p[i]) {
			i++
			continue
		}
		j := i
		for j < len(p) && isHex(p[j]) {
			j++
		}
		if j-i == frameDigits {
			if found >= 0 {
				return -1
			}
			found = i
		}
		i = j
	}
	return found
}

// frameForm reads 8 hex digits and tells which forms give the same digits back.
func frameForm(digits []byte) (v uint32, lower, upper bool) {
	lower, upper = true, true
	for _, c := range digits {
		switch {
		case c <= '9':
			v = v<<4 | uint32(c-'0')
		case c >= 'a':
			v, upper = v<<4|uint32(c-'a'+10), false
		default:
			v, lower = v<<4|uint32(c-'A'+10), false
		}
	}
	return v, lower, upper
}

func appendFrame(dst []byte, v uint32, digits string) []byte {
	return append(dst, digits[v>>28], digits[v>>24&15], digits[v>>20&15], digits[v>>16&15],
		digits[v>>12&15], digits[v>>8&15], digits[v>>4&15], digits[v&15])
}

// flipParity takes the top bit out where it makes the number of ones even, as it does in every sound OpenTherm
// frame (OpenTherm Protocol Specification v2.2, 4.2.1): the bit then is always 0 and costs nothing. It is its own
// inverse.
func flipParity(v uint32) uint32 {
	return v ^ uint32(bits.OnesCount32(v&0x7fffffff)&1)<<31
}

// scratchOf gives the 9 bytes behind the kernel's text, if the text is just what they give.
func scratchOf(p []byte) (s [scratchLen]byte, ok bool) {
	const width = 3 * scratchLen
	if len(p) < 2*width || len(p) > 128 {
		return s, false
	}
	for i := range s {
		if _, err := hex.Decode(s[i:i+1], p[3*i:3*i+2]); err != nil {
			return s, false
		}
	}
	var buf [128]byte
	return s, bytes.Equal(appendScratch(buf[:0], &s), p)
}

// scratchText is that text up to the temperature, with no bytes filled in, and where its parts begin.
const (
	scratchText  = "00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t="
	scratchCRC   = 3*scratchLen + len(": crc=")
	scratchAgain = scratchCRC + len("00 YES\n")
)

// appendScratch prints a scratchpad as the Linux kernel's w1_therm driver does (drivers/w1/slaves/w1_therm.c,
// w1_slave_show): the bytes, the CRC and its verdict; the bytes again and the temperature in 1/1000 °C, cut toward
// zero, at 12 bits.
func appendScratch(dst []byte, s *[scratchLen]byte) []byte {
	start := len(dst)
	dst = append(dst, scratchText...)
	text := dst[start:][:len(scratchText)]
	for i, b := range s {
		text[3*i], text[3*i+1] = lowerHex[b>>4], lowerHex[b&15]
	}
	copy(text[scratchCRC:scratchCRC+2], text[3*(scratchLen-1):])
	copy(text[scratchAgain:], text[:3*scratchLen])
	dst = strconv.AppendInt(dst, int64(scratchWord(s))*1000/16, 10)
	return append(dst, '\n')
}

// scratchWord is the temperature in 1/16 °C at 12 bits (DS18B20 datasheet, temperature register).
func scratchWord(s *[scratchLen]byte) int16 { return int16(uint16(s[0]) | uint16(s[1])<<8) }

// crc8 is the 1-Wire CRC, x⁸+x⁵+x⁴+1, reflected (DS18B20 datasheet, "CRC generation"). A sound scratchpad's ninth
// byte is the CRC of the first eight, so that their difference costs nothing.
func crc8(p []byte) byte {
	var crc byte
	for _, b := range p {
		crc = crc8Table[crc^b]
	}
	return crc
}

// crc8Table is the CRC of each single byte.
var crc8Table = func() (t [256]byte) {
	for i := range t {
		crc := byte(i)
		for range 8 {
			if crc&1 != 0 {
				crc = crc>>1 ^ 0x8c
			} else {
				crc >>= 1
			}
		}
		t[i] = crc
	}
	return t
}()
