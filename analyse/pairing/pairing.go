// Package pairing judges the comparison of two probes in the same stirred water: how far apart they read, and how well
// that is known.
//
// The uncertainty follows the GUM (JCGM 100:2008): the standard deviation of the mean of the difference, with readings
// that hang together counted for what they are worth (4.2; C.3.6 warns of correlated readings); half a step of either
// probe as a rectangular distribution (4.3.7, F.2.2.1); what a drift of the water makes of probes that are not equally
// quick, rectangular too; combined by 5.1.2 and expanded with k = 2 (6.2.1, G.6.6).
package pairing

import (
	"errors"
	"fmt"
	"math"
	"time"

	"tundish/decode/unit"
)

const (
	// K is the coverage factor: about 95 % where ten or more degrees of freedom are behind the uncertainty (GUM G.6.6).
	K = 2
	// LeastReadings is how many pairs are needed. Own proposal: a minute at one a second.
	LeastReadings = 60
	// LeastEffective is how many independent readings they must be worth, so that K holds (GUM G.6.6: ν > 10).
	LeastEffective = 11
	// LeastShare is the share of the sweeps that must have brought both values. Own proposal.
	LeastShare = 0.8
	// DriftLimitKpmin is how fast the water may change, K a minute. Own proposal: with LagS it makes 0.05 K.
	DriftLimitKpmin = 0.3
	// LagS is how much slower than the other one probe may be, s: sleeves differ so (from memory).
	LagS = 10.0
	// SettledK is how much the difference may change from the first third to the last, K. Own proposal: a step and a
	// half at 12 bits.
	SettledK = 0.1
	// ApartK is the largest difference taken for two probes in one water, K. Own proposal: twice what two chips within
	// their promise of ±0.5 K can differ by (DS18B20 datasheet).
	ApartK = 2.0
	// PromiseK is what two chips within their promise can differ by, K (DS18B20 datasheet, −10 to 85 °C).
	PromiseK = 1.0
)

// The reasons for which a comparison gives nothing.
var (
	ErrFew       = errors.New("too few readings")
	ErrDrift     = errors.New("the water changed too fast")
	ErrUnsettled = errors.New("the probes had not settled")
	ErrApart     = errors.New("the probes are too far apart")
)

// Sample is both probes at one moment, °C.
type Sample struct {
	At            time.Duration
	First, Second unit.Celsius
}

// Result is what a comparison says.
type Result struct {
	Readings  int
	Offset    unit.Kelvin // to add to the second probe, so that it reads as the first
	Spread    unit.Kelvin // standard deviation of single differences
	Effective float64     // independent readings that the mean is worth
	Expanded  unit.Kelvin // uncertainty of the offset, ±, coverage factor K
	DriftKmin float64     // of the water, K a minute, fastest stretch
	Mean      unit.Celsius
}

// Judge compares. steps are the smallest changes that the probes show, sweeps how many times both were asked. With an
// error the result holds what could be computed.
func Judge(samples []Sample, steps [2]unit.Kelvin, sweeps int) (Result, error) {
	r := Result{Readings: len(samples)}
	if r.Readings < LeastReadings {
		return r, fmt.Errorf("%w: %d with both probes, at least %d are needed", ErrFew, r.Readings, LeastReadings)
	}
	if float64(r.Readings) < LeastShare*float64(sweeps) {
		return r, fmt.Errorf("%w: both probes answered in %d of %d; look at cable and pull-up", ErrFew, r.Readings, sweeps)
	}
	d := make([]float64, len(samples))
	level := make([]float64, len(samples))
	for i, s := range samples {
		d[i] = float64(s.First.Sub(s.Second))
		level[i] = (float64(s.First) + float64(s.Second)) / 2
	}
	offset, variance := meanAndVariance(d)
	mean, _ := meanAndVariance(level)
	r.Offset, r.Spread, r.Mean = unit.Kelvin(offset), unit.Kelvin(math.Sqrt(variance)), unit.Celsius(mean)
	ofMean := variance / float64(len(d)) * inflation(d, offset, variance)
	r.Effective = float64(len(d))
	if ofMean > 0 {
		r.Effective = min(r.Effective, variance/ofMean)
	}
	r.DriftKmin = fastest(samples, level)
	sum := ofMean + square(r.DriftKmin/60*LagS)/3
	for _, step := range steps {
		sum += square(float64(step)/2) / 3
	}
	r.Expanded = unit.Kelvin(K * math.Sqrt(sum))
	return r, r.refuse(d)
}

func (r Result) refuse(d []float64) error {
	third := len(d) / 3
	early, _ := meanAndVariance(d[:third])
	late, _ := meanAndVariance(d[len(d)-third:])
	switch {
	case r.DriftKmin > DriftLimitKpmin:
		return fmt.Errorf("%w: %.2f K a minute, at most %.1f may be; use more water, nearer to room temperature, or a vacuum flask", ErrDrift,
			r.DriftKmin, DriftLimitKpmin)
	case math.Abs(late-early) > SettledK:
		return fmt.Errorf("%w: the difference went from %.2f to %.2f K; wait some minutes in the stirred water, then start again", ErrUnsettled, early, late)
	case math.Abs(float64(r.Offset)) > ApartK:
		return fmt.Errorf("%w: %.2f K; are both in the same stirred water? Else one is faulty", ErrApart, math.Abs(float64(r.Offset)))
	case r.Effective < LeastEffective:
		return fmt.Errorf("%w: they hang together and are worth %.0f independent ones, at least %d are needed; stir, and compare for longer", ErrFew,
			r.Effective, LeastEffective)
	}
	return nil
}

func square(x float64) float64 { return x * x }

func meanAndVariance(x []float64) (mean, variance float64) {
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	for _, v := range x {
		variance += square(v - mean)
	}
	return mean, variance / float64(len(x)-1)
}

// longestMemory is how many readings apart two may still hang together, readings. Own choice: it bounds the work.
const longestMemory = 1000

// inflation is by how much readings that hang together widen the variance of their mean: 1 + 2 Σ (1 − k/n) ρ(k), the
// sum ending before the first ρ(k) that is not positive.
func inflation(x []float64, mean, variance float64) float64 {
	n := len(x)
	f := 1.0
	for k := 1; k < min(n/2, longestMemory) && variance > 0; k++ {
		rho := 0.0
		for i := k; i < n; i++ {
			rho += (x[i] - mean) * (x[i-k] - mean)
		}
		if rho /= float64(n-1) * variance; rho <= 0 {
			break
		}
		f += 2 * (1 - float64(k)/float64(n)) * rho
	}
	return f
}

// stretchMin is the stretch over which a drift is taken, minutes: shorter ones are ruled by the probes' steps.
const stretchMin = 2.0

// fastest is the fastest change of the water over any stretch of two minutes, or over the whole where it is shorter, K
// a minute: the slope of the straight line through it.
func fastest(samples []Sample, level []float64) (most float64) {
	minutes := func(i int) float64 { return samples[i].At.Minutes() }
	last := len(samples) - 1
	for from := 0; from <= last; {
		to := from
		for to < last && minutes(to)-minutes(from) < stretchMin {
			to++
		}
		whole := minutes(to)-minutes(from) >= stretchMin
		if !whole && from > 0 {
			for from > 0 && minutes(last)-minutes(from) < stretchMin {
				from--
			}
		}
		var t, y, tt, ty, n float64
		for i := from; i <= to; i++ {
			dt := minutes(i) - minutes(from)
			t, y, tt, ty, n = t+dt, y+level[i]-level[from], tt+dt*dt, ty+dt*(level[i]-level[from]), n+1
		}
		if den := n*tt - t*t; den > 0 {
			most = max(most, math.Abs((n*ty-t*y)/den))
		}
		if to == last {
			break
		}
		from = (from+to)/2 + 1 // stretches that overlap by half
	}
	return most
}
