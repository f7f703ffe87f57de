package main

import (
	"errors"
	"strings"
	"testing"
	"time"

	wire "tundish/capture/onewire"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// TestStartingSheets: whatever is found, and whatever it is called, the sheet has no error and holds what was found.
func TestStartingSheets(t *testing.T) {
	ports := []serialPort{{path: `/dev/serial/by-id/usb-"odd"_\name`}, {path: "COM3"}, {path: "/dev/ttyAMA0"}}
	probes := []foundProbe{{Found: wire.Found{Device: probeA}, c: 21.5}, {Found: wire.Found{Device: probeB}, err: errors.New("no answer")}}
	brokers := []broker{{"mqtt://localhost:1883", true, "open to all"}, {"mqtt://192.0.2.1:1883", false, "not reached"}}
	for _, c := range []struct {
		name    string
		f       found
		named   []identified
		sources []string
	}{
		{"nothing", found{}, nil, []string{"values"}},
		{"ports", found{ports: ports}, nil, []string{"boiler"}},
		{"probes", found{probes: probes, root: `C:\odd`}, nil, []string{"probes"}},
		{"all", found{ports: ports, probes: probes, brokers: brokers}, []identified{{probeA, decode.Flow}, {probeB, decode.Return}}, []string{"boiler", "probes"}},
		{"a broker alone", found{brokers: brokers}, nil, []string{"values"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := c.f.sheet(time.Now(), c.named)
			sheet, err := jobsheet.Parse("new.toml", []byte(text))
			if err != nil {
				t.Fatalf("%v\n%s", err, text)
			}
			var names []string
			for _, s := range sheet.Sources {
				names = append(names, s.Name)
				if s.Kind == "opentherm" && s.Port != ports[0].path || s.Kind == "one-wire" && (s.Root != c.f.root || len(s.Points) != len(c.named)) {
					t.Errorf("%+v", s)
				}
			}
			if strings.Join(names, ",") != strings.Join(c.sources, ",") {
				t.Errorf("sources %q, want %q", names, c.sources)
			}
			if strings.Contains(text, "192.0.2.1") {
				t.Error("a broker that was not reached stands in the sheet")
			}
		})
	}
}

// TestStartingSheetSwitchedOn: what stands there to be switched on is right too.
func TestStartingSheetSwitchedOn(t *testing.T) {
	f := found{ports: []serialPort{{path: "/dev/ttyUSB0"}, {path: "/dev/ttyUSB1"}}, brokers: []broker{{"mqtt://localhost:1883", true, "open to all"}}}
	var on []string
	sources := false
	for _, line := range strings.Split(f.sheet(time.Now(), nil), "\n") {
		sources = sources || strings.Contains(line, "[[source]]")
		if bare := strings.TrimPrefix(line, "# "); sources && (strings.Contains(bare, " = ") || strings.HasPrefix(bare, "[[")) {
			line = bare
		}
		on = append(on, line)
	}
	sheet, err := jobsheet.Parse("new.toml", []byte(strings.Join(on, "\n")))
	if err != nil || len(sheet.Sources) != 3 {
		t.Errorf("%v\n%s", err, strings.Join(on, "\n"))
	}
}
