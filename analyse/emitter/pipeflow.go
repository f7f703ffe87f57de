package emitter

import (
	"fmt"
	"math"
	"slices"

	"tundish/analyse/water"
)

// Ceilings of what pipes carry.
var (
	// DirtMS is the velocity below which dirt may settle.
	DirtMS = Assumption{What: "dirt may settle below", Value: 0.5, Unit: "m/s", Source: "Copper Development Association, Copper Tubes in Domestic Heating Systems, as quoted"}
	// SmallPipeMS is what heating is usually designed for in small pipes.
	SmallPipeMS = Assumption{What: "usual ceiling of velocity in small pipes", Value: 0.9, Unit: "m/s", Source: "CIBSE Guide B (1986), as quoted in public pipe-sizing notes"}
	// NoiseMS is the velocity above which pipes are heard.
	NoiseMS = Assumption{What: "noise above", Value: 1.5, Unit: "m/s", Source: "Copper Development Association, Copper Tubes in Domestic Heating Systems, as quoted"}
	// ErosionMS is the velocity above which copper wears.
	ErosionMS = Assumption{What: "copper wears above", Value: 2.5, Unit: "m/s", Source: "Copper Development Association, Copper Tubes in Domestic Heating Systems, as quoted"}
	// UsualPaM is the pressure drop that heating is usually designed for.
	UsualPaM = Assumption{What: "usual ceiling of pressure drop", Value: 300, Unit: "Pa/m", Source: "CIBSE Guide B (1986), as quoted in public pipe-sizing notes"}
)

// PipeFlow is water in a pipe.
type PipeFlow struct {
	Name       string
	BoreMM     float64
	WaterLPH   float64
	VelocityMS float64
	Reynolds   float64
	// PaPerM is the pressure drop of straight pipe, Pa/m; bends and valves come on top. PaAll is that over LengthM, 0 where
	// no length is known. Not known, with DropKnown false, in a mixture whose viscosity nobody gave.
	PaPerM, PaAll float64
	DropKnown     bool
	// Over are the ceilings that it passes; Slow tells that dirt may settle.
	Over []Assumption
	Slow bool
}

// Flow is water at a temperature in the pipe, by its volume flow in l/h, 0 or above.
func (p Pipe) Flow(waterLPH, waterC float64, l water.Liquid) (PipeFlow, error) {
	if err := p.Check(p.Rooms); err != nil {
		return PipeFlow{}, fmt.Errorf("pipe %q: %w", p.Name, err)
	}
	if !(waterLPH >= 0 && waterLPH <= 1e6) {
		return PipeFlow{}, fmt.Errorf("pipe %q: water flow is %g l/h: it is 0 to 1e6", p.Name, waterLPH)
	}
	rho, err := l.Density(waterC)
	if err != nil {
		return PipeFlow{}, fmt.Errorf("pipe %q: %w", p.Name, err)
	}
	mPaS, known, err := l.Viscosity(waterC)
	if err != nil {
		return PipeFlow{}, fmt.Errorf("pipe %q: %w", p.Name, err)
	}
	bore, _ := p.bore()
	d := bore / 1000
	out := PipeFlow{Name: p.Name, BoreMM: bore, WaterLPH: waterLPH, VelocityMS: waterLPH / 1000 / 3600 / (math.Pi / 4 * d * d), DropKnown: known}
	if known {
		out.Reynolds = out.VelocityMS * d * rho / (mPaS / 1000)
		out.PaPerM = 32 * mPaS / 1000 * out.VelocityMS / (d * d) // Hagen and Poiseuille: the same as with 64/Re, and good for the least of flows
		if out.Reynolds >= laminarTo {
			out.PaPerM = friction(out.Reynolds, p.roughness()/bore) / d * rho * out.VelocityMS * out.VelocityMS / 2
		}
		out.PaAll = out.PaPerM * p.LengthM
	}
	for _, a := range []Assumption{SmallPipeMS, NoiseMS, ErosionMS} {
		if out.VelocityMS > a.Value {
			out.Over = append(out.Over, a)
		}
	}
	if out.PaPerM > UsualPaM.Value {
		out.Over = append(out.Over, UsualPaM)
	}
	out.Slow = waterLPH > 0 && out.VelocityMS < DirtMS.Value
	return out, nil
}

const (
	laminarTo, turbulentFrom = 2300.0, 4000.0 // Reynolds numbers (handbooks of hydraulics, from memory)
)

// friction is the friction factor of Darcy and Weisbach from laminarTo up: the explicit form of Swamee and Jain (1976) where
// the flow is turbulent, below that a straight line down to 64/Re of laminar flow (own proposal; nobody knows it better).
func friction(re, roughByBore float64) float64 {
	swameeJain := func(re float64) float64 {
		x := math.Log10(roughByBore/3.7 + 5.74/math.Pow(re, 0.9))
		return 0.25 / (x * x)
	}
	if re < turbulentFrom {
		low, high := 64/laminarTo, swameeJain(turbulentFrom)
		return low + (re-laminarTo)/(turbulentFrom-laminarTo)*(high-low)
	}
	return swameeJain(re)
}

// CarriesLPH is the most water that a pipe carries below a velocity (m/s) and a pressure drop (Pa/m), l/h; a ceiling of 0 is
// none, and one is needed.
func (p Pipe) CarriesLPH(mostMS, mostPaM, waterC float64, l water.Liquid) (float64, error) {
	if !(mostMS >= 0 && mostMS <= 10) {
		return 0, outOf("ceiling of velocity", mostMS, "m/s", 0, 10)
	}
	if !(mostPaM >= 0 && mostPaM <= 1e5) {
		return 0, outOf("ceiling of pressure drop", mostPaM, "Pa/m", 0, 1e5)
	}
	if mostMS == 0 && mostPaM == 0 {
		return 0, fmt.Errorf("pipe %q: neither a velocity nor a pressure drop is given as a ceiling", p.Name)
	}
	one, err := p.Flow(1, waterC, l)
	if err != nil {
		return 0, err
	}
	most := 10 / one.VelocityMS // l/h at 10 m/s
	if mostMS > 0 {
		most = mostMS / one.VelocityMS
	}
	if mostPaM == 0 {
		return most, nil
	}
	if !one.DropKnown {
		return 0, fmt.Errorf("pipe %q: the pressure drop of %s is not known: give its viscosity", p.Name, l.Name)
	}
	low, high := 0.0, most
	for range 60 {
		mid := (low + high) / 2
		x, err := p.Flow(mid, waterC, l)
		if err != nil {
			return 0, err
		}
		if x.PaPerM <= mostPaM {
			low = mid
		} else {
			high = mid
		}
	}
	return low, nil
}

// PipeFlows are the pipes with the water that carries their rooms' needs at a flow and return of design.
func (s System) PipeFlows(flowC, returnC float64) ([]PipeFlow, error) {
	rooms, err := s.Outputs(flowC, returnC, Arithmetic)
	if err != nil {
		return nil, err
	}
	var out []PipeFlow
	for _, p := range s.Pipes {
		sum := 0.0
		for _, r := range rooms {
			if len(p.Rooms) == 0 || slices.Contains(p.Rooms, r.Name) {
				sum += r.WaterLPH
			}
		}
		x, err := p.Flow(sum, (flowC+returnC)/2, s.Liquid)
		if err != nil {
			return nil, err
		}
		out = append(out, x)
	}
	return out, nil
}
