package emitter

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tundish/analyse/water"
)

func anyRoom(r *rapid.T, name string) Room {
	room := Room{Name: name, InsideC: rapid.Float64Range(10, 24).Draw(r, "inside"), NeedW: rapid.Float64Range(0, 3000).Draw(r, "need")}
	for range rapid.IntRange(0, 2).Draw(r, "radiators") {
		room.Radiators = append(room.Radiators, Radiator{RatedW: rapid.Float64Range(200, 4000).Draw(r, "rated"),
			Exponent: rapid.SampledFrom([]float64{0, 1, 1.2, 1.3, 1.45}).Draw(r, "n"), RatedAt: rapid.SampledFrom([]Condition{{}, EN442, Catalogue60K}).Draw(r, "at")})
	}
	if rapid.Bool().Draw(r, "floor") {
		room.Underfloor = []Underfloor{{AreaM2: rapid.Float64Range(3, 40).Draw(r, "area"), KH: rapid.Float64Range(2, 7).Draw(r, "K_H")}}
	}
	return room
}

func anySystem(r *rapid.T) System {
	s := System{OutsideC: rapid.Float64Range(-15, 0).Draw(r, "design outside")}
	for i := range rapid.IntRange(1, 4).Draw(r, "rooms") {
		s.Rooms = append(s.Rooms, anyRoom(r, string(rune('A'+i))))
	}
	return s
}

var anyMean = rapid.SampledFrom([]Mean{ByRule, Arithmetic, Logarithmic})

func TestLogarithmicIsNeverMore(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		flow := rapid.Float64Range(20, 95).Draw(r, "flow")
		c := Condition{flow, rapid.Float64Range(15, flow).Draw(r, "return"), rapid.Float64Range(5, 30).Draw(r, "room")}
		a, err := c.ExcessK(Arithmetic)
		l, err2 := c.ExcessK(Logarithmic)
		if err != nil || err2 != nil {
			r.Fatal(err, err2)
		}
		if l > a*(1+1e-9) || l < 0 || math.IsNaN(l) {
			r.Errorf("%s: logarithmic %g, arithmetic %g", c, l, a)
		}
		if want := c.ReturnC - c.RoomC; want > 0 && (l < want*(1-1e-9) || l > c.FlowC-c.RoomC+1e-9) {
			r.Errorf("%s: logarithmic %g lies outside of both excesses", c, l)
		}
	})
}

// A hotter flow never gives less, with the return kept (each mean by itself), or flow − return kept (any).
func TestHotterFlowNeverGivesLess(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		room := anyRoom(r, "A")
		laws := room.laws()
		m := anyMean.Draw(r, "mean")
		flow := rapid.Float64Range(20, 90).Draw(r, "flow")
		spread := rapid.Float64Range(0, 30).Draw(r, "spread")
		more := rapid.Float64Range(0, 10).Draw(r, "hotter by")
		at := func(f, ret float64, m Mean) float64 {
			w, _ := outputOf(laws, Condition{f, ret, room.InsideC}, m)
			if math.IsNaN(w) || w < 0 {
				r.Fatalf("%g/%g gives %g W", f, ret, w)
			}
			return w
		}
		const last = 1e-9
		if a, b := at(flow, flow-spread, m), at(flow+more, flow+more-spread, m); b < a*(1-last) {
			r.Errorf("spread kept: %g W, hotter %g W", a, b)
		}
		if m = m.smooth(); true {
			if a, b := at(flow, flow-spread, m), at(flow+more, flow-spread, m); b < a*(1-last) {
				r.Errorf("return kept: %g W, hotter %g W", a, b)
			}
		}
	})
}

// The water brings what the emitters give, and more water gives more with a hotter return.
func TestReturnByWaterFlow(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		room := anyRoom(r, "A")
		room.Radiators = append(room.Radiators, Radiator{RatedW: 1000})
		flow := rapid.Float64Range(room.InsideC+2, 90).Draw(r, "flow")
		lph := rapid.Float64Range(5, 2000).Draw(r, "l/h")
		ret, w, err := room.ReturnAt(flow, lph, water.Liquid{}, Logarithmic)
		if err != nil {
			r.Fatal(err)
		}
		if ret < room.InsideC || ret > flow {
			r.Fatalf("return of %g °C with a flow of %g °C into %g °C", ret, flow, room.InsideC)
		}
		gives, _ := outputOf(room.laws(), Condition{flow, ret, room.InsideC}, Logarithmic)
		if ret > room.InsideC+1e-6 && math.Abs(gives-w) > 0.001*w+0.01 { // nearer the room the excess has no digits left
			r.Errorf("the water brings %g W, the emitters give %g W at %g/%g", w, gives, flow, ret)
		}
		ret2, w2, err := room.ReturnAt(flow, 1.5*lph, water.Liquid{}, Logarithmic)
		if err != nil || ret2 < ret-1e-6 || w2 < w*(1-1e-6) {
			r.Errorf("more water: %g °C and %g W, then %g °C and %g W (%v)", ret, w, ret2, w2, err)
		}
	})
}

// At the lowest flow every room gets its load, the limiting ones just that; a little cooler and one does not.
func TestLowestFlowIsLowest(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := anySystem(r)
		share := rapid.Float64Range(0, 1.2).Draw(r, "share")
		c := Circulation{rapid.Float64Range(1, 20).Draw(r, "spread"), rapid.SampledFrom([]Fixed{Water, Spread}).Draw(r, "fixed")}
		low, err := s.LowestFlow(share, c, Logarithmic)
		if err != nil {
			r.Fatal(err)
		}
		if !low.Reached {
			if len(low.Limiting) == 0 {
				r.Fatal("not reached, and no room is named")
			}
			for _, x := range low.Rooms {
				if !x.Reached && x.Why == "" {
					r.Errorf("%s is not reached, and nobody says why", x.Name)
				}
			}
			return
		}
		short := 0
		for i, room := range s.Rooms {
			at := func(flow float64) float64 {
				w, _ := outputOf(room.laws(), Condition{flow, flow - c.spread(share), room.InsideC}, Logarithmic)
				return w
			}
			load := share * room.NeedW
			if got := at(low.FlowC); load > 0 && got < load-0.01 {
				r.Errorf("%s gets %g of %g W", room.Name, got, load)
			}
			if load > 0 && at(low.FlowC-0.01) < load {
				short++
			}
			if x := low.Rooms[i]; load > 0 && x.FlowC > low.FlowC {
				r.Errorf("%s needs %g °C of %g", x.Name, x.FlowC, low.FlowC)
			}
		}
		loads := 0
		for _, room := range s.Rooms {
			if share*room.NeedW > 0 {
				loads++
			}
		}
		if loads > 0 && short == 0 {
			r.Errorf("%g °C is not the lowest", low.FlowC)
		}
		if loads > 0 && len(low.Limiting) == 0 {
			r.Error("no room limits")
		}
	})
}

// The colder it is outside, the hotter the flow; a smaller load never asks for a hotter one.
func TestWeatherCurveFalls(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := anySystem(r)
		if s.NeedW() <= 0 {
			return
		}
		c := Circulation{rapid.Float64Range(1, 20).Draw(r, "spread"), Water}
		outside := []float64{s.OutsideC, s.OutsideC + 3, s.OutsideC + 7, 10, 16, 19, 25}
		curve, err := s.WeatherCurve(Load{NeutralC: 20}, c, Logarithmic, outside)
		if err != nil {
			r.Fatal(err)
		}
		measured, err := s.WeatherCurve(Load{NeutralC: 20, DesignW: 0.7 * s.NeedW()}, c, Logarithmic, outside)
		if err != nil {
			r.Fatal(err)
		}
		for i, p := range curve {
			if p.Heating != (p.OutsideC < 20) {
				r.Errorf("heating at %g °C outside: %t", p.OutsideC, p.Heating)
			}
			if m := measured[i]; p.Reached && m.Heating && (!m.Reached || m.FlowC > p.FlowC+1e-6) {
				r.Errorf("at %g °C outside less load asks for %g °C, all of it for %g °C", p.OutsideC, m.FlowC, p.FlowC)
			}
			if i == 0 || !p.Heating || !curve[i-1].Reached {
				continue
			}
			if before := curve[i-1]; before.OutsideC < p.OutsideC && (!p.Reached || p.FlowC > before.FlowC+1e-6) {
				r.Errorf("%g °C at %g °C outside, %g °C at %g °C", before.FlowC, before.OutsideC, p.FlowC, p.OutsideC)
			}
		}
	})
}

func TestPipesGrow(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := Pipe{BoreMM: rapid.Float64Range(4, 60).Draw(r, "bore"), LengthM: 10}
		lph := rapid.Float64Range(0, 5000).Draw(r, "l/h")
		c := rapid.Float64Range(5, 90).Draw(r, "°C")
		a, err := p.Flow(lph, c, water.Liquid{})
		b, err2 := p.Flow(lph*1.1+1, c, water.Liquid{})
		if err != nil || err2 != nil {
			r.Fatal(err, err2)
		}
		if !(b.VelocityMS > a.VelocityMS && b.PaPerM > a.PaPerM) || math.Abs(b.PaAll-10*b.PaPerM) > 1e-6*b.PaAll {
			r.Errorf("%+v, with more water %+v", a, b)
		}
		if hot, err := p.Flow(lph+1, c+5, water.Liquid{}); err != nil || hot.Reynolds <= a.Reynolds {
			r.Errorf("hotter water is thinner: %g, %g (%v)", a.Reynolds, hot.Reynolds, err)
		}
	})
}

// Whatever numbers come: an answer or an error, and no NaN in the answer.
func TestAnyNumberIsAnswered(t *testing.T) {
	odd := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, -1, 1, 20, 50, 70, 1000, math.NaN(), math.Inf(1), math.Inf(-1)}))
	rapid.Check(t, func(r *rapid.T) {
		d := func() float64 { return odd.Draw(r, "x") }
		s := System{OutsideC: d(), Rooms: []Room{{Name: "A", InsideC: d(), NeedW: d(),
			Radiators:  []Radiator{{RatedW: d(), Exponent: d(), RatedAt: Condition{d(), d(), d()}}},
			Underfloor: []Underfloor{{AreaM2: d(), KH: d(), RatedW: d(), RatedExcessK: d(), Exponent: d(), SurfaceExcessK: d()}}}},
			Pipes: []Pipe{{OutsideMM: d(), BoreMM: d(), RoughnessMM: d(), LengthM: d()}}}
		if rapid.Bool().Draw(r, "sound") {
			s.OutsideC, s.Rooms[0].InsideC, s.Rooms[0].NeedW = -3, 20, 1000
			s.Rooms[0].Radiators[0] = Radiator{RatedW: 2000}
			s.Rooms[0].Underfloor = nil
			s.Pipes = []Pipe{{OutsideMM: 15}}
		}
		sound := func(err error, values ...float64) {
			if err != nil {
				return
			}
			for _, v := range values {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					r.Errorf("%v in an answer", values)
				}
			}
		}
		outs, err := s.Outputs(d(), d(), anyMean.Draw(r, "mean"))
		for _, x := range outs {
			sound(err, x.OutputW, x.SurplusW, x.WaterLPH)
		}
		low, err := s.LowestFlow(d(), Circulation{SpreadK: d()}, anyMean.Draw(r, "mean"))
		sound(err, low.FlowC, low.ReturnC)
		curve, err := s.WeatherCurve(Load{d(), d()}, Circulation{SpreadK: 10}, Logarithmic, []float64{d()})
		for _, x := range curve {
			sound(err, x.Share, x.FlowC, x.ReturnC)
		}
		pipes, err := s.PipeFlows(d(), d())
		for _, x := range pipes {
			sound(err, x.VelocityMS, x.PaPerM, x.PaAll, x.Reynolds)
		}
		ret, w, err := s.Rooms[0].ReturnAt(d(), d(), water.Liquid{}, Arithmetic)
		sound(err, ret, w)
		lph, err := s.Pipes[0].CarriesLPH(d(), d(), d(), water.Liquid{})
		sound(err, lph)
		f, b, err := AtLoad(Condition{d(), d(), d()}, d(), d())
		sound(err, f, b)
		rating, err := RatingForW(d(), Condition{d(), d(), d()}, d(), anyMean.Draw(r, "mean"))
		sound(err, rating)
	})
}

func TestErrorsNameThePlace(t *testing.T) {
	room := func(change func(*Room)) System {
		r := Room{Name: "Bedroom", InsideC: 18, NeedW: 900, Radiators: []Radiator{{Name: "bay", RatedW: 1000}}, Underfloor: []Underfloor{{AreaM2: 10, KH: 5}}}
		change(&r)
		return System{OutsideC: -3, Rooms: []Room{r}}
	}
	for name, c := range map[string]struct {
		s    System
		says []string
	}{
		"sound":               {room(func(*Room) {}), nil},
		"a room 60 °C warm":   {room(func(r *Room) { r.InsideC = 60 }), []string{`room "Bedroom"`, "inside temperature", "60"}},
		"a need below 0":      {room(func(r *Room) { r.NeedW = -1 }), []string{`room "Bedroom"`, "need", "-1"}},
		"no rating":           {room(func(r *Room) { r.Radiators[0].RatedW = 0 }), []string{`radiator "bay"`, "rated output"}},
		"kW for W":            {room(func(r *Room) { r.Radiators[0].RatedW = math.NaN() }), []string{`radiator "bay"`, "NaN"}},
		"exponent of 13":      {room(func(r *Room) { r.Radiators[0].Exponent = 13 }), []string{`radiator "bay"`, "exponent", "13"}},
		"rated upside down":   {room(func(r *Room) { r.Radiators[0].RatedAt = Condition{20, 65, 75} }), []string{`radiator "bay"`, "20/65/75"}},
		"no K_H":              {room(func(r *Room) { r.Underfloor[0].KH = 0 }), []string{"underfloor 1", "K_H"}},
		"both":                {room(func(r *Room) { r.Underfloor[0].RatedW, r.Underfloor[0].RatedExcessK = 500, 15 }), []string{"underfloor 1", "one of them"}},
		"rated at no excess":  {room(func(r *Room) { r.Underfloor[0] = Underfloor{AreaM2: 10, RatedW: 500} }), []string{"underfloor 1", "excess"}},
		"no rooms":            {System{OutsideC: -3}, []string{"no room"}},
		"outside of 30 °C":    {System{OutsideC: 30, Rooms: []Room{{Name: "A", InsideC: 20}}}, []string{"outside temperature", "30"}},
		"a name twice":        {System{Rooms: []Room{{Name: "A", InsideC: 20}, {Name: "A", InsideC: 20}}}, []string{`"A"`, "twice"}},
		"no name":             {System{Rooms: []Room{{InsideC: 20}}}, []string{"room 1", "name"}},
		"a pipe to nowhere":   {System{Rooms: []Room{{Name: "A", InsideC: 20}}, Pipes: []Pipe{{Name: "riser", OutsideMM: 22, Rooms: []string{"B"}}}}, []string{`pipe "riser"`, `"B"`}},
		"a pipe of 17 mm":     {System{Rooms: []Room{{Name: "A", InsideC: 20}}, Pipes: []Pipe{{OutsideMM: 17}}}, []string{"pipe 1", "17 mm", "22"}},
		"glycol by name only": {System{Rooms: []Room{{Name: "A", InsideC: 20}}, Liquid: water.Liquid{Name: "glycol"}}, []string{"glycol", "density"}},
	} {
		err := c.s.Check()
		if c.says == nil {
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
			continue
		}
		if err == nil {
			t.Errorf("%s passes", name)
			continue
		}
		for _, w := range c.says {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %q does not say %q", name, err, w)
			}
		}
		if _, e := c.s.Outputs(70, 50, ByRule); e == nil {
			t.Errorf("%s gives outputs", name)
		}
	}
}
