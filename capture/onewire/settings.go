package onewire

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// Settings are what a probe's files say of how it measures; zero where a file is missing or makes no sense. They are
// read, never written: a resolution in the probe's memory is somebody's choice, its EEPROM wears, and every payload
// says the resolution it was taken at (byte 4 of the scratchpad).
type Settings struct {
	Bits       int           // 9 to 12
	Conversion time.Duration // the kernel's wait for one conversion
	Supply     Supply
}

// Supply is how a probe is fed.
type Supply uint8

// How a probe can be fed. The zero value is unknown.
const (
	SupplyUnknown  Supply = iota
	ParasiteSupply        // from the data line
	OwnSupply             // by a wire of its own
)

// conversions are the longest conversion times by resolution (DS18B20 datasheet: 93.75, 187.5, 375, 750 ms).
var conversions = map[int]time.Duration{9: 93750 * time.Microsecond, 10: 187500 * time.Microsecond,
	11: 375 * time.Millisecond, 12: ConversionTime}

// longestConversion is the most that conv_time is believed. Own choice: slow copies of the chips need somewhat more
// than 750 ms, none needs several times as much.
const longestConversion = 5 * time.Second

// StepK is the smallest change that the probe can show, K: 0.5 at 9 bits, 0.0625 at 12 (DS18B20 datasheet); 0 where
// the resolution is not known.
func (s Settings) StepK() float64 {
	if s.Bits == 0 {
		return 0
	}
	return 1 / float64(int(1)<<(s.Bits-8))
}

// String says it for a person; "" where nothing is known.
func (s Settings) String() string {
	var words []string
	if s.Bits > 0 {
		words = append(words, fmt.Sprintf("%d bits, a step is %v K", s.Bits, s.StepK()))
	}
	if s.Conversion > 0 {
		words = append(words, fmt.Sprintf("%d ms a conversion", s.Conversion.Milliseconds()))
	}
	switch s.Supply {
	case ParasiteSupply:
		words = append(words, "fed from the data line")
	case OwnSupply:
		words = append(words, "fed by a wire of its own")
	}
	return strings.Join(words, ", ")
}

// settingsOf reads them out of a device's folder (kernel documentation, sysfs-driver-w1_therm: negative numbers are
// errors).
func settingsOf(folder string) (s Settings) {
	if bits, ok := wholeIn(folder, "resolution"); ok && conversions[bits] > 0 {
		s.Bits, s.Conversion = bits, conversions[bits]
	}
	if ms, ok := wholeIn(folder, "conv_time"); ok && ms > 0 {
		s.Conversion = min(time.Duration(ms)*time.Millisecond, longestConversion)
	}
	switch fed, ok := wholeIn(folder, "ext_power"); {
	case ok && fed == 0:
		s.Supply = ParasiteSupply
	case ok && fed == 1:
		s.Supply = OwnSupply
	}
	return s
}

func wholeIn(folder, file string) (int, bool) {
	path := filepath.Join(folder, file)
	if _, err := os.Stat(path); err != nil {
		return 0, false
	}
	text, err := read(path)
	if err != nil {
		return 0, false
	}
	n, err := strconv.ParseInt(strings.TrimSpace(string(text)), 10, 32)
	return int(n), err == nil
}
