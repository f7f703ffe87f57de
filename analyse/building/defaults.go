package building

import (
	"maps"
	"slices"
)

const (
	// defaultAir is the heat of air, Wh/m³K: 1.2 kg/m³ × 1.0 kJ/kgK, as British practice has it. EN 12831 takes 0.34.
	defaultAir       = 0.33
	defaultAirSource = "British practice (CIBSE Domestic Heating Design Guide, from memory); EN 12831 takes 0.34"

	// infiltrationShare is the part of all rooms' infiltration that a whole house takes: the wind enters on one side only.
	infiltrationShare  = 0.5
	infiltrationSource = "EN 12831:2003 7.2.2, from memory: naturally ventilated buildings"

	// defaultMinimum is the air that a habitable room needs, 1/h.
	defaultMinimum       = 0.5
	minimumSource        = "EN 12831:2003 annex D.5.1, from memory"
	bridgesUsual         = 0.10 // W/m²K, told where no bridges are counted
	bridgesUsualSource   = "EN 12831-1 default ΔU, from memory"
	groundFactor         = 1.45 // f_g1
	groundFactorSource   = "EN 12831:2003 6.1.3 and D.4.3, from memory: 1.45·(inside − yearly mean)/(inside − outside)"
	spaceGroundSource    = "own proposal, without the factor of EN 12831:2003 for rooms: a space has no steady temperature of its own"
	allInfiltration      = "own proposal: air comes into naturally ventilated rooms from outside, by the wind"
	fullDifferenceSource = "own choice, on the safe side; a yearly mean outside (annual_mean_c) brings EN 12831:2003 6.1.3"

	// oldBefore is the year before which outside walls are old, and oldShare how far their U may be off, ±.
	oldBefore = 1919
	oldShare  = 0.30
	oldSource = "own proposal, after walls measured in place: 1.3 ± 0.4 W/m²K of 58 solid walls against 2.1 assumed (Li et al., Building Research and Information 43, 2015)"
)

// use is what a room of a kind has, where nobody says otherwise.
type use struct {
	insideC, airChanges, minimum float64
	insideSource, airSource      string
}

const (
	nhbc       = "NHBC Standards 8.1.10 table 7"
	nhbcMemory = nhbc + ", from memory"
)

var uses = map[string]use{
	"living":   {21, 1.5, defaultMinimum, nhbc, nhbc},
	"dining":   {21, 1.5, defaultMinimum, nhbc, nhbc},
	"bedroom":  {18, 1.0, defaultMinimum, nhbcMemory, nhbcMemory},
	"hall":     {18, 1.5, defaultMinimum, nhbc, nhbc},
	"kitchen":  {18, 2.0, 1.5, nhbcMemory, nhbcMemory},
	"bathroom": {22, 2.0, 1.5, nhbcMemory, nhbcMemory},
	"wc":       {18, 1.5, 1.5, nhbcMemory, nhbcMemory},
}

// Uses are the rooms that have usual temperatures and air changes.
func Uses() []string { return slices.Sorted(maps.Keys(uses)) }

// spaceKinds are usual b_u (EN 12831:2003 annex D.4.2, from memory).
var spaceKinds = map[string]float64{
	"one-outside-wall":       0.4,
	"two-outside-walls":      0.5,
	"two-outside-walls-door": 0.6,
	"three-outside-walls":    0.8,
	"basement":               0.5,
	"basement-openings":      0.8,
	"loft-open-tiles":        1.0, // without underlay
	"loft-uninsulated":       0.9,
	"loft-insulated":         0.7,
	"crawl-space":            0.8,
}

const spaceKindSource = "EN 12831:2003 annex D.4.2, from memory"

// SpaceKinds are the unheated spaces that have a usual b_u.
func SpaceKinds() []string { return slices.Sorted(maps.Keys(spaceKinds)) }

// reheatWM2 is the reheat capacity of dwellings with a set-back of up to 8 h in a heavy building, W/m² of floor, by hours
// and drop in K (EN 12831:2003 annex D.6, from memory).
var reheatWM2 = [4][3]float64{{11, 22, 45}, {6, 11, 22}, {4, 9, 16}, {2, 7, 13}}

const reheatSource = "EN 12831:2003 annex D.6, from memory: dwellings, set-back up to 8 h, heavy building"

// perM2 is W for each m² of floor; what the table does not have was refused.
func (r Reheat) perM2() float64 {
	if r.WM2 != nil {
		return *r.WM2
	}
	h, d := int(r.Hours)-1, int(r.DropK)-1
	if h < 0 || h >= len(reheatWM2) || d < 0 || d >= len(reheatWM2[0]) {
		return 0
	}
	return reheatWM2[h][d]
}
