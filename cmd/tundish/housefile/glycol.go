package housefile

import (
	"fmt"

	"tundish/analyse/emitter"
	"tundish/analyse/water"
)

// glycol is a mixture as a person tells it.
type glycol struct {
	name, source             string
	share                    float64 // % by volume
	density, heat, viscosity float64
}

var glycolFields = []field[glycol]{
	text("name", func(g *glycol) *string { return &g.name }),
	text("source", func(g *glycol) *string { return &g.source }),
	above("share_percent", "%", 70, func(g *glycol) *float64 { return &g.share }),
	above("density_kg_m3", "kg/m³", anything, func(g *glycol) *float64 { return &g.density }),
	above("heat_kj_kgk", "kJ/kgK", anything, func(g *glycol) *float64 { return &g.heat }),
	above("viscosity_mpas", "mPa·s", anything, func(g *glycol) *float64 { return &g.viscosity }),
}

// known are the mixtures whose figures are there, at their share by volume.
var known = map[string]struct {
	share  float64
	liquid water.Liquid
}{
	"propylene": {30, water.PropyleneGlycol30},
	"ethylene":  {30, water.EthyleneGlycol30},
}

// takeGlycol reads [glycol]: nothing is taken as a mixture that the file does not name.
func takeGlycol(f *File, v any, at here) error {
	before := len(at.r.errs)
	var g glycol
	fill(at.r, at.path, "glycol", v, &g, glycolFields)
	if len(at.r.errs) > before {
		return nil
	}
	told := g.density != 0 || g.heat != 0
	k, usual := known[g.name]
	switch {
	case g.name == "":
		at.r.fail(at.path, "glycol", "name", "is missing: propylene, ethylene, or what the data sheet calls it")
	case g.share == 0:
		at.r.fail(at.path, "glycol", "share_percent", "is missing: how much of it by volume, %%")
	case !told && (!usual || g.share != k.share):
		at.r.fail(at.path, "glycol", "density_kg_m3", "is missing, with heat_kj_kgk: only 30 %% of propylene or ethylene glycol is known here; give those of the mixture's data sheet")
	case !told:
		f.Liquid = k.liquid
		f.Liquid.ViscosityMPaS = g.viscosity
	default:
		source := g.source
		if source == "" {
			source = "the house file"
		}
		f.Liquid = water.Liquid{Name: fmt.Sprintf("%g %% %s", g.share, glycolName(g.name)), DensityKgM3: g.density, HeatKJKgK: g.heat, ViscosityMPaS: g.viscosity, Source: source}
		if err := f.Liquid.Check(); err != nil {
			at.r.fail(at.path, "glycol", "", "%v", err)
		}
	}
	return nil
}

func glycolName(name string) string {
	if _, usual := known[name]; usual {
		return name + " glycol"
	}
	return name
}

// takeMean reads excess_mean.
func takeMean(f *File, v any, _ here) error {
	name, ok := v.(string)
	if !ok {
		return fmt.Errorf("must be a text: arithmetic or logarithmic")
	}
	m, err := emitter.MeanNamed(name)
	f.Mean = m
	return err
}
