package house

import (
	"math/rand/v2"
	"slices"
	"sort"
	"time"
)

// HotWaterKind is how the house makes hot water; zero: it makes none.
type HotWaterKind uint8

const (
	NoHotWater HotWaterKind = iota
	Cylinder
	Instantaneous // a plate exchanger in the appliance
)

func (k HotWaterKind) route() route {
	switch k {
	case Cylinder:
		return routeCoil
	case Instantaneous:
		return routePlate
	}
	return routeNone
}

const (
	// leastLpm is the hot water that must pass before an instantaneous appliance's flow sensor tells of a draw, l/min.
	// Common practice, no source (2 to 2.7).
	leastLpm = 2.5
	// plateEffectiveness is the share of the greatest possible heat that the plate exchanger passes. Own assumption.
	plateEffectiveness = 0.85
	// mixedC is the temperature at which people use hot water, °C; tap flow rates are of mixed water. Common
	// practice, no source.
	mixedC = 40.0
	// tapLpm is the flow rate of an open tap or shower at mixedC, l/min. Own assumption.
	tapLpm = 7.0
)

// mainsC is the temperature of the cold water by months, °C. Source: SAP 2012, table J1, water from the mains, from
// memory. A month is one step: nothing here looks finer.
var mainsC = [12]float64{8.0, 8.2, 9.3, 12.7, 14.6, 16.7, 18.4, 17.6, 16.6, 14.3, 11.1, 8.5}

// HotWaterSpec is how hot water is made.
type HotWaterSpec struct {
	Kind           HotWaterKind
	CylinderL      float64
	CylinderLossWK float64 // W/K to the house
	CoilL, CoilUA  float64 // l; W/K
	SetC           float64 // stored, or at the outlet, °C
	DifferentialK  float64 // a reheat begins this far below SetC
	FlowC          float64 // flow set-point in a reheat, °C
	FlowLpm        float64 // through the coil, l/min
	Hours          []Hours // when the cylinder may be heated; none: always
	Plan           ValvePlan
	SensorOffK     float64 // the cylinder's sensor reads this much too high: it stops too early
}

// ValvePlan is how heating and cylinder share the boiler; zero: the appliance gives hot water priority.
type ValvePlan uint8

const (
	Priority    ValvePlan = iota // a diverter: one or the other, the bus tells which
	TwoPort                      // a two-port valve each: both may be open; the appliance knows only that heat is wanted
	MidPosition                  // one three-port valve with a middle position: the same to the appliance
)

// Hours is a part of each day, h after midnight.
type Hours struct{ From, To float64 }

// tap is one use of hot water.
type tap struct{ from, to time.Duration }

// hotWater is the store, the plate exchanger and the people at the taps.
type hotWater struct {
	spec    *HotWaterSpec
	who     *PeopleSpec
	start   time.Time
	rng     *rand.Rand
	mains   float64 // cold water, °C
	t       float64 // stored or outlet temperature, °C
	sensor  float64 // of the cylinder's sensor but for SensorOffK, °C
	calling bool
	today   []tap
	day     int
	lpm     float64 // open now, mixed, l/min
	drawn   float64 // J drawn off in the last second
	lost    float64 // J of standing loss in the last second
}

func newHotWater(s *Scenario, seed uint64) hotWater {
	return hotWater{spec: &s.HotWater, who: &s.People, start: s.Start, rng: rand.New(rand.NewPCG(seed, streamPeople)),
		mains: mainsC[s.Start.Month()-1], t: 54, sensor: 54, day: -1}
}

// usual is a family's day: h after midnight, spread of it, and minutes. Own assumption, about 150 l mixed.
var usual = [...]struct{ hour, spread, minutes float64 }{
	{6.8, 0.3, 5}, {7.4, 0.3, 5}, {8.1, 0.3, 1}, {12.6, 0.5, 1}, {17.5, 0.5, 2}, {18.8, 0.4, 2}, {20.6, 0.7, 6}, {22.2, 0.3, 0.7},
}

// people opens and closes the taps.
func (h *hotWater) people(now time.Duration) {
	if h.spec.Kind == NoHotWater {
		return
	}
	if d := int(now / day); d != h.day {
		h.day, h.today = d, h.today[:0]
		h.mains = mainsC[h.start.AddDate(0, 0, d).Month()-1]
		for _, u := range usual {
			from := time.Duration(d)*day + time.Duration((u.hour+u.spread*(h.rng.Float64()-0.5))*float64(time.Hour))
			from = from.Truncate(time.Second)
			length := time.Duration(u.minutes*(0.7+0.6*h.rng.Float64())*60*h.who.scale()) * time.Second
			h.today = append(h.today, tap{from, from + length})
		}
		sort.Slice(h.today, func(i, j int) bool { return h.today[i].from < h.today[j].from })
	}
	h.lpm = 0
	for _, t := range h.today {
		if now >= t.from && now < t.to && !h.who.away(now) {
			h.lpm = tapLpm
		}
	}
}

func (p *PeopleSpec) scale() float64 {
	if p.DrawScale > 0 {
		return p.DrawScale
	}
	return 1
}

// away tells whether nobody is at home.
func (p *PeopleSpec) away(now time.Duration) bool {
	return slices.ContainsFunc(p.Away, func(w Window) bool { return w.contains(now) })
}

// reading is what the boiler's sensor says of stored water or outlet, °C.
func (h *hotWater) reading() float64 {
	if h.spec.Kind == Cylinder {
		return h.sensor + h.spec.SensorOffK
	}
	return h.t
}

// hotLpm is the hot share of what runs at the tap, l/min; the rest is cold mixed in.
func (h *hotWater) hotLpm(hotC float64) float64 {
	return h.lpm * min(1, (mixedC-h.mains)/max(1, hotC-h.mains))
}

// calls tells whether hot water is to be made now, and at which flow set-point.
func (h *hotWater) calls(now time.Duration) (bool, float64) {
	switch h.spec.Kind {
	case Instantaneous:
		h.calling = h.hotLpm(h.spec.SetC) >= leastLpm
		return h.calling, h.mains + (h.spec.SetC-h.mains)/plateEffectiveness
	case Cylinder:
		switch {
		case !h.allowed(now) || h.reading() >= h.spec.SetC:
			h.calling = false
		case h.reading() < h.spec.SetC-h.spec.DifferentialK:
			h.calling = true
		}
		return h.calling, h.spec.FlowC
	}
	return false, 0
}

func (h *hotWater) allowed(now time.Duration) bool {
	hour := (now % day).Hours()
	for _, w := range h.spec.Hours {
		if hour >= w.From && hour < w.To {
			return true
		}
	}
	return len(h.spec.Hours) == 0
}

// plateW is the heat in W that the plate exchanger takes from hotKgs, kg/s, of water at t °C. The stream with less of heat
// capacity bounds it: the hot one cannot leave colder than the mains.
func (h *hotWater) plateW(t, hotKgs float64) float64 {
	kgs := h.hotLpm(h.spec.SetC) / 60e3 * Density(h.mains)
	share := plateEffectiveness
	if kgs > hotKgs {
		share *= hotKgs / kgs
	}
	h.t = h.mains + max(0, share*(t-h.mains))
	return max(0, share*kgs*(enthalpy(t)-enthalpy(h.mains)))
}

// step moves the store by one second: heat in J comes from the coil, hot water goes to the tap and cold comes in.
func (h *hotWater) step(heat, roomT float64) {
	h.drawn, h.lost = 0, 0
	switch h.spec.Kind {
	case Instantaneous:
		h.drawn = heat // what the plate passes leaves at the tap
		if h.lpm == 0 {
			h.t += (roomT - h.t) / 600 // the outlet sensor cools; no heat is counted on it
		}
	case Cylinder:
		kg := h.spec.CylinderL / 1000 * Density(fillTemperature)
		if h.lpm > 0 {
			h.drawn = h.hotLpm(h.t) / 60e3 * Density(h.mains) * (enthalpy(h.t) - enthalpy(h.mains))
		}
		h.lost = h.spec.CylinderLossWK * (h.t - roomT)
		h.t += (heat - h.drawn - h.lost) / (kg * SpecificHeat(h.t))
		h.sensor += (h.t - h.sensor) / 60
	}
}

func (h *hotWater) stored() float64 {
	if h.spec.Kind != Cylinder {
		return 0
	}
	return h.spec.CylinderL / 1000 * Density(fillTemperature) * enthalpy(h.t)
}
