package jobsheet

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/decode"
	"tundish/decode/mbus"
)

const mbusSheet = `[job]
name = "x"
timezone = "Europe/London"

[[source]]
name = "meters"
kind = "m-bus"
port = "/dev/serial/by-id/usb-converter"

[[source.meter]]
address = 1
side = "return"
points = { "flow-temperature" = "none", "energy tariff 1" = "heat-energy" }

[[source.meter]]
name = "gas"
id = "8765 43ff"
manufacturer = "ABC"
medium = "gas"
points = { "volume" = "gas-volume" }

[[source]]
name = "other"
kind = "m-bus"
baud = 300
interval_s = 60
[[source.meter]]
id = "12345678"
version = 3
points = "none"
`

func TestMBus(t *testing.T) {
	s, err := Parse("job.toml", []byte(mbusSheet))
	if err != nil {
		t.Fatal(err)
	}
	want := []MBusMeter{
		{Name: "1", Address: 1, Version: -1, Medium: -1, Side: "return", ByMedium: true, Points: map[mbus.Key]decode.Point{
			{Quantity: mbus.FlowTemperature}: decode.NoPoint, {Quantity: mbus.Energy, Tariff: 1}: decode.HeatEnergy}},
		{Name: "gas", Address: -1, ID: "876543FF", Manufacturer: "ABC", Version: -1, Medium: 3,
			Points: map[mbus.Key]decode.Point{{Quantity: mbus.Volume}: decode.GasVolume}},
	}
	src := s.Sources[0]
	if diff := cmp.Diff(want, src.MBus.Meters); diff != "" {
		t.Error(diff)
	}
	if src.Baud != 2400 || src.Interval != 5*time.Minute || src.Port != "/dev/serial/by-id/usb-converter" {
		t.Errorf("%+v", src)
	}
	src = s.Sources[1]
	if diff := cmp.Diff([]MBusMeter{{Name: "12345678", Address: -1, ID: "12345678", Version: 3, Medium: -1}}, src.MBus.Meters); diff != "" || src.Baud != 300 || src.Interval != time.Minute {
		t.Errorf("%+v\n%s", src, diff)
	}
}

// TestMBusErrors: each names the line of what is wrong.
func TestMBusErrors(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"address = 1", "address = 251", "job.toml:11: source[0].meter[0].address: 251 is outside 0 to 250"},
		{"address = 1", "adress = 1", "job.toml:11: source[0].meter[0].adress: unknown key; did you mean address?"},
		{"address = 1", "", "give address or id, one of them"},
		{"address = 1", "address = 1\nid = \"12345678\"", "give address or id, one of them"},
		{"address = 1", "address = 1\nversion = 2", "help to select a meter by id"},
		{`"8765 43ff"`, `"8765432"`, "job.toml:17: source[0].meter[1].id: \"8765432\": a meter's number has 8 digits"},
		{`"8765 43ff"`, `87654321`, "must be the meter's number in quotes"},
		{`"ABC"`, `"abc"`, "a manufacturer is three capital letters"},
		{`"gas"` + "\npoints", `"steam"` + "\npoints", `"steam" is none of`},
		{`side = "return"`, `side = "left"`, "where the meter's flow sensor sits"},
		{`interval_s = 60`, `interval_s = 30`, "not read more often than once a minute"},
		{`baud = 300`, `baud = 57600`, "57600 is outside 300 to 38400"},
		{`baud = 300`, `baud = 2000`, "2000 is no rate of the M-Bus"},
		{`"volume" = "gas-volume"`, `"volume" = "flow"`, `volume cannot be "flow"`},
		{`"volume" = "gas-volume"`, `"volumes" = "gas-volume"`, `"volumes" is no quantity that meters tell`},
		{`"volume" = "gas-volume"`, `"volume" = "gas"`, `must be a point or "none", not "gas"`},
		{`"volume" = "gas-volume"`, `"energy" = "heat-energy"`, `"heat-energy" is a value of meter 1 already`},
		{`name = "gas"`, `name = "1"`, `"1" is the name of another meter`},
		{"id = \"8765 43ff\"\nmanufacturer = \"ABC\"", "address = 1", "address 1 is that of meter 1 already"},
		{"[[source.meter]]\nid = \"12345678\"\nversion = 3\npoints = \"none\"", "", "meter is missing: an m-bus source needs"},
	} {
		text := strings.Replace(mbusSheet, c.old, c.new, 1)
		if text == mbusSheet {
			t.Fatalf("%q does not stand in the sheet", c.old)
		}
		_, err := Parse("job.toml", []byte(text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s → %s: %v, want %q", c.old, c.new, err, c.want)
		}
	}
}
