package building

import (
	"maps"
	"slices"
)

// Material is a building material by its design conductivity.
type Material struct {
	Name            string
	ConductivityWMK float64 // W/mK
	Source          string
}

const (
	br443   = "BR 443 (BRE 2006) and EN ISO 10456, from memory"
	guideA  = "CIBSE Guide A, from memory"
	both    = "BR 443 (BRE 2006) and CIBSE Guide A, from memory"
	middle  = "middle of the usual range; the maker's declared value goes before it"
	insulat = guideA + "; " + middle
)

// materials are by name. Insulation varies most: where a data sheet is at hand its conductivity is given instead.
var materials = map[string]Material{
	"brick-outer":         {"brick-outer", 0.77, br443},
	"brick-inner":         {"brick-inner", 0.56, br443},
	"dense-block":         {"dense-block", 1.13, br443},
	"lightweight-block":   {"lightweight-block", 0.57, br443},
	"aerated-block":       {"aerated-block", 0.19, both + "; 0.11 to 0.20 by density"},
	"concrete":            {"concrete", 1.15, br443 + "; medium density"},
	"reinforced-concrete": {"reinforced-concrete", 2.3, br443 + "; 1 % steel"},
	"screed":              {"screed", 1.15, br443},
	"dense-plaster":       {"dense-plaster", 0.57, br443},
	"lightweight-plaster": {"lightweight-plaster", 0.18, br443},
	"plasterboard":        {"plasterboard", 0.21, br443},
	"softwood":            {"softwood", 0.13, br443},
	"mineral-wool-quilt":  {"mineral-wool-quilt", 0.044, both},
	"mineral-wool-batt":   {"mineral-wool-batt", 0.038, both},
	"eps":                 {"eps", 0.038, insulat + " (0.030 to 0.040)"},
	"xps":                 {"xps", 0.033, insulat + " (0.029 to 0.036)"},
	"pir":                 {"pir", 0.025, insulat + " (0.022 to 0.028)"},
	"phenolic":            {"phenolic", 0.022, insulat + " (0.020 to 0.025)"},
	"sandstone":           {"sandstone", 2.3, br443},
	"limestone":           {"limestone", 1.7, br443},
	"granite":             {"granite", 2.8, br443},
	"glass":               {"glass", 1.0, br443},
	"steel":               {"steel", 50, br443},
	"aluminium":           {"aluminium", 160, br443},
}

// materialNames are all that are known, in order.
func materialNames() []string { return slices.Sorted(maps.Keys(materials)) }
