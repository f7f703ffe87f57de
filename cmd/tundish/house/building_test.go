package house

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The heating curves that a weather-compensated control follows, t_mean = 20 + ΔT_d·x^(1/1.3) and spread = spread_d·x
// with x = (20 − t_e)/23, come out of emitters and building in the steady state. Water is told from the room's air, since
// what falls on the fabric as radiation leaves the air up to 1.4 K below 20 °C. Tolerances: 0.9 K, because
// the emitters give by the logarithmic mean, up to 2.4 % less than by the arithmetic one of the table; 3 % of the spread
// for ρ·c.
func TestHeatingCurveTable(t *testing.T) {
	t.Parallel()
	for _, d := range []struct {
		flow, ret float64
		rows      [5][2]float64
	}{
		{80, 60, [5][2]float64{{80.0, 60.0}, {73.6, 56.2}, {62.5, 49.5}, {50.7, 42.0}, {37.6, 33.3}}},
		{70, 50, [5][2]float64{{70.0, 50.0}, {64.6, 47.2}, {55.3, 42.3}, {45.4, 36.7}, {34.5, 30.2}}},
		{55, 45, [5][2]float64{{55.0, 45.0}, {51.3, 42.6}, {44.9, 38.3}, {38.0, 33.6}, {30.4, 28.2}}},
	} {
		s := matched()
		s.HotWater, s.Boiler.CasingWK, s.Circuit.PipeLossWK = HotWaterSpec{}, 0, 0
		s.Building.DesignLossW, s.Building.DesignInside = 5600, 20
		s.Circuit.Phi50W = 5600 / math.Pow(((d.flow+d.ret)/2-20)/50, 1.3)
		mean := (d.flow + d.ret) / 2
		s.Circuit.FlowLpm = 5600 / (d.flow - d.ret) / SpecificHeat(mean) / Density(mean) * 60e3
		for i, outside := range [5]float64{-3, 0, 5, 10, 15} {
			want := d.rows[i]
			c := newCircuit(&s, (want[0]+want[1])/2)
			b := newBuilding(s.Building, 20, 19)
			b.airC, b.fabricC = b.airC/1000, b.fabricC/1000 // settles sooner, in the same place
			f := c.hydraulics.solve(toHeating, 1, healthy)
			for range 5 * 3600 {
				q := c.step(f, s.Building.HTC()*(20-outside), b.air, b.air, nil).emitters
				b.step((1-radiantShare)*q, radiantShare*q, outside)
			}
			near(t, "room °C", b.air, outside+(20-outside)*s.Building.HTC()/s.Building.AirWK(Radiators), 0.05)
			near(t, "mean water above room K", (c.flow.t+c.ret.t)/2-b.air, (want[0]+want[1])/2-20, 0.9)
			near(t, "spread K", c.flow.t-c.ret.t, want[0]-want[1], 0.03*(want[0]-want[1])+0.1)
		}
	}
}

// On a design day the heated floor carries the load, too.
func TestDesignDayLoadOnFloor(t *testing.T) {
	t.Parallel()
	s := heatedFloor()
	s.Days, s.Weather = 4, WeatherSpec{MeanC: s.Building.DesignOutside}
	s.Building.GainsW, s.Building.SolarW, s.HotWater = 0, 0, HotWaterSpec{}
	s.Circuit.PipeLossWK = 0 // what pipes give the rooms is no emitter's
	s.Room.FromHour, s.Room.ToHour, s.Room.ComfortC = 0, 24, s.Building.DesignInside
	var heat, load, inside, n float64
	walk(s, 3, func(st State) {
		if st.At > 3*day {
			heat, load, inside, n = heat+st.EmittersKW, load+st.LoadKW, inside+st.Air-st.Outside, n+1
		}
	})
	near(t, "inside − outside K", inside/n, 24, 0.8)
	near(t, "emitters W/K", 1000*heat/inside, s.Building.AirWK(Underfloor), 0.03*s.Building.HTC())
	near(t, "load W/K", 1000*load/inside, s.Building.AirWK(Underfloor), 0.03*s.Building.HTC())
}

// The building's W/K as an energy signature finds them: least squares of daily mean heat on daily mean outside
// temperature over eight days of changing weather at a steady room temperature, without gains.
// Tolerance 4 %: the fabric remembers the days before.
func TestSlopeOfDailyHeatIsHTC(t *testing.T) {
	t.Parallel()
	s := matched()
	s.Days, s.Weather = 10, WeatherSpec{MeanC: 4, SynopticK: 5, DailyK: 2.5}
	s.Building.GainsW, s.Building.SolarW, s.HotWater = 0, 0, HotWaterSpec{}
	s.Room.FromHour, s.Room.ToHour = 0, 24
	s.Boiler.CasingWK, s.Circuit.PipeLossWK = 0, 0
	x, y := make([]float64, s.Days), make([]float64, s.Days)
	h := New(s, 5)
	for h.Now() < time.Duration(s.Days)*day {
		d := int(h.Now() / day)
		h.Step()
		x[d] += h.outside / 86400
		y[d] += h.emitW / 86400
	}
	x, y = x[2:], y[2:] // from rest
	var mx, my, sxy, sxx float64
	for i := range x {
		mx, my = mx+x[i]/float64(len(x)), my+y[i]/float64(len(y))
	}
	for i := range x {
		sxy, sxx = sxy+(x[i]-mx)*(y[i]-my), sxx+(x[i]-mx)*(x[i]-mx)
	}
	near(t, "slope W/K", -sxy/sxx, s.Building.AirWK(Radiators), 0.04*s.Building.HTC())
	near(t, "no heat needed at °C", mx-my/(sxy/sxx), s.Room.ComfortC, 1)
}

// Two nodes by hand: HTC 233.3 W/K, 0.4 of it straight from the air; 830.4 W/K between air and fabric for 90 m²; the fabric's
// way out is 1/(1/140 − 1/830.4) = 168.4 W/K. Of radiation of 0.35 Q the part 168.4/(168.4 + 830.4) never warms the air.
func TestAirWK(t *testing.T) {
	b := matched().Building
	near(t, "HTC", b.HTC(), 233.33, 0.01)
	near(t, "radiators", b.AirWK(Radiators), 233.33/(1-0.35*168.4/998.8), 0.1)
	near(t, "floor", b.AirWK(Underfloor), 233.33/(1-0.5*168.4/998.8), 0.1)
}

// With nobody at home the gains fall to what runs by itself.
func TestGains(t *testing.T) {
	s := matched()
	s.Building.SolarW = 0
	s.People.Away = []Window{{day, 2 * day}}
	var sum [2]float64
	h := New(s, 5)
	for now := time.Duration(0); now < 2*day; now += time.Minute {
		people, _ := h.gains(now)
		sum[now/day] += people / 1440
	}
	near(t, "at home W", sum[0], s.Building.GainsW, 0.5)
	near(t, "away W", sum[1], 0.4*s.Building.GainsW, 0.5)
}

// Whatever emitters, pump, valves and faults: heat is neither made nor lost, and no water is colder than the coldest
// air it has been in or hotter than the burner could make it.
func TestEnergyClosesInAnyHouse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		between := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		maybe := func(name string) bool { return rapid.Bool().Draw(t, name) }
		s := matched()
		if maybe("oversized") {
			s = oversized()
		}
		if maybe("floor") {
			s = heatedFloor()
		}
		c := &s.Circuit
		c.FlowLpm = between("flow", 1, 30)
		if maybe("pump") {
			c.Pump = PumpSpec{HeadKPa: between("head", 10, 60), FreeLpm: c.FlowLpm * between("free", 1.1, 3), Hold: maybe("hold")}
		}
		if maybe("valves") {
			c.Valves = ValveSpec{Share: between("share", 0, 1), SetC: between("set", 17, 22), BandK: between("band", 0.5, 3)}
		}
		c.BypassShare, c.BypassOpensKPa = between("bypass", 0, 0.5), between("opens", 0, 40)
		if maybe("no cylinder") {
			s.HotWater = HotWaterSpec{}
		} else if maybe("plate") {
			s.HotWater = HotWaterSpec{Kind: Instantaneous, SetC: 50, FlowLpm: 12}
		}
		s.Faults.Sludge.At = between("sludge", 0, 5)
		w := Window{20 * time.Minute, 45 * time.Minute}
		if maybe("no flow") {
			s.Faults.NoFlow = []Window{w}
		}
		if maybe("slow pump") {
			s.Faults.Pump = []PumpFault{{w, between("speed", 0, 1)}}
		}
		if maybe("stuck") {
			s.Faults.Stuck = []ValveFault{{w, Where(rapid.IntRange(0, 1).Draw(t, "where")), between("open", 0, 1)}}
		}
		s.Room.FromHour, s.Room.ToHour = 0, 24
		h := New(s, rapid.Uint64().Draw(t, "seed"))
		coldest := roomStart
		for h.Now() < time.Hour {
			h.Step()
			coldest = min(coldest, h.building.air)
			for _, n := range h.circuit.all() {
				if n.water > 0 && !(n.t > coldest-0.05 && n.t < 150) {
					t.Fatalf("at %v water of %.2f °C; the coldest air was %.2f", h.now, n.t, coldest)
				}
			}
		}
		l := h.Truth().Ledger
		if math.Abs(l.Circuit()) > 0.001 || math.Abs(l.House()) > 0.001 {
			t.Errorf("circuit leaves %.5f, house %.5f", l.Circuit(), l.House())
		}
	})
}

// all are the circuit's nodes.
func (c *circuit) all() []*node {
	list := []*node{&c.hx, &c.spot, &c.flow, &c.ret, &c.coil}
	for i := range emitterNodes {
		list = append(list, &c.valved.nodes[i], &c.plain.nodes[i])
	}
	return list
}
