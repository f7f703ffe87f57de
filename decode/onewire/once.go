package onewire

import "errors"

// ErrNoValue is the error of a payload in which the kernel says that it has no value: an empty file, or NO.
var ErrNoValue = errors.New("the probe gave no value")

// Celsius gives the temperature in one payload by itself, °C, without an offset, and the step of the probe's
// resolution, K (0: the payload does not tell). It knows no history: 85 °C that may be the power-on value is an error
// here.
func Celsius(channel string, payload []byte) (c, stepK float64, err error) {
	f, err := FamilyOf(channel)
	if err != nil {
		return 0, 0, err
	}
	s, _, err := parse(payload)
	if err != nil {
		return 0, 0, err
	}
	switch s.content {
	case isPad:
		if c, err = s.pad.Celsius(f); err == nil && s.pad.suspect(f) {
			err = ErrPowerOn
		}
		return c, s.pad.stepK(f), err
	case isMilli:
		if c, err = celsius(s.milli); err == nil && c == powerOnC {
			err = ErrPowerOn
		}
		return c, 0, err
	}
	return 0, 0, ErrNoValue
}

// stepK is the smallest change that the probe shows, K: 1/2 to 1/16 by the configuration (DS18B20 datasheet); of a
// DS18S20 one part of byte 7.
func (s *Scratchpad) stepK(f Family) float64 {
	if f == DS18S20 {
		if s[7] == 0 {
			return 0
		}
		return 1 / float64(s[7])
	}
	return 0.5 / float64(int(1)<<(s[4]>>5&3))
}
