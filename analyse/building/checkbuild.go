package building

import (
	"fmt"
	"slices"
)

// builtOf checks how an element is made.
func (a at) builtOf(e *Element, opening bool) {
	if e.Construction == "" {
		a.build(e.Build, opening)
		return
	}
	if !e.Build.empty() {
		a.fail("construction", "give one of construction, u_w_m2k, layers, ground")
	}
	a.check("u_uncertainty_percent", e.UncertaintyPercent, percentBound)
	if s := string(e.Surface); s != "" && !slices.Contains(Surfaces(), s) {
		a.unknown("surface", "surface", s, Surfaces())
	}
	if _, known := a.c.house.construction(e.Construction); !known {
		a.unknown("construction", "construction of this house or of the library", e.Construction, a.c.constructionNames())
	}
	if opening && a.c.house.build(*e).Ground != nil {
		a.fail("construction", "an opening does not lie on the ground")
	}
}

// constructionNames are the house's own, and then the library's.
func (c *checker) constructionNames() []string {
	var out []string
	for _, k := range slices.Concat(c.house.Constructions, Library()) {
		if k.Name != "" && !slices.Contains(out, k.Name) {
			out = append(out, k.Name)
		}
	}
	return out
}

// build checks what says how something is made.
func (a at) build(b Build, opening bool) {
	a.check("u_uncertainty_percent", b.UncertaintyPercent, percentBound)
	if s := string(b.Surface); s != "" && !slices.Contains(Surfaces(), s) {
		a.unknown("surface", "surface", s, Surfaces())
		return
	}
	switch {
	case b.empty():
		a.fail("u_w_m2k", "is missing: say how it is made by one of construction, u_w_m2k, layers, ground")
		return
	case b.UWM2K != nil && (len(b.Layers) > 0 || b.Ground != nil):
		a.fail("u_w_m2k", "is told beside layers or ground; give one of them")
		return
	}
	a.u(b.UWM2K)
	if b.Ground != nil {
		if opening {
			a.fail("ground", "an opening does not lie on the ground")
		}
		a.slab(*b.Ground)
		if b.Surface != "" && b.Surface != Floor {
			a.fail("surface", "what lies on the ground is a floor")
		}
	} else if len(b.Layers) > 0 && b.Surface == "" {
		a.fail("surface", "is missing: wall, roof or floor, for the surfaces' resistances")
	}
	if len(b.Layers) > mostParts {
		a.fail("layers", "more than %d", mostParts)
		return
	}
	before := len(a.c.all)
	for i, l := range b.Layers {
		p := a.in(fmt.Sprintf("layers[%d]", i), fmt.Sprintf("layer %d", i+1))
		p.layer(l)
	}
	if !slices.ContainsFunc(a.c.all[before:], func(p Problem) bool { return !p.Warning }) {
		a.limits(b)
	}
}

// u checks a told U-value.
func (a at) u(p *float64) {
	switch {
	case p == nil:
	case *p == 0:
		a.fail("u_w_m2k", "is 0: nothing lets no heat through; leave the element out where both sides are equally warm, or name the neighbour")
	case *p > 100:
		a.fail("u_w_m2k", "%v is outside %v to %v W/m²K; in milliwatts? %v mW/m²K are %v W/m²K", *p, uBound.low, uBound.high, *p, *p/1000)
	default:
		a.check("u_w_m2k", p, uBound)
	}
}

func (a at) slab(g Ground) {
	p := a.in("ground", "ground")
	p.need("area_m2", told(g.AreaM2), slabBound, "of the whole slab")
	p.need("perimeter_m", told(g.PerimeterM), edgeBound, "of the slab where it meets outside or an unheated space")
	p.check("wall_m", told(g.WallM), wallBound)
	p.check("soil_w_mk", told(g.SoilWMK), soilBound)
}

// told is nil for 0, which says that nothing was.
func told(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}

// layer checks one layer.
func (a at) layer(l Layer) {
	material := l.Material != "" || l.ConductivityWMK != 0 || l.ThicknessM != 0
	ways := 0
	for _, is := range []bool{material, l.ResistanceM2KW != 0, l.AirM != 0} {
		if is {
			ways++
		}
	}
	if ways != 1 {
		a.fail("", "give one of thickness_m with conductivity_w_mk or material, resistance_m2k_w, air_m")
		return
	}
	a.check("resistance_m2k_w", told(l.ResistanceM2KW), layerRBound)
	a.check("air_m", told(l.AirM), airGapBound)
	if material {
		a.need("thickness_m", told(l.ThicknessM), thickBound, "a layer without thickness resists nothing")
		a.lambda(l.ConductivityWMK, l.Material)
	}
	b := l.Bridge
	if b == nil {
		return
	}
	p := a.in("bridge", "bridge")
	p.lambda(b.ConductivityWMK, b.Material)
	if p.check("share", &b.Share, shareBound) && (b.Share == 0 || b.Share == 1) {
		p.fail("share", "%v: a bridge has a part of the layer's area between 0 and 1", b.Share)
	}
	if l.ResistanceM2KW != 0 {
		p.fail("", "a bridged layer needs its thickness: what runs through it is as deep as the layer")
	}
}

// lambda checks a conductivity, told or by material.
func (a at) lambda(v float64, material string) {
	_, known := materials[material]
	switch {
	case material != "" && !known:
		a.unknown("material", "material of the library", material, materialNames())
	case material == "" && v == 0:
		a.fail("conductivity_w_mk", "is missing: give it, or material = \"brick-outer\" or the like")
	default:
		a.check("conductivity_w_mk", told(v), lambdaBound)
	}
}

const (
	// widestLimits is the ratio of upper to lower limit up to which EN ISO 6946:2017 6.7.2.1 lets the method be used.
	widestLimits = 1.5
	// metalWMK is the conductivity from which a bridge is metal, for which the method is not made (same clause). Own choice.
	metalWMK = 10
)

// limits checks whether the combined method may be used.
func (a at) limits(b Build) {
	_, shares := members(b.Layers)
	if len(shares) > mostMembers {
		a.fail("layers", "%d bridges that lie anywhere; at most %d: give a name to those that are one member", len(shares), mostMembers)
		return
	}
	named := map[string]float64{}
	for i, l := range b.Layers {
		if l.Bridge == nil {
			continue
		}
		if first, twice := named[l.Bridge.Name]; twice && l.Bridge.Name != "" && first != l.Bridge.Share {
			a.fail(fmt.Sprintf("layers[%d].bridge.share", i), "%v, but bridge %q has %v in another layer: one member has one share", l.Bridge.Share, l.Bridge.Name, first)
			return
		}
		named[l.Bridge.Name] = l.Bridge.Share
		if l.Bridge.conductivity() >= metalWMK {
			a.warn(fmt.Sprintf("layers[%d].bridge", i), "is of metal, for which EN ISO 6946 6.7.2 is not made: the U-value is too low")
		}
	}
	if b.Ground != nil || b.Surface == "" {
		return
	}
	if u := b.UValue(); len(shares) > 0 && u.UpperM2KW > widestLimits*u.LowerM2KW {
		a.warn("layers", "upper and lower limit of the resistance differ by a factor of %.2f; EN ISO 6946 6.7.2 holds up to %v", u.UpperM2KW/u.LowerM2KW, widestLimits)
	}
	if u := b.UValue(); u.UWM2K < 0.05 {
		a.warn("layers", "give a U-value of %.3f W/m²K, which is unusual; is a unit wrong?", u.UWM2K)
	}
}
