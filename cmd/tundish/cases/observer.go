package cases

import (
	"math"
	"time"

	"tundish/cmd/tundish/house"
)

const (
	day = 24 * time.Hour
	// settledAge is how long a firing must have burned for heating before its flow − return counts as settled; sooner
	// only where no firing of the record gets so old. Ten minutes are several passes of the water; own definition.
	settledAge, soonAge = 10 * time.Minute, 3 * time.Minute
	// runOn is how long after a firing the water may still climb on what the exchanger's metal holds. Own definition.
	runOn = time.Minute
	// circulating is how long the heating's water must have moved before pressure and temperature are paired. Own definition.
	circulating = 10 * time.Minute
	// steadyTauS and steadyK tell water that changes slowly enough for sensors of unlike lag to be compared: a clip-on
	// probe lags by up to 60 s. Own definition.
	steadyTauS, steadyK = 180.0, 0.7
	// nearK is how near the set-point counts as neared, beyond the boiler's own switch-on differential, K; own definition.
	nearK = 3.0
)

// Run is one run of burner or compressor, as the state shows it.
type Run struct {
	From, To time.Duration
	ExcessK  float64 // hottest exchanger water above the highest set-point in force, K; heating only
	Lpm      float64 // mean flow rate through the exchanger while heating, l/min
	heatingS int     // s of it without hot water
}

// Spread sums flow − return at the appliance over settled seconds.
type Spread struct {
	Seconds, K, KW float64 // s; sums of K and kW over them
}

// Mean is the mean flow − return, K, and the mean output, kW.
func (s Spread) Mean() (k, kw float64) { return s.K / s.Seconds, s.KW / s.Seconds }

// PressureDay pairs pressure with the mean of flow and return over a day's circulating seconds.
type PressureDay struct {
	N, T, P, TT, TP float64
	Low, High       float64        // °C
	Bin             [20][2]float64 // by 5 K of water temperature: number, sum of bar
}

// Measures are a simulation's true figures, bounded by its days and runs.
type Measures struct {
	Runs           []Run
	Settled, Soon  Spread  // settled by settledAge, and by soonAge
	HeatKJ, WarmKJ float64 // heat made for heating; of it with the return above the dew point
	UnfiredS       float64 // longest stretch of unmet demand without any firing, s
	ColdS          float64 // longest stretch of demand in which the flow never neared its set-point, s
	Unfired, Cold  spanned // when those were
	LostL          float64 // water that left the system, refills not taken off, l
	Days           []PressureDay
	Hottest        []float64    // of the store, by day, °C
	Apart          []float64    // by hour: mean difference in error of two sensors of the same water, K; NaN: none
	Moved          [][2]float64 // least and most true water in each sensor fault's window, °C
}

type spanned struct{ From, To time.Duration }

// Observer listens to a simulation. Give its Second to [house.Listener].
type Observer struct {
	s       house.Scenario
	dewC    float64
	windows []ailing
	m       Measures

	run               *Run
	highSP            float64
	unfired, cold     time.Duration
	moving            time.Duration
	slowFlow, slowRet float64
	hour              int
	flowErr, retErr   float64
	steady            float64
	began             bool
	waterL            float64
}

// ailing is a sensor with values that water cannot have, or that may have.
type ailing struct {
	house.Window
	ret bool
}

// NewObserver makes the observer of one simulation of s.
func NewObserver(s house.Scenario) *Observer {
	o := &Observer{s: s, dewC: DewPointC(s.Boiler.Fuel, s.Boiler.AirRatio), hour: -1}
	for _, f := range s.Faults.OwnSensor {
		o.windows = append(o.windows, ailing{f.Window, f.Return})
	}
	for _, f := range s.Faults.Probe {
		o.windows = append(o.windows, ailing{f.Window, f.Return})
	}
	for range o.windows {
		o.m.Moved = append(o.m.Moved, [2]float64{math.Inf(1), math.Inf(-1)})
	}
	o.m.Days = make([]PressureDay, s.Days)
	o.m.Hottest = make([]float64, s.Days)
	return o
}

// Measures are the figures so far.
func (o *Observer) Measures() Measures {
	o.closeHour()
	return o.m
}

// Second takes one second.
func (o *Observer) Second(st *house.State) {
	if !o.began {
		o.began, o.slowFlow, o.slowRet, o.waterL = true, st.FlowPipe, st.Return, st.WaterL
	}
	o.runs(st)
	o.demand(st)
	o.pressure(st)
	o.sensors(st)
	if d := int((st.At - time.Second) / day); d >= 0 && d < len(o.m.Hottest) {
		o.m.Hottest[d] = max(o.m.Hottest[d], st.Cylinder)
	}
}

// runs follows the runs of burner or compressor, and the heat they make.
func (o *Observer) runs(st *house.State) {
	now, on := st.At-time.Second, st.OutputKW > 0
	switch {
	case on && (o.run == nil || o.run.To != 0):
		o.m.Runs = append(o.m.Runs, Run{From: now, ExcessK: math.Inf(-1)})
		o.run, o.highSP = &o.m.Runs[len(o.m.Runs)-1], 0
	case !on && o.run != nil && o.run.To == 0:
		o.run.To = now
	}
	if o.run == nil || o.run.To != 0 && now > o.run.To+runOn || st.HotWater {
		return
	}
	o.highSP = max(o.highSP, min(st.FlowSetpoint, o.s.Boiler.FlowLimitC))
	o.run.ExcessK = max(o.run.ExcessK, st.Exchanger-o.highSP)
	if !on {
		return
	}
	o.run.heatingS++
	o.run.Lpm += (st.FlowLpm - o.run.Lpm) / float64(o.run.heatingS)
	o.m.HeatKJ += st.OutputKW
	if st.Return > o.dewC {
		o.m.WarmKJ += st.OutputKW
	}
	add := func(s *Spread) { s.Seconds++; s.K += st.Exchanger - st.Return; s.KW += st.OutputKW }
	if o.run.heatingS >= int(soonAge.Seconds()) {
		add(&o.m.Soon)
	}
	if o.run.heatingS >= int(settledAge.Seconds()) {
		add(&o.m.Settled)
	}
}

// demand follows how long demand goes unmet while the appliance has mains and shows no fault.
func (o *Observer) demand(st *house.State) {
	now := st.At
	asked := st.Demand && st.Powered && !st.Locked && !(st.Blocked && !o.interlocked(now))
	short := st.Exchanger < st.FlowSetpoint-o.s.Boiler.HystOnK-nearK
	if st.HotWater && asked { // hot water comes first: neither met nor unmet, the clocks stand
		o.unfired += time.Second
		o.cold += time.Second
		return
	}
	if !asked || !short || st.OutputKW > 0 {
		o.unfired = now
	}
	if !asked || !short {
		o.cold = now
	}
	if d := (now - o.unfired).Seconds(); d > o.m.UnfiredS {
		o.m.UnfiredS, o.m.Unfired = d, spanned{o.unfired, now}
	}
	if d := (now - o.cold).Seconds(); d > o.m.ColdS {
		o.m.ColdS, o.m.Cold = d, spanned{o.cold, now}
	}
}

// interlocked tells whether an external contact holds the burner off: no fault of the appliance's.
func (o *Observer) interlocked(t time.Duration) bool {
	for _, b := range o.s.Faults.Blocked {
		if b.Cause == house.BlockInterlock && t > b.From && t <= b.To {
			return true
		}
	}
	return false
}

// pressure pairs pressure and mean water temperature while the heating's water moves.
func (o *Observer) pressure(st *house.State) {
	o.m.LostL += max(0, o.waterL-st.WaterL)
	o.waterL = st.WaterL
	if !st.Pump || st.HotWater || st.HeatingLpm <= 0 {
		o.moving = st.At
		return
	}
	d := int((st.At - time.Second) / day)
	if st.At-o.moving < circulating || d >= len(o.m.Days) {
		return
	}
	t, p := (st.FlowPipe+st.Return)/2, st.Pressure
	v := &o.m.Days[d]
	if v.N == 0 {
		v.Low, v.High = t, t
	}
	v.N++
	v.T += t
	v.P += p
	v.TT += t * t
	v.TP += t * p
	v.Low, v.High = min(v.Low, t), max(v.High, t)
	if b := int(t / 5); b >= 0 && b < len(v.Bin) {
		v.Bin[b][0]++
		v.Bin[b][1] += p
	}
}

// sensors holds each sensor's error against that of the other of the same water, while the water is steady.
func (o *Observer) sensors(st *house.State) {
	for i, w := range o.windows {
		if st.At > w.From && st.At <= w.To {
			t := st.FlowPipe
			if w.ret {
				t = st.Return
			}
			o.m.Moved[i] = [2]float64{min(o.m.Moved[i][0], t), max(o.m.Moved[i][1], t)}
		}
	}
	if o.s.NoBus || o.s.NoProbes {
		return
	}
	if h := int((st.At - time.Second) / time.Hour); h != o.hour {
		o.closeHour()
		o.hour = h
	}
	o.slowFlow += (st.FlowPipe - o.slowFlow) / steadyTauS
	o.slowRet += (st.Return - o.slowRet) / steadyTauS
	steady := st.Pump && !st.HotWater && st.HeatingLpm > 0 &&
		math.Abs(st.FlowPipe-o.slowFlow) < steadyK && math.Abs(st.Return-o.slowRet) < steadyK
	if !steady {
		return
	}
	o.steady++
	o.flowErr += (st.FlowProbe + o.s.Probes.FlowOffK - st.FlowPipe) - (st.FlowSensor - st.Exchanger)
	o.retErr += (st.ReturnProbe - st.Return) - (st.ReturnSensor - st.Return)
}

// closeHour ends an hour of comparison; it wants five minutes of steady water.
func (o *Observer) closeHour() {
	if o.hour < 0 {
		return
	}
	apart := math.NaN()
	if o.steady >= 300 {
		apart = max(math.Abs(o.flowErr), math.Abs(o.retErr)) / o.steady
	}
	o.m.Apart = append(o.m.Apart, apart)
	o.flowErr, o.retErr, o.steady = 0, 0, 0
	o.hour = -1
}
