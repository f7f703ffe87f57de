package mbus

// effect is what a VIFE does to a value.
type effect uint8

const (
	multiplies effect = iota // it moves the decade, and the quantity stays what it is
	qualifies                // the number is in the VIF's unit, but of something else than the plain quantity
	eventCount               // the number is a count of events
	replaces                 // a duration, a date, a step: the VIF's unit does not hold
	spoils                   // the meter says that there is no value
)

// combinable looks up what a VIFE behind the VIF's own table does, and how it is told in a name (EN 13757-3, tables 15
// and 18; MB 8.4.5). exp counts for multiplies.
func combinable(code byte) (e effect, exp int8, words string) {
	code &= withoutMore
	switch {
	case code == 0x00: // no error (MB 8.4.5, from memory)
		return multiplies, 0, ""
	case code <= 0x1F:
		return spoils, 0, recordErrors[code]
	case code <= 0x27:
		return qualifies, 0, perTime[code-0x20]
	case code <= 0x2B:
		return replaces, 0, [4]string{"step of input pulse 0", "step of input pulse 1", "step of output pulse 0", "step of output pulse 1"}[code-0x28]
	case code <= 0x35:
		return qualifies, 0, perAmount[code-0x2C]
	case code <= 0x38:
		return replaces, 0, [3]string{"times s", "times s/V", "times s/A"}[code-0x36]
	case code <= 0x3F:
		return odds(code)
	case code&0x77 == 0x40:
		return qualifies, 0, limits[code>>3&1]
	case code&0x77 == 0x41:
		return eventCount, 0, "times past " + limits[code>>3&1]
	case code >= 0x70 && code <= 0x77:
		return multiplies, int8(code) - 0x70 - 6, ""
	case code >= 0x78 && code <= 0x7B:
		// Added is 10^(n−3) "of the unit", which leaves open whether that is the VIF's decade or its base unit: the
		// number is told as it is, and is no reading.
		return qualifies, 0, "constant to add"
	case code == 0x7D:
		return multiplies, 3, ""
	case code == 0x7E:
		return qualifies, 0, "to come"
	case code == 0x7F:
		return replaces, 0, "maker's own meaning"
	case code >= 0x42 && code <= 0x5F:
		return replaces, 0, "time or duration of a limit passed"
	case code >= 0x60 && code <= 0x6F:
		return replaces, 0, "time or duration of an extreme"
	}
	return replaces, 0, "unknown meaning"
}

// odds are the VIFEs 39 to 3F.
func odds(code byte) (effect, int8, string) {
	switch code {
	case 0x39:
		return replaces, 0, "start date"
	case 0x3A:
		return qualifies, 0, "uncorrected"
	case 0x3B:
		return qualifies, 0, "forward"
	case 0x3C:
		return qualifies, 0, "backward"
	case 0x3D:
		return replaces, 0, "other unit system"
	case 0x3E:
		return qualifies, 0, "at base conditions"
	}
	return replaces, 0, "unknown meaning"
}

var (
	perTime   = [8]string{"per second", "per minute", "per hour", "per day", "per week", "per month", "per year", "per revolution"}
	perAmount = [10]string{"per litre", "per m³", "per kg", "per K", "per kWh", "per GJ", "per kW", "per K·l", "per V", "per A"}
	limits    = [2]string{"lower limit", "upper limit"}
)

// recordErrors are what a meter says instead of a value (EN 13757-3, table 18; MB 8.4.5).
var recordErrors = func() (t [0x20]string) {
	for i := range t {
		t[i] = "record error"
	}
	t[0x15], t[0x16], t[0x17], t[0x18] = "no data available", "overflow", "underflow", "data error"
	return t
}()
