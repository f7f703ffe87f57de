package opentherm

// worked are frames computed for these tests from the layout of OpenTherm Protocol Specification v2.2, 4.2, and the
// data ids of 5.3; parity was checked by a program of its own. Each sentence is one that [Explain] must give.
var worked = []struct {
	hex    string
	kind   MsgType
	id     uint8
	hb, lb uint8
	says   []string
}{
	{"00000300", ReadData, 0, 0x03, 0x00, []string{"controller: heating enabled, hot water enabled"}},
	{"C000030A", ReadAck, 0, 0x03, 0x0A, []string{"appliance: heating active, flame on"}},
	{"C000030C", ReadAck, 0, 0x03, 0x0C, []string{"appliance: hot water active, flame on"}},
	{"C0000300", ReadAck, 0, 0x03, 0x00, []string{"controller: heating enabled, hot water enabled", "appliance: nothing set"}},
	{"40000301", ReadAck, 0, 0x03, 0x01, []string{"appliance: fault (see data id 5)"}},
	{"C0000341", ReadAck, 0, 0x03, 0x41, []string{"appliance: fault (see data id 5), diagnostic event (see data id 115)"}},
	{"90013700", WriteData, 1, 0x37, 0x00, []string{"flow set-point: 55 °C"}},
	{"50013700", WriteAck, 1, 0x37, 0x00, []string{"accepted by the appliance", "flow set-point: 55 °C"}},
	{"20010000", InvalidData, 1, 0x00, 0x00, []string{"the controller has no valid value: no reading"}},
	{"80190000", ReadData, 25, 0x00, 0x00, []string{"data id 25: flow temperature at the boiler", "asks for it"}},
	{"40193D80", ReadAck, 25, 0x3D, 0x80, []string{"flow temperature at the boiler: 61.5 °C"}},
	{"C01C3040", ReadAck, 28, 0x30, 0x40, []string{"return temperature at the boiler: 48.25 °C"}},
	{"C01BFAC0", ReadAck, 27, 0xFA, 0xC0, []string{"outside temperature: −5.25 °C"}},
	{"401BFF80", ReadAck, 27, 0xFF, 0x80, []string{"outside temperature: −0.5 °C"}},
	{"C01B0000", ReadAck, 27, 0x00, 0x00, []string{"outside temperature: 0 °C"}},
	{"C0112580", ReadAck, 17, 0x25, 0x80, []string{": 37.5 %"}},
	{"C0120180", ReadAck, 18, 0x01, 0x80, []string{"heating water pressure: 1.5 bar"}},
	{"C0130866", ReadAck, 19, 0x08, 0x66, []string{"hot-water flow rate: 8.3984375 l/min"}},
	{"40050A1C", ReadAck, 5, 0x0A, 0x1C, []string{"lockout reset over the bus is allowed", "gas or flame fault", ": 28"}},
	{"C005066C", ReadAck, 5, 0x06, 0x6C, []string{"lockout reset over the bus is allowed", "low water pressure", ": 108"}},
	{"C0052100", ReadAck, 5, 0x21, 0x00, []string{"service due, water over-temperature", ": 0"}},
	{"C07300E9", ReadAck, 115, 0x00, 0xE9, []string{"diagnostic code (the maker's own): 233"}},
	{"C0030900", ReadAck, 3, 0x09, 0x00, []string{"hot water present, modulating, no cooling, hot water from a storage cylinder",
		"member id (0 = no particular maker): 0"}},
	{"400F1819", ReadAck, 15, 0x18, 0x19, []string{"greatest output: 24 kW", "greatest output: 25 %"}},
	{"C0210044", ReadAck, 33, 0x00, 0x44, []string{"flue temperature: 68 °C"}},
	{"4021FFFD", ReadAck, 33, 0xFF, 0xFD, []string{"flue temperature: −3 °C"}},
	{"C0743039", ReadAck, 116, 0x30, 0x39, []string{"burner starts: 12345 starts", "successful starts only"}},
	{"407810E1", ReadAck, 120, 0x10, 0xE1, []string{"burner hours (flame on): 4321 h"}},
	{"C0710011", ReadAck, 113, 0x00, 0x11, []string{"unsuccessful burner starts: 17 starts", "after v2.2"}},
	{"C0304128", ReadAck, 48, 0x41, 0x28, []string{"highest allowed: 65 °C", "lowest allowed: 40 °C"}},
	{"400D021C", ReadAck, 13, 0x02, 0x1C, []string{"entry: 2", "fault code (the maker's own): 28"}},
	{"E01C0000", DataInvalid, 28, 0x00, 0x00, []string{"no valid value: no reading"}},
	{"F0120000", UnknownDataID, 18, 0x00, 0x00, []string{"does not support this id: no reading"}},
	{"9014B12D", WriteData, 20, 0xB1, 0x2D, []string{"Friday 17:45"}},
	{"90150B14", WriteData, 21, 0x0B, 0x14, []string{"month: 11", "day of the month: 20"}},
	{"101607EA", WriteData, 22, 0x07, 0xEA, []string{"year: 2026"}},
	{"90040100", WriteData, 4, 0x01, 0x00, []string{"command 1: reset the boiler's lockout"}},
	{"D0040180", WriteAck, 4, 0x01, 0x80, []string{"command 1: reset the boiler's lockout", "response 128: done"}},
	{"D0040110", WriteAck, 4, 0x01, 0x10, []string{"response 16: failed"}},
	{"900E6400", WriteData, 14, 0x64, 0x00, []string{"ceiling on relative modulation: 100 %"}},
	{"407D0233", ReadAck, 125, 0x02, 0x33, []string{"2.19921875 (f8.8)", "major and minor byte: 2.51", "raw word 0233"}},
}
