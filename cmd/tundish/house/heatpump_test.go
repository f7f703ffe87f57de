package house

import (
	"testing"
	"time"

	"tundish/analyse/episode"
)

// withHeatPump is the matched house with a heat pump on larger radiators: 45/40 at design (mean excess 21.5 K).
func withHeatPump() Scenario {
	s := matched()
	s.Boiler = BoilerSpec{Kind: HeatPump, OutputMaxKW: 9, OutputMinKW: 2.5, WaterL: 3, MetalJK: 8e3, CasingWK: 1,
		GainKWK: 0.15, ResetS: 200, HystOnK: 4, HystOffK: 4, AntiCycle: 8 * time.Minute, MinBurn: 8 * time.Minute, Overrun: 3 * time.Minute,
		FlowLimitC: 62, SpreadLimitK: 20, Prepurge: time.Minute}
	s.Circuit.FlowLpm, s.Circuit.EmitterL, s.Circuit.Phi50W = 16, 110, 19500
	s.DesignFlowC, s.DesignReturnC = 45, 40
	s.HotWater.SetC, s.HotWater.FlowC, s.HotWater.CoilUA, s.HotWater.FlowLpm = 48, 56, 900, 18
	s.Room.MaxFlowC, s.Room.MinFlowC, s.Room.InfluenceK = 50, 25, 2
	s.Room.SetbackC = 19.5
	return s
}

// Rating points in EN 14511's way of writing them, outside air / flow; ranges of common machines, from memory.
func TestCOPInPublishedRange(t *testing.T) {
	for _, c := range []struct{ outside, flow, low, high float64 }{
		{7, 35, 4.2, 5.2}, {2, 35, 3.4, 4.3}, {-7, 35, 2.6, 3.3}, {7, 55, 2.6, 3.2}, {-7, 55, 1.8, 2.4},
	} {
		if cop := COP(c.outside, c.flow); cop < c.low || cop > c.high {
			t.Errorf("A%v/W%v: COP %.2f, want %v to %v", c.outside, c.flow, cop, c.low, c.high)
		}
	}
	s := BoilerSpec{OutputMaxKW: 8}
	near(t, "rated kW", s.capacityKW(7, 35), 8, 1e-9)
	if low := s.capacityKW(-7, 45); low < 0.55*8 || low > 0.75*8 { // of single-speed ratings, from memory
		t.Errorf("at −7/45 %.1f kW of 8", low)
	}
}

// A frosty stretch: no flame and no failed start ever; each run lasts MinBurn and each rest AntiCycle; a defrost comes
// every 60 to 90 minutes of running, takes heat out of the water and lasts its time; electricity and outside air
// together are the heat, and the factor over the days lies where field trials of radiators have it, about 2.3 to 3.5
// (from memory).
func TestHeatPumpOnFrostyDays(t *testing.T) {
	t.Parallel()
	s := withHeatPump()
	s.Days = 2
	s.Weather = WeatherSpec{MeanC: -1, DailyK: 2}
	var ran, took time.Duration
	var gaps, long []time.Duration
	tr := walk(s, 2, func(st State) {
		if st.Flame {
			t.Fatalf("at %v a heat pump shows a flame", st.At)
		}
		if st.Running {
			ran += time.Second
		}
		switch {
		case st.OutputKW < 0:
			if took == 0 {
				gaps = append(gaps, ran)
			}
			took += time.Second
		case took > 0:
			long, took, ran = append(long, took), 0, 0
		}
	})
	if len(gaps) < 20 {
		t.Errorf("%d defrosts in two frosty days", len(gaps))
	}
	for i, g := range gaps {
		if i > 0 && (g < icedQuick-2*time.Second || g > icedSlow+time.Minute) {
			t.Errorf("defrost %d after %v of running", i, g)
		}
	}
	for _, l := range long {
		if l != defrostFor {
			t.Errorf("a defrost of %v", l)
		}
	}
	for i, f := range tr.Firings {
		if !f.Open && f.End != episode.EndLimit && f.Duration() < s.Boiler.MinBurn {
			t.Errorf("run of %v at %v", f.Duration(), f.From)
		}
		if i > 0 && f.From-tr.Firings[i-1].To < s.Boiler.AntiCycle {
			t.Errorf("rest of %v before %v", f.From-tr.Firings[i-1].To, f.From)
		}
		if f.Least < s.Boiler.OutputMinKW-1e-9 || f.Mean > capacityMost*s.Boiler.OutputMaxKW {
			t.Errorf("firing %+v", f)
		}
	}
	l := tr.Ledger
	near(t, "electricity + air − heat", (l.Fuel+l.Ambient-l.Burner)/l.Burner, 0, 1e-9)
	near(t, "circuit", l.Circuit(), 0, 0.001)
	if cop := l.Burner / l.Fuel; cop < 2.3 || cop > 3.5 {
		t.Errorf("factor %.2f", cop)
	}
	if l.Flue != 0 || l.CondensateKg != 0 || len(tr.Attempts)+len(tr.Lockouts) != 0 {
		t.Errorf("a heat pump with a flue: %+v", tr)
	}
}

// A compressor that nobody wants any more runs its least time out, and brings a defrost to its end; the mains stop it
// at once.
func TestCompressorRunsItsTimeOut(t *testing.T) {
	spec := withHeatPump().Boiler
	start := spec.Prepurge + time.Second // the pump's run, and the second of rest when the mode changes
	for _, c := range []struct {
		name         string
		gone, frozen time.Duration // after the start: of the demand; of the evaporator; 0: never
		mains        bool          // go too
		want         time.Duration
	}{
		{"least time", 2 * time.Minute, 0, false, spec.MinBurn}, {"longer", 12 * time.Minute, 0, false, 12 * time.Minute},
		{"in a defrost", 12 * time.Minute, 11 * time.Minute, false, 11*time.Minute + defrostFor}, {"mains", 2 * time.Minute, 0, true, 2 * time.Minute},
	} {
		p := newPlant(spec, FaultSpec{}, 1)
		p.lossK, p.ask.heatingSP = 0.2, 45
		tr := p.run(40*time.Minute, func() {
			if c.frozen > 0 && p.now == start+c.frozen {
				p.boiler.icing = 1
			}
			p.ask.heating = p.now <= start+c.gone
			p.ask.powered = !c.mains || p.ask.heating
		})
		if len(tr.Firings) != 1 {
			t.Fatalf("%s: %+v", c.name, tr.Firings)
		}
		near(t, c.name+": ran s", tr.Firings[0].Duration().Seconds(), c.want.Seconds(), 3)
	}
}

// Ice that a run left melts off while the compressor stands in air above freezing, so that the next run does not begin
// with a defrost; in frost it stays. Own assumption, of the sort that anybody can see on a machine at rest.
func TestIceMeltsAtRest(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		outside, least, most float64
	}{{-4, 0.9, 0.9}, {0, 0.9, 0.9}, {1, 0.39, 0.41}, {3, 0, 0}} {
		b := burner{spec: &BoilerSpec{Kind: HeatPump}, icing: 0.9}
		for s := range 30 * 60 {
			b.step(time.Duration(s)*time.Second, false, c.outside, nil)
		}
		if b.icing < c.least || b.icing > c.most {
			t.Errorf("half an hour at rest at %.0f °C leaves %.3f of the ice, want %.2f to %.2f", c.outside, b.icing, c.least, c.most)
		}
	}
}
