package opentherm

// laterEntries are the data ids added after v2.2, as general-purpose protocol libraries list them. Classes that a
// change table of the OpenTherm Protocol Specification v4.2 names are not told apart from those taken by analogy.
var laterEntries = map[uint8]Entry{
	34: later(4, Read, "boiler heat-exchanger temperature", one(F88, "°C", 0, 0)),
	35: doubt(later(4, Read, "fan speed",
		two(Field{Type: U8, Name: "set-point", Unit: "Hz"}, Field{Type: U8, Name: "actual", Unit: "Hz"})),
		"the unit Hz (× 60 for revolutions a minute) is from memory"),
	36: later(4, Read, "flame (ionisation) current", one(F88, "µA", 0, 0)),
	37: later(4, Write, "room temperature, circuit 2", one(F88, "°C", 0, 0)),
	38: later(4, ReadWrite, "relative humidity", one(F88, "%", 0, 0)),
	39: later(8, Read, "imposed room set-point 2", one(F88, "°C", 0, 0)),

	70: ventStatus(later(1, Read, "ventilation status",
		two(Field{Type: Flag8, Name: "controller", bits: ventilationMaster},
			Field{Type: Flag8, Name: "ventilation unit", bits: ventilationSlave}))),
	71: doubt(later(1, Write, "ventilation level asked for", two(Field{}, Field{Type: U8, Unit: "%", High: 100})), levelDoubt),
	72: later(1, Read, "ventilation fault flags and code",
		two(Field{Type: Flag8, Name: "fault flags", bits: unnamedBits}, Field{Type: U8, Name: "fault code (the maker's own)"})),
	73: later(1, Read, "ventilation diagnostic code", one(U16, "", 0, 0)),
	74: later(2, Read, "ventilation configuration",
		two(Field{Type: Flag8, Name: "configuration", bits: ventilationConfiguration}, Field{Type: U8, Name: "member id"})),
	75: doubt(later(2, Read, "protocol version of the ventilation unit", one(F88, "", 0, 0)), versionDoubt),
	76: later(2, Read, "product of the ventilation unit", two(Field{Type: U8, Name: "type"}, Field{Type: U8, Name: "version"})),
	77: doubt(later(4, Read, "ventilation level", two(Field{}, Field{Type: U8, Unit: "%", High: 100})), levelDoubt),
	78: later(4, ReadWrite, "exhaust-air humidity", two(Field{}, Field{Type: U8, Unit: "%", High: 100})),
	79: later(4, Read, "exhaust-air CO₂", one(U16, "ppm", 0, 2000)),
	80: later(4, Read, "supply air temperature, inlet", one(F88, "°C", 0, 0)),
	81: later(4, Read, "supply air temperature, outlet", one(F88, "°C", 0, 0)),
	82: later(4, Read, "exhaust air temperature, inlet", one(F88, "°C", 0, 0)),
	83: later(4, Read, "exhaust air temperature, outlet", one(F88, "°C", 0, 0)),
	84: later(4, Read, "exhaust fan speed", one(U16, "rev/min", 0, 0)),
	85: later(4, Read, "supply fan speed", one(U16, "rev/min", 0, 0)),
	86: later(5, Read, "ventilation remote parameters",
		two(Field{Type: Flag8, Name: "exist", bits: ventilationParameters},
			Field{Type: Flag8, Name: "may be written", bits: ventilationParameters})),
	87: doubt(later(5, ReadWrite, "nominal ventilation", two(Field{Type: U8, Unit: "%", High: 100}, Field{})), levelDoubt),
	88: later(6, Read, "number of transparent parameters, ventilation", two(Field{Type: U8}, Field{})),
	89: indexed(6, ReadWrite, "transparent parameter, ventilation", "index", "value"),
	90: later(7, Read, "size of the fault history, ventilation", two(Field{Type: U8}, Field{})),
	91: indexed(7, Read, "fault history, ventilation", "entry", "fault code (the maker's own)"),
	93: indexed(2, Read, "brand, a character at a time", "character index", "character"),
	94: indexed(2, Read, "brand version, a character at a time", "character index", "character"),
	95: indexed(2, Read, "serial number, a character at a time", "character index", "character"),
	96: later(4, ReadWrite, "hours in cooling mode", one(U16, "h", 0, 0)),
	97: later(4, ReadWrite, "power cycles of the appliance", one(U16, "cycles", 0, 0)),
	98: doubt(later(4, Write, "radio sensor: signal strength and battery",
		two(Field{Type: Special, Name: "raw"}, Field{Type: Special, Name: "raw"})),
		"the layout of the two bytes is in no source read: raw only"),
	99: doubt(later(8, ReadWrite, "imposed operating mode",
		two(Field{Type: Special, Name: "heating circuits 1 and 2, raw"}, Field{Type: Special, Name: "hot water, raw"})),
		"what the numbers mean, and which byte is which, is in no source read: raw only"),

	101: {Class: 1, Dir: Read, Name: "solar storage status", Origin: AfterV22, status: true,
		Fields: two(Field{Type: Flag8, Name: "controller", bits: solarMaster}, Field{Type: Flag8, Name: "solar unit", bits: solarSlave})},
	102: later(1, Read, "solar fault flags and code",
		two(Field{Type: Flag8, Name: "fault flags", bits: unnamedBits}, Field{Type: U8, Name: "fault code (the maker's own)"})),
	103: later(2, Read, "solar configuration",
		two(Field{Type: Flag8, Name: "configuration", bits: unnamedBits}, Field{Type: U8, Name: "member id"})),
	104: later(2, Read, "product of the solar unit", two(Field{Type: U8, Name: "type"}, Field{Type: U8, Name: "version"})),
	105: later(6, Read, "number of transparent parameters, solar", two(Field{Type: U8}, Field{})),
	106: indexed(6, ReadWrite, "transparent parameter, solar", "index", "value"),
	107: later(7, Read, "size of the fault history, solar", two(Field{Type: U8}, Field{})),
	108: indexed(7, Read, "fault history, solar", "entry", "fault code (the maker's own)"),
	109: later(4, ReadWrite, "starts of the electricity producer", one(U16, "starts", 0, 0)),
	110: later(4, ReadWrite, "hours of the electricity producer", one(U16, "h", 0, 0)),
	111: later(4, Read, "electricity production now", one(U16, "W", 0, 0)),
	112: later(4, ReadWrite, "electricity produced in all", one(U16, "kWh", 0, 0)),
	113: later(4, ReadWrite, "unsuccessful burner starts", one(U16, "starts", 0, 0)),
	114: later(4, ReadWrite, "times the flame signal was too low", one(U16, "times", 0, 0)),
}

const levelDoubt = "some libraries read it as f8.8 over both bytes, which one of them says it guessed"

func later(c Class, d Direction, name string, fields [2]Field) Entry {
	return Entry{Class: c, Dir: d, Name: name, Fields: fields, Origin: AfterV22}
}

func indexed(c Class, d Direction, name, hb, lb string) Entry {
	e := later(c, d, name, two(Field{Type: U8, Name: hb}, Field{Type: U8, Name: lb}))
	e.index = true
	return e
}

func doubt(e Entry, why string) Entry {
	e.Doubt = why
	return e
}

func ventStatus(e Entry) Entry {
	e.status = true
	e.Doubt = "the bit of a diagnostic event is LB bit 5 in one library, bit 6 from memory"
	return e
}
