package sizing

import (
	"math"
	"math/rand/v2"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode/unit"
)

// dwelling is a made-up house hour by hour: a room node, and walls that follow it and the weather late. The walls' way
// out and the direct one make up the heat loss coefficient. All ranges are own proposals of what is lived in.
type dwelling struct {
	direct, wallIn, wallOut float64 // kW/K
	roomKWhK, wallKWhK      float64
	comfort, setBack        float64 // °C
	from, to                int     // hours of comfort
	outOnWorkdays           bool    // set back from 9 to 16 as well
	most                    float64 // kW
	gains, gainsSD, sunM2   float64 // kW, kW, m²
	awayShare               float64 // chance that a day begins an absence
}

func (d dwelling) htc() float64 {
	return d.direct + d.wallIn*d.wallOut/(d.wallIn+d.wallOut)
}

func aDwelling(r *rand.Rand) dwelling {
	u := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	htc := u(0.09, 0.40)
	through := htc * u(0.3, 0.65)
	d := dwelling{direct: htc - through, wallIn: through * 3, wallOut: through * 1.5,
		roomKWhK: htc * u(4, 10), wallKWhK: htc * u(15, 60),
		comfort: u(19, 21.5), from: 6, to: 22, gains: u(0.15, 0.55), gainsSD: u(0.05, 0.2), sunM2: u(0.5, 3), awayShare: 0}
	d.setBack = d.comfort
	if r.IntN(3) > 0 {
		d.setBack -= u(2, 5)
		d.outOnWorkdays = r.IntN(3) == 0
	}
	if r.IntN(3) == 0 {
		d.awayShare = 0.03
	}
	d.most = htc * 24 * u(1.2, 3.5)
	return d
}

// weather is a run of hourly outside temperatures and sun, kW/m² on the glass.
type weather struct{ outside, sun []float64 }

func aWinter(r *rand.Rand, days int) weather {
	u := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	mean, swing, sd, first := u(8, 11), u(5, 7.5), u(2.2, 3.6), u(270, 395)
	var w weather
	syn, cloud := 0.0, r.NormFloat64()
	for day := range days {
		syn = 0.78*syn + sd*math.Sqrt(1-0.78*0.78)*r.NormFloat64()
		cloud = 0.5*cloud + math.Sqrt(1-0.25)*r.NormFloat64()
		season := math.Cos(2 * math.Pi * (first + float64(day) - 20) / 365) // 1 about 20 January
		clear := 1 / (1 + math.Exp(-cloud))
		for h := range 24 {
			w.outside = append(w.outside, mean-swing*season+syn+(1+3*clear)*math.Cos(2*math.Pi*float64(h-15)/24))
			up := math.Sin(math.Pi * (float64(h) - 7.5 - season) / (9 - 2*season))
			w.sun = append(w.sun, max(0, up)*clear*(0.35-0.15*season))
		}
	}
	return w
}

// live gives the mean heating power of each day, kW. Away are the days of absence.
func (d dwelling) live(r *rand.Rand, w weather) (kw []float64) {
	room, wall := d.comfort, d.comfort-5
	gain, away := 0.0, 0
	for day := range len(w.outside) / 24 {
		gain = 0.6*gain + d.gainsSD*0.8*r.NormFloat64()
		if away > 0 {
			away--
		} else if r.Float64() < d.awayShare {
			away = 2 + r.IntN(5)
		}
		sum := 0.0
		for h := range 24 {
			i := day*24 + h
			set := d.setBack
			if h >= d.from && h < d.to && !(d.outOnWorkdays && day%7 < 5 && h >= 9 && h < 16) {
				set = d.comfort
			}
			inner := max(0, d.gains+gain)
			if away > 0 {
				set, inner = min(set, 14), 0.08
			}
			const steps = 6
			for range steps {
				te := w.outside[i]
				want := d.direct*(room-te) + d.wallIn*(room-wall) - inner - d.sunM2*w.sun[i] + (set-room)*d.roomKWhK*2
				p := min(d.most, max(0, want))
				dRoom := (p + inner + d.sunM2*w.sun[i] - d.direct*(room-te) - d.wallIn*(room-wall)) / d.roomKWhK
				dWall := (d.wallIn*(room-wall) - d.wallOut*(wall-te)) / d.wallKWhK
				room += dRoom / steps
				wall += dWall / steps
				sum += p / steps
			}
		}
		kw = append(kw, sum/24)
	}
	return kw
}

// inUse is the load at a steady outside temperature with the house's own habits, nobody away, mean gains and the mean
// sun of the record.
func (d dwelling) inUse(outside float64, w weather) float64 {
	const days = 28
	d.gainsSD, d.awayShare = 0, 0
	sun := 0.0
	for _, s := range w.sun {
		sun += s / float64(len(w.sun))
	}
	var steady weather
	for range days * 24 {
		steady.outside = append(steady.outside, outside)
		steady.sun = append(steady.sun, sun)
	}
	kw := d.live(rand.New(rand.NewPCG(1, 1)), steady)
	mean := 0.0
	for _, p := range kw[days-14:] {
		mean += p / 14
	}
	return mean
}

// synthetic is a record of a dwelling as the facts have it, with all that meters do to it.
type synthetic struct {
	facts *episode.Facts
	plant analyse.Plant
	basis Basis
	// The truth, kW. What is in use holds the hot water where that cannot be told apart.
	loss, inUse float64
}

const (
	design, inside = -3.0, 21.0
	hotWaterKWh    = 6.0 // a day
)

var day0 = time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC)

// aRecord is a record by one of three bases, whose errors lie within what is stated of them 95 times out of 100.
func aRecord(r *rand.Rand) synthetic {
	d := aDwelling(r)
	days := 25 + r.IntN(150)
	w := aWinter(r, days)
	power := d.live(r, w)
	s := synthetic{facts: &episode.Facts{From: day0, To: day0.AddDate(0, 0, days)}, loss: d.htc() * (inside - design), inUse: d.inUse(design, w)}
	s.plant = analyse.Plant{Kind: "boiler", Fuel: "natural-gas", HotWater: analyse.NoHotWater,
		OutsideDesign: analyse.Some(unit.Celsius(design)), InsideDesign: analyse.Some(unit.Celsius(inside)), CalorificValue: analyse.Some(39.5)}
	const none, apart, together = 0, 1, 2
	water := r.IntN(3)
	if water != none {
		s.plant.HotWater = analyse.InstantaneousHotWater
	}
	if water == together {
		s.inUse += hotWaterKWh / 24
	}
	var note func(*episode.HeatDay, float64, float64) // kWh for heating and for hot water
	switch r.IntN(3) {
	case 0:
		s.basis = ByCounter
		meter := counted{step: 1, per: 1 + meterError/2*r.NormFloat64(), together: water == together}
		note = func(h *episode.HeatDay, heat, hot float64) { h.Energy = meter.day(heat, hot) }
	case 1:
		s.basis = ByGas
		kWh := 39.5 * (1 + valueError/2*r.NormFloat64()) / 3.6 * (efficiency + efficiencyError/2*r.NormFloat64())
		meter := counted{step: []float64{0.01, 0.1, 1}[r.IntN(3)], per: (1 + volumeError/2*r.NormFloat64()) / kWh, together: water == together}
		note = func(h *episode.HeatDay, heat, hot float64) { h.Gas = meter.day(heat, hot) }
	default:
		s.basis = ByModulation
		most, least := d.most, d.most*(0.1+0.25*r.Float64())
		s.plant.OutputMax, s.plant.OutputMin = analyse.Some(unit.KW(most)), analyse.Some(unit.KW(least))
		off := 1 + outputError/2*r.NormFloat64()
		note = func(h *episode.HeatDay, heat, hot float64) {
			h.Burner.Watched = 24 * time.Hour
			by := [2]*episode.BurnTime{&h.Burner.Heating, &h.Burner.HotWater}
			if water == together {
				heat, hot = heat+hot, 0
				by[0] = &h.Burner.Undivided
			}
			for i, kWh := range [2]float64{heat / off, hot / off} {
				*by[i] = burnt(kWh, least, most)
			}
		}
	}
	sensor := outsideError / 2 * r.NormFloat64()
	hole := -1
	if r.IntN(2) == 0 {
		hole = r.IntN(days)
	}
	for i := range days {
		te := 0.0
		for _, t := range w.outside[i*24 : i*24+24] {
			te += t / 24
		}
		hot := 0.0
		if water != none {
			hot = max(0, hotWaterKWh+2.5*r.NormFloat64())
		}
		from := day0.AddDate(0, 0, i)
		day := episode.Day{From: from, To: from.AddDate(0, 0, 1)}
		note(&day.Heat, power[i]*24, hot)
		if r.IntN(12) == 0 || hole >= 0 && i >= hole && i < hole+4 {
			continue
		}
		day.Heat.Outside, day.Heat.OutsideFor = te+sensor+0.2*r.NormFloat64(), 24*time.Hour
		s.facts.Days = append(s.facts.Days, day)
	}
	return s
}

// counted is a counter that is read in steps: a day's amount is the difference of two cut values.
type counted struct {
	step, per float64 // its unit; how many units a true kWh
	together  bool
	value     float64
}

func (c *counted) day(heat, hot float64) episode.HeatSum {
	cut := func() float64 { return math.Floor(c.value/c.step) * c.step }
	before := cut()
	c.value += (heat + hot) * c.per
	sum := cut() - before
	h := episode.HeatSum{For: 24 * time.Hour}
	switch {
	case c.together:
		h.Undivided = sum
	case heat+hot > 0:
		h.Heating, h.HotWater = sum*heat/(heat+hot), sum*hot/(heat+hot)
	}
	return h
}

// burnt is how a burner makes some heat within a day: at its least output for a part of it, else modulating all day.
func burnt(kWh, least, most float64) episode.BurnTime {
	if kWh < 24*least {
		lit := time.Duration(kWh / least * float64(time.Hour))
		return episode.BurnTime{Lit: lit, ModFor: lit}
	}
	mod := 100 * (kWh/24 - least) / (most - least)
	return episode.BurnTime{Lit: 24 * time.Hour, ModFor: 24 * time.Hour, ModS: mod * 86400}
}
