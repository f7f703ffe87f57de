package house

import (
	"fmt"
	"strconv"
	"strings"
)

// JobSheet writes the job sheet of this house in TOML: plant and site as they are simulated, two sources of kind
// "simulated". The return probe reads Probes.RetOffK too high; its offset_k takes that off.
func (s Scenario) JobSheet(seed uint64) []byte {
	var b strings.Builder
	line := func(key, value string) { fmt.Fprintf(&b, "%s = %s\n", key, value) }
	number := func(key string, v float64) {
		t := strconv.FormatFloat(v, 'f', -1, 64)
		if !strings.Contains(t, ".") {
			t += ".0"
		}
		line(key, t)
	}
	text := func(key, v string) { line(key, strconv.Quote(v)) }

	fmt.Fprintf(&b, "# A simulated house: %s.\n# People, places and figures are invented.\n\n[job]\n", s.Doc)
	text("name", s.JobName)
	text("timezone", s.Timezone)

	b.WriteString("\n[site]\n")
	number("outside_design_c", s.Building.DesignOutside)
	number("inside_design_c", s.Building.DesignInside)
	number("design_heat_loss_kw", s.Building.DesignLossW/1000)

	b.WriteString("\n[plant]\n")
	text("kind", "boiler")
	text("fuel", "natural-gas")
	text("emitters", "radiators")
	number("output_max_kw", s.Boiler.OutputMaxKW)
	number("output_min_kw", s.Boiler.OutputMinKW)
	number("water_content_l", s.WaterL())
	number("design_flow_c", s.DesignFlowC)
	number("design_return_c", s.DesignReturnC)
	supply := "permanent-live"
	if s.SwitchedLive {
		supply = "switched-live"
	}
	text("supply", supply)
	line("ignition_attempts", strconv.Itoa(s.Boiler.Attempts))
	text("hot_water", [...]string{NoHotWater: "none", Cylinder: "cylinder", Instantaneous: "instantaneous"}[s.HotWater.Kind])
	number("minimum_pressure_bar", minimumPressureBar)

	for _, part := range []string{PartBus, PartProbes} {
		b.WriteString("\n[[source]]\n")
		name := SourceBus
		if part == PartProbes {
			name = SourceProbes
		}
		text("name", name)
		text("kind", "simulated")
		text("scenario", s.Name)
		line("seed", strconv.FormatUint(seed, 10))
		text("part", part)
		if part == PartProbes {
			text("at", "flow and return, 300 mm below the casing, copper, insulated")
			fmt.Fprintf(&b, "points = { %q = \"flow\", %q = { point = \"return\", offset_k = %s } }\n", s.Probes.FlowROM,
				s.Probes.ReturnROM, strconv.FormatFloat(-s.Probes.RetOffK, 'f', -1, 64))
		}
	}
	return []byte(b.String())
}

// minimumPressureBar is below what the invented boiler's instructions want no operation, bar. Own assumption.
const minimumPressureBar = 0.8
