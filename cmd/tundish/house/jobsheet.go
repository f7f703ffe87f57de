package house

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// sheet is a job sheet being written.
type sheet struct{ strings.Builder }

func (b *sheet) line(key, value string) { fmt.Fprintf(b, "%s = %s\n", key, value) }
func (b *sheet) text(key, v string)     { b.line(key, strconv.Quote(v)) }

func (b *sheet) number(key string, v float64) {
	t := plain(v)
	if !strings.Contains(t, ".") {
		t += ".0"
	}
	b.line(key, t)
}

// plain writes a figure as an engineer would note it, to two decimals at the most.
func plain(v float64) string { return strconv.FormatFloat(math.Round(100*v)/100, 'f', -1, 64) }

// JobSheet writes the job sheet of this house in TOML: plant and site as they are simulated, a source of kind
// "simulated" for each part that is fitted. The return probe reads Probes.RetOffK too high; its offset_k takes that
// off. What a flow probe reads too high nobody has found out.
func (s Scenario) JobSheet(seed uint64) []byte {
	return s.jobSheet(": "+s.Doc, func(b *sheet, part string) {
		b.text("kind", "simulated")
		b.text("scenario", s.Name)
		b.line("seed", strconv.FormatUint(seed, 10))
		b.text("part", part)
	})
}

// fileSheet is the same for files that come in: the kinds of the real devices, with no port to record from, and not a
// word of what is wrong with the house.
func (s Scenario) fileSheet() []byte {
	return s.jobSheet("", func(b *sheet, part string) {
		b.text("kind", map[string]string{PartBus: "opentherm", PartProbes: "one-wire"}[part])
	})
}

// jobSheet writes the sheet; doc says what house it is, kind writes a source's kind and the keys that belong to it.
func (s Scenario) jobSheet(doc string, kind func(b *sheet, part string)) []byte {
	var b sheet
	fmt.Fprintf(&b, "# A simulated house%s.\n# People, places and figures are invented.\n\n[job]\n", doc)
	b.text("name", s.JobName)
	b.text("timezone", s.Timezone)

	b.WriteString("\n[site]\n")
	b.number("outside_design_c", s.Building.DesignOutside)
	b.number("inside_design_c", s.Building.DesignInside)
	b.number("design_heat_loss_kw", s.Building.DesignLossW/1000)

	b.WriteString("\n[plant]\n")
	s.plant(&b)

	if !s.NoBus {
		b.WriteString("\n[[source]]\n")
		b.text("name", SourceBus)
		kind(&b, PartBus)
	}
	if !s.NoProbes {
		b.WriteString("\n[[source]]\n")
		b.text("name", SourceProbes)
		kind(&b, PartProbes)
		b.text("at", s.Probes.where())
		b.line("points", s.Probes.points())
	}
	return []byte(b.String())
}

func (s *Scenario) plant(b *sheet) {
	kind, fuel := "boiler", [...]string{NaturalGas: "natural-gas", LPG: "lpg"}[s.Boiler.Fuel]
	if s.Boiler.Kind == HeatPump {
		kind, fuel = "heat-pump", "electricity"
	}
	b.text("kind", kind)
	b.text("fuel", fuel)
	b.text("emitters", [...]string{Radiators: "radiators", Underfloor: "underfloor"}[s.Circuit.Emitters])
	b.number("output_max_kw", s.Boiler.OutputMaxKW)
	b.number("output_min_kw", s.Boiler.OutputMinKW)
	b.number("water_content_l", s.WaterL())
	b.number("design_flow_c", s.DesignFlowC)
	b.number("design_return_c", s.DesignReturnC)
	supply := "permanent-live"
	if s.SwitchedLive {
		supply = "switched-live"
	}
	b.text("supply", supply)
	if s.Boiler.Kind != HeatPump {
		b.line("ignition_attempts", strconv.Itoa(s.Boiler.Attempts))
	}
	b.text("hot_water", [...]string{NoHotWater: "none", Cylinder: "cylinder", Instantaneous: "instantaneous"}[s.HotWater.Kind])
	switch {
	case s.Boiler.MinPressureBar > 0:
		b.number("minimum_pressure_bar", s.Boiler.MinPressureBar)
	case s.Boiler.Kind == ModulatingBoiler:
		b.number("minimum_pressure_bar", minimumPressureBar)
	}
}

// minimumPressureBar is below what the invented modulating boiler's instructions want no operation, bar, where the
// appliance does not look itself. Own assumption.
const minimumPressureBar = 0.8

// where says in words where the probes are.
func (p *ProbeSpec) where() string {
	at := "flow and return, 300 mm below the casing, copper, insulated"
	for _, x := range []struct{ rom, text string }{
		{p.OutsideROM, "north wall"}, {p.RoomROM, "hall"}, {p.CylinderROM, "cylinder, upper third, under the insulation"},
	} {
		if x.rom != "" {
			at += "; " + x.text
		}
	}
	return at
}

// points maps probes to points, as TOML.
func (p *ProbeSpec) points() string {
	t := fmt.Sprintf("{ %q = \"flow\", %q = { point = \"return\", offset_k = %s }", p.FlowROM, p.ReturnROM,
		plain(-p.RetOffK))
	for _, x := range p.extra() {
		t += fmt.Sprintf(", %q = %q", x.rom, x.point)
	}
	return t + " }"
}

// extra are the probes beyond the pair, in the order in which they are read.
func (p *ProbeSpec) extra() (list []struct{ rom, point string }) {
	for _, x := range []struct{ rom, point string }{{p.OutsideROM, "outside"}, {p.RoomROM, "room"}, {p.CylinderROM, "cylinder"}} {
		if x.rom != "" {
			list = append(list, x)
		}
	}
	return list
}
