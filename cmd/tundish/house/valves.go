package house

import "math"

const (
	// thermostaticTau is the lag of a thermostatic valve's head behind the room air, s. EN 215 allows a response time of
	// 40 min (from memory); usual heads take about half: own assumption.
	thermostaticTau = 1200.0
	// thermostaticBandK is the valve's travel from open to shut, K, where none is specified: EN 215 rates valves 2 K below
	// shutting (from memory).
	thermostaticBandK = 2.0
	// authority is the share of an emitter branch's pressure drop that lies in its thermostatic valve when fully open; the
	// rest is in lockshield valve, pipe and emitter. Own assumption.
	authority = 0.4
)

// thermostatic are the thermostatic radiator valves, all alike.
type thermostatic struct {
	spec ValveSpec
	head float64 // temperature of the sensing heads, °C
}

func newThermostatic(s ValveSpec, room float64) thermostatic {
	if s.BandK == 0 {
		s.BandK = thermostaticBandK
	}
	return thermostatic{spec: s, head: room}
}

// sense lets the heads follow the room by one second.
func (v *thermostatic) sense(room float64) { v.head += (room - v.head) / thermostaticTau }

// opening is the lift, 0 shut … 1 open.
func (v *thermostatic) opening() float64 {
	if v.spec.Share == 0 {
		return 1
	}
	return min(max(0.5+(v.spec.SetC-v.head)/v.spec.BandK, 0), 1)
}

// passes is the conductance of an emitter's branch at a lift, 1 when open: the valve's own goes straight with its lift.
func passes(lift float64) float64 {
	if lift <= 0 {
		return 0
	}
	return 1 / math.Sqrt(1-authority+authority/(lift*lift))
}

// ways is where the pump may send water: openings of the motor valves, 0 shut … 1 open.
type ways struct {
	pump          bool
	heating, coil float64
	plate         bool
}

func (r route) ways() ways {
	switch r {
	case routeHeating:
		return ways{pump: true, heating: 1}
	case routeCoil:
		return ways{pump: true, coil: 1}
	case routePlate:
		return ways{pump: true, plate: true}
	}
	return ways{}
}

// ailing is what hinders the water in this second.
func (h *House) ailing() ailing {
	f := &h.s.Faults
	a := ailing{speed: 1, sludge: f.Sludge.At + f.Sludge.PerDay*h.now.Hours()/24}
	for _, p := range f.Pump {
		if p.contains(h.now) {
			a.speed *= p.Share
		}
	}
	for _, w := range f.NoFlow {
		a.noFlow = a.noFlow || w.contains(h.now)
	}
	return a
}
