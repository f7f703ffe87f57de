package mbus

// The VIFs that lead to a table of their own, and those that are special (EN 13757-3, table 10; MB 8.4.3, 8.4.4).
const (
	vifText      = 0x7C
	vifAny       = 0x7E
	vifMaker     = 0x7F
	vifSecondFB  = 0xFB
	vifSecondFD  = 0xFD
	moreFollows  = 0x80
	withoutMore  = 0x7F
	longestChain = 10 // DIFEs, or VIFEs (EN 13757-3, 6.3)
)

// decades fills a row of codes that count up by decades from 10^first.
func decades(t *[128]meaning, from, n int, q Quantity, unit string, first int8) {
	for i := range n {
		t[from+i] = meaning{q, unit, first + int8(i)}
	}
}

// spans fills a row of codes whose units are these.
func spans(t *[128]meaning, from int, q Quantity, units ...string) {
	for i, u := range units {
		t[from+i] = meaning{q, u, 0}
	}
}

// primary is the table of plain VIFs. Sources: EN 13757-3, table 10; MB 8.4.3. Units are given by the thousand where
// that is what people read (kWh for 10^3 Wh, MJ for 10^6 J, kW, kJ/h, l/min for 10^-3 m³/min). Mass is 10^(n−3) kg as
// MB has it.
var primary = func() (t [128]meaning) {
	decades(&t, 0x00, 8, Energy, "kWh", -6)
	decades(&t, 0x08, 8, Energy, "MJ", -6)
	decades(&t, 0x10, 8, Volume, "m³", -6)
	decades(&t, 0x18, 8, Mass, "kg", -3)
	spans(&t, 0x20, OnTime, "s", "min", "h", "d")
	spans(&t, 0x24, OperatingTime, "s", "min", "h", "d")
	decades(&t, 0x28, 8, Power, "kW", -6)
	decades(&t, 0x30, 8, Power, "kJ/h", -3)
	decades(&t, 0x38, 8, VolumeFlow, "m³/h", -6)
	decades(&t, 0x40, 8, VolumeFlow, "l/min", -4)
	decades(&t, 0x48, 8, VolumeFlow, "m³/s", -9)
	decades(&t, 0x50, 8, MassFlow, "kg/h", -3)
	decades(&t, 0x58, 4, FlowTemperature, "°C", -3)
	decades(&t, 0x5C, 4, ReturnTemperature, "°C", -3)
	decades(&t, 0x60, 4, TemperatureDifference, "K", -3)
	decades(&t, 0x64, 4, ExternalTemperature, "°C", -3)
	decades(&t, 0x68, 4, Pressure, "bar", -3)
	spans(&t, 0x6C, Date, "")
	spans(&t, 0x6D, DateTime, "")
	spans(&t, 0x6E, HeatCostUnits, "")
	spans(&t, 0x70, AveragingDuration, "s", "min", "h", "d")
	spans(&t, 0x74, ActualityDuration, "s", "min", "h", "d")
	spans(&t, 0x78, FabricationNumber, "")
	spans(&t, 0x79, Identification, "")
	spans(&t, 0x7A, BusAddress, "")
	spans(&t, vifText, OwnUnit, "")
	spans(&t, vifAny, AnyQuantity, "")
	spans(&t, vifMaker, MakersOwn, "")
	return t
}()

// secondFB is the table behind FB. Sources: MB 8.4.4 b, EN 13757-3, as carried by general-purpose libraries.
var secondFB = func() (t [128]meaning) {
	decades(&t, 0x00, 2, Energy, "kWh", 2)
	decades(&t, 0x08, 2, Energy, "MJ", 2)
	decades(&t, 0x10, 2, Volume, "m³", 2)
	decades(&t, 0x18, 2, Mass, "kg", 5)
	decades(&t, 0x21, 1, Volume, "ft³", -1)
	decades(&t, 0x22, 2, Volume, "US gal", -1)
	decades(&t, 0x24, 1, VolumeFlow, "US gal/min", -3)
	decades(&t, 0x25, 1, VolumeFlow, "US gal/min", 0)
	decades(&t, 0x26, 1, VolumeFlow, "US gal/h", 0)
	decades(&t, 0x28, 2, Power, "kW", 2)
	decades(&t, 0x30, 2, Power, "kJ/h", 5)
	decades(&t, 0x58, 4, FlowTemperature, "°F", -3)
	decades(&t, 0x5C, 4, ReturnTemperature, "°F", -3)
	decades(&t, 0x60, 4, TemperatureDifference, "°F difference", -3)
	decades(&t, 0x64, 4, ExternalTemperature, "°F", -3)
	decades(&t, 0x70, 4, TemperatureLimit, "°F", -3)
	decades(&t, 0x74, 4, TemperatureLimit, "°C", -3)
	decades(&t, 0x78, 8, CumulatedMaxPower, "kW", -6)
	return t
}()

// secondFD is the table behind FD. Sources: MB 8.4.4 a, EN 13757-3, as carried by general-purpose libraries. Codes of
// access and passwords are left out on purpose: what they hold is nobody's business here.
var secondFD = func() (t [128]meaning) {
	decades(&t, 0x00, 4, Credit, "", -3)
	decades(&t, 0x04, 4, Debit, "", -3)
	for i, q := range []Quantity{AccessNumber, MediumCode, ManufacturerCode, ParameterSet, ModelVersion, HardwareVersion,
		FirmwareVersion, SoftwareVersion, CustomerLocation, Customer} {
		t[0x08+i].quantity = q
	}
	for at, q := range map[int]Quantity{0x17: ErrorFlags, 0x18: ErrorMask, 0x1A: DigitalOutput, 0x1B: DigitalInput,
		0x1E: Retry, 0x20: FirstStorage, 0x21: LastStorage, 0x22: StorageBlockSize, 0x3A: Dimensionless, 0x60: ResetCounter,
		0x61: CumulationCounter, 0x62: ControlSignal, 0x63: DayOfWeek, 0x64: WeekNumber, 0x65: DayChange,
		0x66: ParameterState, 0x70: BatteryChanged} {
		t[at].quantity = q
	}
	spans(&t, 0x1C, BaudRate, "Bd")
	spans(&t, 0x1D, ResponseDelay, "bit times")
	spans(&t, 0x24, StorageInterval, "s", "min", "h", "d", "months", "years")
	spans(&t, 0x2C, SinceReadOut, "s", "min", "h", "d")
	spans(&t, 0x31, TariffDuration, "min", "h", "d")
	spans(&t, 0x34, TariffPeriod, "s", "min", "h", "d", "months", "years")
	decades(&t, 0x40, 16, Voltage, "V", -9)
	decades(&t, 0x50, 16, Current, "A", -12)
	spans(&t, 0x68, SinceCumulation, "h", "d", "months", "years")
	spans(&t, 0x6C, BatteryTime, "h", "d", "months", "years")
	return t
}()
