package episode

import (
	"math"
	"math/rand/v2"
	"time"

	"tundish/decode"
)

// plant is a small heating system for tests: a heat exchanger, emitters and a return pipe as mixed volumes, a burner
// with hysteresis that modulates or not, a pump that runs with the demand and after it, two strapped probes. It is
// another model than the simulated house of cmd/tundish, on purpose. All figures are own assumptions.
type plant struct {
	minKW, maxKW     float64
	exchanger        float64 // J/K
	lpm              float64
	emitter          float64 // J/K
	emitterWK        float64 // W/K to a room of 20 °C
	pipeL            float64 // of the return
	setpoint, spread float64 // °C; K, on below and off above
	rest             time.Duration
	overrun          time.Duration
	demands          [][2]time.Duration
	defrost          bool    // for 5 min in every 80 min of burning, half the output is taken out of the water
	pumpLossWK       float64 // W/K that 18 l of pipe at flow and return each lose while the pump stands; 0: as the exchanger and the pipe do

	every           time.Duration
	tau             float64
	flowOff, retOff float64
	seed            uint64
}

// simulate runs the plant and gives the probes' readings and the true burns.
func (p plant) simulate(length time.Duration) (out []decode.Reading, burns []Span) {
	rng := rand.New(rand.NewPCG(p.seed, 1))
	hx, em, ret := 22.0, 21.0, 21.5
	probeF, probeR := hx, ret
	fire, kw, off := false, 0.0, time.Duration(-1<<40)
	water := p.lpm / 60 * 4180.0
	for at := time.Duration(0); at < length; at += time.Second {
		demand, pump := false, false
		for _, d := range p.demands {
			demand = demand || at >= d[0] && at < d[1]
			pump = pump || at >= d[0] && at < d[1]+p.overrun
		}
		was := fire
		switch {
		case fire && (!demand || hx > p.setpoint+p.spread):
			fire, off = false, at
		case !fire && demand && hx < p.setpoint-p.spread && at-off >= p.rest:
			fire, kw = true, p.minKW
		}
		if fire != was {
			if fire {
				burns = append(burns, Span{From: start.Add(at)})
			} else {
				burns[len(burns)-1].To = start.Add(at)
			}
		}
		power := 0.0
		if fire {
			kw = min(max(kw+0.002*(p.setpoint-hx)*(p.maxKW-p.minKW)/10, p.minKW), p.maxKW)
			power = 1000 * kw
			if since := at - burns[len(burns)-1].From.Sub(start); p.defrost && since%(80*time.Minute) >= 75*time.Minute {
				power = -500 * p.maxKW
			}
		}
		for range 4 {
			const dt = 0.25
			w := 0.0
			if pump {
				w = water
			}
			dHX := power + w*(ret-hx) - 1.5*(hx-20)
			dEm := w*(hx-em) - p.emitterWK*(em-20)
			pipe := p.pipeL * 4180
			dRet := w*(em-ret) - 0.5*(ret-20)
			if p.pumpLossWK > 0 && !pump { // the probes sit on pipes that stand full
				rate := p.pumpLossWK / (18 * 4180)
				dHX, dRet = -rate*(hx-20)*p.exchanger, -rate*(ret-20)*pipe
			}
			hx, em, ret = hx+dHX*dt/p.exchanger, em+dEm*dt/p.emitter, ret+dRet*dt/pipe
		}
		probeF += (hx - probeF) / p.tau
		probeR += (ret - probeR) / p.tau
		if at%p.every == 0 {
			read := func(point decode.Point, v float64) {
				v = math.Round(16*(v+0.03*rng.NormFloat64())) / 16
				out = append(out, decode.Reading{Time: start.Add(at), Series: decode.Series{Source: "probes", Point: point}, Value: v, Quality: decode.Good})
			}
			read(decode.Flow, probeF+p.flowOff)
			read(decode.Return, probeR+p.retOff)
		}
	}
	if fire {
		burns[len(burns)-1].To, burns[len(burns)-1].Open = start.Add(length), true
	}
	return out, burns
}

// hours are demands by hours of the record.
func hours(h ...float64) (out [][2]time.Duration) {
	for i := 0; i+1 < len(h); i += 2 {
		out = append(out, [2]time.Duration{time.Duration(h[i] * float64(time.Hour)), time.Duration(h[i+1] * float64(time.Hour))})
	}
	return out
}

// plants are systems far apart in size and kind.
func plants() map[string]plant {
	day := hours(0.5, 3, 4, 7, 7.5, 11)
	return map[string]plant{
		"wall boiler that modulates": {minKW: 3, maxKW: 18, exchanger: 14e3, lpm: 10, emitter: 300e3, emitterWK: 180, pipeL: 6, setpoint: 58, spread: 4, rest: 3 * time.Minute, overrun: 3 * time.Minute, demands: day},
		"oversized, few litres":      {minKW: 9, maxKW: 24, exchanger: 12e3, lpm: 12, emitter: 140e3, emitterWK: 120, pipeL: 4, setpoint: 60, spread: 5, rest: 3 * time.Minute, overrun: 3 * time.Minute, demands: day},
		"on or off, cast iron":       {minKW: 18, maxKW: 18, exchanger: 150e3, lpm: 15, emitter: 500e3, emitterWK: 150, pipeL: 10, setpoint: 65, spread: 5, rest: 0, overrun: 5 * time.Minute, demands: day},
		"underfloor":                 {minKW: 4, maxKW: 12, exchanger: 20e3, lpm: 16, emitter: 3e6, emitterWK: 400, pipeL: 15, setpoint: 38, spread: 3, rest: 5 * time.Minute, overrun: 5 * time.Minute, demands: day},
		"heat pump, no flame":        {minKW: 3, maxKW: 7, exchanger: 40e3, lpm: 18, emitter: 1.5e6, emitterWK: 160, pipeL: 20, setpoint: 40, spread: 3, rest: 10 * time.Minute, overrun: 5 * time.Minute, demands: day},
		"large, 200 l":               {minKW: 15, maxKW: 30, exchanger: 80e3, lpm: 40, emitter: 800e3, emitterWK: 350, pipeL: 30, setpoint: 62, spread: 5, rest: 2 * time.Minute, overrun: 3 * time.Minute, demands: day},
		"weak flow":                  {minKW: 4, maxKW: 10, exchanger: 12e3, lpm: 3.5, emitter: 150e3, emitterWK: 60, pipeL: 5, setpoint: 60, spread: 5, rest: 3 * time.Minute, overrun: 4 * time.Minute, demands: day},
	}
}
