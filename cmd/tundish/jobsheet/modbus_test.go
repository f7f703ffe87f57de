package jobsheet

import (
	"strings"
	"testing"
	"time"

	"tundish/decode/modbus"
)

const meterSheet = `[job]
name = "Mill Row 3"
[[source]]
name = "meter"
kind = "modbus-tcp"
host = "192.0.2.7"
unit_id = 17
word_order = "little"
timeout_ms = 800
registers = [
  { point = "flow", table = "input", address = 0, type = "i16", scale = 0.1, absent = [0x8000] },
  { point = "heat-energy", function = 4, address = 10, type = "u32", unit = "MJ" },
  { point = "heat-power", register = 40101, type = "f32", word_order = "big", absent = [-9999] },
  { point = "heat-demand", table = "holding", address = 7, bit = 3, invert = true },
  { point = "supply", unit_id = 5, table = "holding", address = 7, bit = 4 },
]
`

func TestModbusSheet(t *testing.T) {
	s, err := Parse("job.toml", []byte(meterSheet))
	if err != nil {
		t.Fatal(err)
	}
	m := s.Sources[0].Modbus
	if m.Host != "192.0.2.7" || m.TCPPort != 502 || m.Unit != 17 || m.Timeout != 800*time.Millisecond || len(m.Map) != 5 {
		t.Fatalf("%+v", m)
	}
	var got []string
	for _, e := range m.Map {
		got = append(got, e.Point.String()+" "+e.Place()+" "+e.Type.String())
	}
	want := "flow input 0 i16, heat-energy input 10-11 u32, heat-power holding 100-101 f32, heat-demand holding 7 bit 3 bit, supply unit 5 holding 7 bit 4 bit"
	if g := strings.Join(got, ", "); g != want {
		t.Errorf("map is %s", g)
	}
	if !m.Map[1].LittleWords || m.Map[2].LittleWords || m.Map[1].To.Of(3.6) != 1 || m.Map[2].AbsentFloats[0] != -9999 || !m.Map[3].Invert {
		t.Errorf("map is %+v", m.Map)
	}
	rtu := strings.NewReplacer("modbus-tcp", "modbus-rtu", `host = "192.0.2.7"`, `port = "/dev/serial/by-id/usb-adapter"`).Replace(meterSheet)
	if s, err = Parse("job.toml", []byte(rtu)); err != nil {
		t.Fatal(err)
	}
	if s.Sources[0].Port == "" || s.Sources[0].Baud != 19200 {
		t.Errorf("%+v", s.Sources[0])
	}
}

// Each case is a change to the sheet and what the error must say.
func TestModbusErrors(t *testing.T) {
	cases := []struct{ name, old, new, want string }{
		{"overlap", "address = 10, type", "address = 0, type", "job.toml:12: source[0].registers[1]: input 0-1 as u32, little words and input 0 as i16 overlap and contradict"},
		{"overlap by half", "table = \"input\", address = 0", "table = \"input\", address = 11", "overlap and contradict"},
		{"one point twice", `"heat-power"`, `"flow"`, `registers[2]: "flow" is read from input 0 already`},
		{"function 2", "function = 4", "function = 2", "registers[1].function: must be 3 or 4, not 2"},
		{"function 6", "function = 4", "function = 6", "must be 3 or 4, not 6"},
		{"two addresses", "register = 40101", "register = 40101, address = 100", "give either address"},
		{"no address", "register = 40101, ", "", "give either address"},
		{"no table", `table = "input", `, "", "table is missing"},
		{"register of the other table", "register = 40101", `register = 40101, table = "input"`, "register 40101 is in the holding table, not in the input one"},
		{"function of the other table", "function = 4", `function = 4, table = "holding"`, "is read by the other function"},
		{"register 50001", "40101", "50001", "registers[2].register: must be 30001 to 39999"},
		{"register 40000", "40101", "40000", "registers[2].register: must be"},
		{"no type", `, type = "f32"`, "", "type is missing"},
		{"no such type", `"f32"`, `"float"`, `registers[2].type: must be one of "u16"`},
		{"bit 16", "bit = 3", "bit = 16", "registers[3].bit: 16 is outside 0 to 15"},
		{"bit of a temperature", `"heat-demand"`, `"return"`, "a bit is 0 or 1, return is in °C"},
		{"bit and type", "bit = 3", `bit = 3, type = "u16"`, "a bit has no type u16"},
		{"past the end", "address = 10, ", "address = 65535, ", "reaches past the last address"},
		{"unit of another quantity", `"MJ"`, `"°F"`, "registers[1].unit: °F is a unit of temperature, kWh one of energy"},
		{"no such unit", `"MJ"`, `"therms"`, `registers[1].unit: "therms" is no unit`},
		{"absent out of range", "0x8000", "0x18000", "98304 is no raw value of i16"},
		{"absent of no number", "[-9999]", "[nan]", "need not be named"},
		{"scale nought", "scale = 0.1", "scale = 0", "registers[0].scale: 0 makes nothing"},
		{"scale NaN", "scale = 0.1", "scale = nan", "registers[0].scale: NaN"},
		{"invert a temperature", "scale = 0.1", "invert = true", "only what is 0 or 1 can be inverted"},
		{"no such point", `"heat-power"`, `"heat-powr"`, `registers[2].point: "heat-powr" is no point; did you mean heat-power?`},
		{"unknown key", "scale = 0.1", "factor = 0.1", "registers[0].factor: unknown key"},
		{"order", `word_order = "little"`, `word_order = "CDAB"`, `source[0].word_order: must be one of "big", "little"`},
		{"broadcast", "unit_id = 17", "unit_id = 0", "unit_id: 0 is outside 1 to 255"},
		{"host with a port", "192.0.2.7", "192.0.2.7:502", "source[0].host: is a name or an address alone; the port has a key of its own"},
		{"host with a password", "192.0.2.7", "me:hush@192.0.2.7", "source[0].host: is a name or an address alone"},
		{"serial key", "timeout_ms = 800", "baud = 9600", "source[0].baud: unknown key"},
		{"registers as a table", "registers = [\n  { point", "registers = 1\nother = [\n  { point", "source[0].registers: must be an array"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if !strings.Contains(meterSheet, c.old) {
				t.Fatalf("the sheet does not hold %q", c.old)
			}
			_, err := Parse("job.toml", []byte(strings.Replace(meterSheet, c.old, c.new, 1)))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error is\n%v\nwant\n%s", err, c.want)
			}
			if err != nil && strings.Contains(err.Error(), "hush") {
				t.Errorf("the error repeats what may be a password: %v", err)
			}
		})
	}
}

// The numbers that manuals print: the first of each table is address 0 (MODBUS Application Protocol V1.1b3, 4.4).
func TestRegisterNumbers(t *testing.T) {
	for n, want := range map[int64]modbus.Entry{
		40001: {Table: modbus.Holding}, 49999: {Table: modbus.Holding, Address: 9998}, 400001: {Table: modbus.Holding},
		465536: {Table: modbus.Holding, Address: 65535}, 30001: {Table: modbus.Input}, 365536: {Table: modbus.Input, Address: 65535},
	} {
		if table, address, err := asRegister(n); err != nil || table != want.Table || address != want.Address {
			t.Errorf("%d is %s %d, %v", n, table, address, err)
		}
	}
	for _, n := range []int64{0, 1, 107, 10001, 30000, 40000, 50000, 300000, 400000, 465537} {
		if _, _, err := asRegister(n); err == nil {
			t.Errorf("%d is taken", n)
		}
	}
}
