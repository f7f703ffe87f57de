package house

import (
	"slices"
	"time"
)

const (
	// valveTravel is how long a motor valve takes from stop to stop. Common practice, no source (10 to 20 s).
	valveTravel = 15 * time.Second
	// endSwitch is the opening at which a two-port valve's end switch calls the boiler. Own assumption.
	endSwitch = 0.9
)

// motorValves are the motor valves that send the boiler's water to the heating, the cylinder, or both. With [Priority] it
// is the appliance's diverter, which is quick; with [TwoPort] the end switch of either valve calls the boiler; with
// [MidPosition] the thermostats do, and the valve stays where it is when nobody calls.
type motorValves struct {
	plan              ValvePlan
	faults            []ValveFault
	place             float64 // of the diverting or middle-position valve: 0 cylinder … 1 heating
	drive             [2]float64
	heating, cylinder float64 // openings, 0 shut … 1 open
}

func newMotorValves(s *Scenario) motorValves {
	v := motorValves{plan: s.HotWater.Plan, faults: s.Faults.Stuck, place: 1}
	if s.HotWater.Kind != Cylinder {
		v.plan = Priority
		v.faults = slices.DeleteFunc(slices.Clone(v.faults), func(f ValveFault) bool { return f.Where == CylinderValve })
	}
	return v
}

// want moves the valves by one second, and makes of what is wanted what the appliance hears. Where it has no
// hot-water mode of its own, that is one call for heat with one flow set-point.
func (v *motorValves) want(now time.Duration, a *asked, room *RoomSpec) {
	const step = float64(time.Second) / float64(valveTravel)
	switch v.plan {
	case Priority:
		return
	case TwoPort:
		v.drive[HeatingValve] = toward(v.drive[HeatingValve], btof(a.heating), step)
		v.drive[CylinderValve] = toward(v.drive[CylinderValve], btof(a.hotWater), step)
		v.heating, v.cylinder = v.drive[HeatingValve], v.drive[CylinderValve]
	case MidPosition:
		to := v.place
		switch {
		case a.heating && a.hotWater:
			to = 0.5
		case a.heating:
			to = 1
		case a.hotWater:
			to = 0
		}
		v.place = toward(v.place, to, step)
		v.heating, v.cylinder = min(1, 2*v.place), min(1, 2-2*v.place)
	}
	v.stick(now)
	call := a.heating || a.hotWater
	if v.plan == TwoPort {
		call = v.heating >= endSwitch || v.cylinder >= endSwitch
	}
	a.heating, a.hotWater, a.heatingSP = call, false, room.FixedFlowC
}

// stick holds the valves that do not obey. One stuck partly open is a passing valve if it is the heating's: it opens,
// but shuts no further. The cylinder's stays at its opening.
func (v *motorValves) stick(now time.Duration) {
	for _, f := range v.faults {
		switch {
		case !f.contains(now):
		case f.Where == CylinderValve:
			v.cylinder = f.Open
		case f.Open > 0:
			v.heating = max(v.heating, f.Open)
		default:
			v.heating = 0
		}
	}
}

// ways is where the water may go that the pump sends by its route. In [Priority] the valve follows the route at once.
func (v *motorValves) ways(now time.Duration, r route) ways {
	w := r.ways()
	if v.plan == Priority {
		v.heating, v.cylinder = w.heating, w.coil
		v.stick(now)
	}
	if w.pump {
		w.heating = v.heating
		if !w.plate {
			w.coil = v.cylinder
		}
	}
	return w
}

// toward moves x to a place by no more than step.
func toward(x, to, step float64) float64 { return min(max(to, x-step), x+step) }

func btof(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
