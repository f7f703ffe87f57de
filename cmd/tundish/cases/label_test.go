package cases

import (
	"math"
	"testing"
	"time"

	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

// labelled labels hand-made figures.
func labelled(s house.Scenario, t house.Truth, m Measures, kind string) Label {
	for _, l := range Labels(Case{}, s, t, m) {
		if l.Kind == kind {
			return l
		}
	}
	return Label{}
}

func minutes(from, to float64) house.Span {
	return house.Span{From: time.Duration(from * float64(time.Minute)), To: time.Duration(to * float64(time.Minute))}
}

// burns are n heating firings of so many minutes, every so many minutes from hour on.
func burns(hour float64, n int, lasts, every float64) (list []house.Firing) {
	for i := range n {
		at := 60*hour + every*float64(i)
		list = append(list, house.Firing{Span: minutes(at, at+lasts), Use: episode.Heating, End: episode.EndSetpoint})
	}
	return list
}

func TestShortCyclingIsHourAfterHour(t *testing.T) {
	t.Parallel()
	demand := []house.Span{minutes(0, 24*60)}
	hot := burns(8, 24, 2, 10)
	for i := range hot {
		hot[i].Use = episode.HotWater
	}
	cut := burns(8, 24, 2, 10)
	for i := range cut {
		cut[i].End = episode.EndHotWater
	}
	for name, c := range map[string]struct {
		firings []house.Firing
		demands []house.Span
		want    Verdict
	}{
		"four hours of six":         {burns(8, 24, 2, 10), demand, Present},
		"one hour":                  {burns(8, 6, 2, 10), demand, Absent},
		"two hours":                 {burns(8, 12, 2, 10), demand, Arguable},
		"two an hour":               {burns(8, 8, 4, 30), demand, Absent},
		"long burns":                {burns(8, 40, 6, 10), demand, Absent},
		"hot water":                 {hot, demand, Absent},
		"cut by hot water":          {cut, demand, Absent},
		"not asked for":             {burns(8, 24, 2, 10), nil, Absent},
		"an hour a day, three days": {append(append(burns(8, 4, 2, 10), burns(32, 4, 2, 10)...), burns(56, 4, 2, 10)...), []house.Span{minutes(0, 4320)}, Absent},
	} {
		l := labelled(house.Scenario{Days: 3}, house.Truth{Ended: 72 * time.Hour, Firings: c.firings, Demands: c.demands}, Measures{}, "short-cycling")
		if l.Verdict != c.want {
			t.Errorf("%s: %s (%s), want %s", name, l.Verdict, l.Because, c.want)
		}
	}
}

func TestDeltaTIsScaledToTheLoad(t *testing.T) {
	t.Parallel()
	s := house.Scenario{DesignFlowC: 70, DesignReturnC: 50, Building: house.BuildingSpec{DesignLossW: 6000}}
	for _, c := range []struct {
		k, kw     float64
		low, high Verdict
	}{
		{20, 6, Absent, Absent},    // as designed
		{10, 3, Absent, Absent},    // half load, half the difference
		{5, 3, Present, Absent},    // half of what half load wants
		{8, 6, Present, Absent},    //
		{14, 6, Arguable, Absent},  // 0.7
		{20, 12, Arguable, Absent}, // small for 12 kW, not small as it is
		{32, 6, Absent, Present},   //
		{26, 6, Absent, Arguable},  // 1.3
		{20, 3, Absent, Arguable},  // large for 3 kW, not large as it is
		{32, 9, Absent, Arguable},  // right for 9 kW, large as it is
	} {
		m := Measures{Settled: Spread{Seconds: 1000, K: 1000 * c.k, KW: 1000 * c.kw}}
		low, high := labelled(s, house.Truth{}, m, "low-delta-t"), labelled(s, house.Truth{}, m, "high-delta-t")
		if low.Verdict != c.low || high.Verdict != c.high {
			t.Errorf("%g K at %g kW: low %s, high %s; want %s, %s", c.k, c.kw, low.Verdict, high.Verdict, c.low, c.high)
		}
	}
	if l := labelled(s, house.Truth{}, Measures{}, "low-delta-t"); l.Verdict != Arguable {
		t.Errorf("without settled burning it is %s", l.Verdict)
	}
}

func TestOversizedByUse(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		hot              house.HotWaterKind
		most, least, set float64
		want             Verdict
	}{
		{house.Cylinder, 15, 2, 15, Present}, {house.Cylinder, 8, 8, 8, Absent}, {house.Cylinder, 15, 2, 8, Arguable},
		{house.NoHotWater, 10.5, 2, 10.5, Arguable}, {house.Instantaneous, 30, 3, 8, Absent}, {house.Instantaneous, 30, 6, 8, Present},
		{house.Instantaneous, 30, 4, 8, Arguable},
	} {
		s := house.Scenario{Building: house.BuildingSpec{DesignLossW: 6000}, HotWater: house.HotWaterSpec{Kind: c.hot},
			Boiler: house.BoilerSpec{OutputMaxKW: c.most, OutputMinKW: c.least, HeatingMaxKW: c.set}}
		if l := labelled(s, house.Truth{}, Measures{}, "oversized"); l.Verdict != c.want {
			t.Errorf("%+v: %s", c, l.Verdict)
		}
	}
}

func TestLockoutsTellTheCommonestCause(t *testing.T) {
	t.Parallel()
	tr := house.Truth{Ended: 48 * time.Hour, Lockouts: []house.Lockout{
		{Span: minutes(10, 20), Cause: "overheat"}, {Span: minutes(100, 120), Cause: "ignition"}, {Span: minutes(200, 300), Cause: "ignition"}}}
	l := labelled(house.Scenario{}, tr, Measures{}, "lockout")
	if l.Verdict != Present || l.Cause != "ignition" || len(l.Evidence) != 3 || l.Evidence[0].Cause != "overheat" || l.Severity != Severe {
		t.Errorf("%+v", l)
	}
	dry := house.Truth{Blocks: []house.Block{{Span: minutes(10, 200), Cause: "low-pressure", Shown: true}}}
	if l := labelled(house.Scenario{}, dry, Measures{}, "lockout"); l.Verdict != Absent {
		t.Errorf("a block that went by itself: %s", l.Verdict)
	}
	dry.Refills = []time.Duration{200 * time.Minute}
	if l := labelled(house.Scenario{}, dry, Measures{}, "lockout"); l.Verdict != Present || l.Cause != "low-pressure" {
		t.Errorf("a block that a refill ended: %+v", l)
	}
	dry.Refills, dry.Blocks[0].Open = nil, true
	if l := labelled(house.Scenario{}, dry, Measures{}, "lockout"); l.Verdict != Arguable {
		t.Errorf("a block that nobody ended: %s", l.Verdict)
	}
}

func TestRetriesWantASuccess(t *testing.T) {
	t.Parallel()
	try := func(next ...house.AttemptOutcome) house.Truth {
		var tr house.Truth
		for i, n := range next {
			tr.Attempts = append(tr.Attempts, house.Attempt{At: time.Duration(i) * time.Minute, Next: n})
		}
		return tr
	}
	for want, tr := range map[Verdict]house.Truth{
		Present:  try(house.ThenLit, house.ThenLit, house.ThenLit),
		Arguable: try(house.ThenLit, house.ThenLockout),
		Absent:   try(house.ThenLockout, house.ThenLockout, house.ThenGivenUp, house.ThenUnknown),
	} {
		if l := labelled(house.Scenario{}, tr, Measures{}, "ignition-retries"); l.Verdict != want {
			t.Errorf("%s: %s, want %s", l.Because, l.Verdict, want)
		}
	}
}

func TestSilenceIsNotAGap(t *testing.T) {
	t.Parallel()
	silent := func(r episode.SilenceReason) house.Truth {
		return house.Truth{Silences: []house.Silence{{Span: minutes(600, 640), Reason: r}}}
	}
	off := house.Scenario{Faults: house.FaultSpec{LoggerOff: []house.Window{{From: 605 * time.Minute, To: 632 * time.Minute}}}}
	for _, c := range []struct {
		s    house.Scenario
		t    house.Truth
		want Verdict
	}{
		{house.Scenario{}, silent(episode.SilenceUnexplained), Present},
		{house.Scenario{}, silent(episode.SilenceAdapter), Present},
		{house.Scenario{}, silent(episode.SilenceNoMains), Absent},
		{house.Scenario{}, silent(episode.SilenceLogger), Absent},
		{off, silent(episode.SilenceUnexplained), Absent}, // 5 and 8 min are left
		{house.Scenario{NoBus: true}, silent(episode.SilenceUnexplained), Absent},
	} {
		if l := labelled(c.s, c.t, Measures{}, "bus-silence"); l.Verdict != c.want {
			t.Errorf("%+v: %s", c.t.Silences, l.Verdict)
		}
	}
}

// daysOf are days of pressure by p(day, temperature), each with water from 30 to 60 °C.
func daysOf(n int, p func(d int, c float64) float64) (list []PressureDay) {
	o := NewObserver(house.Scenario{Days: n})
	for d := range n {
		for sec := range 7200 {
			c := 30 + 30*float64(sec)/7200
			at := time.Duration(d)*day + time.Duration(sec+601)*time.Second
			if sec == 0 {
				o.pressure(&house.State{At: at - 601*time.Second})
			}
			o.pressure(&house.State{At: at, Pump: true, HeatingLpm: 5, FlowPipe: c + 5, Return: c - 5, Pressure: p(d, c)})
		}
	}
	return o.m.Days
}

func TestPressureByDaysAndByDegrees(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		perDay, perK float64
		refills      []time.Duration
		loss, swing  Verdict
	}{
		{0, 0.015, nil, Absent, Absent},
		{0.03, 0.015, nil, Present, Absent},
		{0.015, 0.015, nil, Arguable, Absent},
		{0, 0.03, nil, Absent, Present},
		{0, 0.022, nil, Absent, Arguable},
		{0.05, 0.04, []time.Duration{clock(2, 10, 0)}, Present, Present},
	} {
		m := Measures{LostL: 1, Days: daysOf(7, func(d int, t float64) float64 {
			p := 1.2 + c.perK*(t-20) - c.perDay*float64(d)
			for _, at := range c.refills {
				if clock(d, 0, 0) > at {
					p += 0.4
				}
			}
			return p
		})}
		tr := house.Truth{Ended: 7 * day, Refills: c.refills}
		loss, swing := labelled(house.Scenario{}, tr, m, "pressure-loss"), labelled(house.Scenario{}, tr, m, "pressure-swing")
		if loss.Verdict != c.loss || swing.Verdict != c.swing {
			t.Errorf("%+v: loss %s (%s), swing %s (%s)", c, loss.Verdict, loss.Because, swing.Verdict, swing.Because)
		}
		m.LostL = 0
		if l := labelled(house.Scenario{}, tr, m, "pressure-loss"); l.Verdict != Absent {
			t.Errorf("nothing left, and it is %s", l.Verdict)
		}
		if want := 7 * c.perDay; math.Abs(loss.Value-want) > 0.01 {
			t.Errorf("%+v: %.3f bar a week, want %.3f", c, loss.Value, want)
		}
		if math.Abs(swing.Value-c.perK) > 1e-4 {
			t.Errorf("%+v: %.4f bar/K", c, swing.Value)
		}
	}
}

func TestCylinderInAnySevenDays(t *testing.T) {
	t.Parallel()
	s := house.Scenario{HotWater: house.HotWaterSpec{Kind: house.Cylinder}}
	for _, c := range []struct {
		days []float64
		want Verdict
	}{
		{[]float64{50, 50, 61}, Absent}, {[]float64{50, 58.5, 50}, Present}, {[]float64{59.5, 50}, Arguable},
		{[]float64{61, 50, 50, 50, 50, 50, 50, 61}, Absent}, {[]float64{61, 50, 50, 50, 50, 50, 50, 50, 61}, Present},
	} {
		if l := labelled(s, house.Truth{}, Measures{Hottest: c.days}, "cylinder-too-cool"); l.Verdict != c.want {
			t.Errorf("%v: %s", c.days, l.Verdict)
		}
	}
	s.HotWater.Kind = house.Instantaneous
	if l := labelled(s, house.Truth{}, Measures{Hottest: []float64{45}}, "cylinder-too-cool"); l.Verdict != Absent {
		t.Errorf("without a cylinder: %s", l.Verdict)
	}
}

// walk gives an observer one state a second.
func walk(o *Observer, from, to time.Duration, st house.State) {
	for at := from + time.Second; at <= to; at += time.Second {
		st.At = at
		o.Second(&st)
	}
}

func TestDemandNotMet(t *testing.T) {
	t.Parallel()
	cold := house.State{Demand: true, Powered: true, FlowSetpoint: 55, Exchanger: 25}
	with := func(f func(*house.State)) house.State { st := cold; f(&st); return st }
	interlock := house.Scenario{Days: 1, Faults: house.FaultSpec{Blocked: []house.BlockFault{{Window: always(), Cause: house.BlockInterlock}}}}
	for name, c := range map[string]struct {
		s     house.Scenario
		st    house.State
		hours float64
		want  Verdict
	}{
		"nothing fires":      {house.Scenario{Days: 1}, cold, 1, Present},
		"twenty minutes":     {house.Scenario{Days: 1}, cold, 1.0 / 3, Arguable},
		"ten minutes":        {house.Scenario{Days: 1}, cold, 1.0 / 6, Absent},
		"an open contact":    {interlock, with(func(st *house.State) { st.Blocked = true }), 1, Present},
		"a fault that shows": {house.Scenario{Days: 1}, with(func(st *house.State) { st.Blocked = true }), 5, Absent},
		"a lockout":          {house.Scenario{Days: 1}, with(func(st *house.State) { st.Locked = true }), 5, Absent},
		"no mains":           {house.Scenario{Days: 1}, with(func(st *house.State) { st.Powered = false }), 5, Absent},
		"hot water":          {house.Scenario{Days: 1}, with(func(st *house.State) { st.HotWater = true }), 5, Absent},
		"warm enough":        {house.Scenario{Days: 1}, with(func(st *house.State) { st.Exchanger = 53 }), 5, Absent},
		"fires, never near":  {house.Scenario{Days: 1}, with(func(st *house.State) { st.OutputKW = 5 }), 5, Present},
		"fires, three hours": {house.Scenario{Days: 1}, with(func(st *house.State) { st.OutputKW = 5 }), 3, Arguable},
		"fires, warming up":  {house.Scenario{Days: 1}, with(func(st *house.State) { st.OutputKW = 5 }), 1.5, Absent},
	} {
		o := NewObserver(c.s)
		warm := house.State{Powered: true, FlowSetpoint: 55, Exchanger: 25}
		walk(o, 0, time.Hour, warm)
		end := time.Hour + time.Duration(c.hours*float64(time.Hour))
		walk(o, time.Hour, end, c.st)
		if name == "hot water" { // what comes after it counts from there
			walk(o, end, end+10*time.Minute, cold)
		}
		if l := labelled(c.s, house.Truth{}, o.Measures(), "demand-not-met"); l.Verdict != c.want {
			t.Errorf("%s: %s (%s), want %s", name, l.Verdict, l.Because, c.want)
		}
	}
}

// fire is n runs of the burner for heating of three minutes, ten minutes apart.
func fire(s house.Scenario, n int, on house.State) Measures {
	s.Days = 1
	o := NewObserver(s)
	off := on
	off.OutputKW, off.Exchanger = 0, min(on.Exchanger, on.FlowSetpoint)
	for i := range n {
		at := time.Duration(i) * 10 * time.Minute
		walk(o, at, at+3*time.Minute, on)
		walk(o, at+3*time.Minute, at+10*time.Minute, off)
	}
	return o.Measures()
}

func TestRunsOfTheBurner(t *testing.T) {
	t.Parallel()
	s := house.Scenario{Circuit: house.CircuitSpec{FlowLpm: 8}, Boiler: house.BoilerSpec{FlowLimitC: 85, AirRatio: 1.3}}
	on := house.State{Pump: true, Demand: true, Powered: true, OutputKW: 20, FlowSetpoint: 60, Exchanger: 71, Return: 58, FlowLpm: 8}
	verdict := func(kind string, n int, f func(*house.State)) Verdict {
		st := on
		f(&st)
		return labelled(s, house.Truth{}, fire(s, n, st), kind).Verdict
	}
	for _, c := range []struct {
		kind string
		n    int
		f    func(*house.State)
		want Verdict
	}{
		{"flow-overshoot", 8, func(*house.State) {}, Present},
		{"flow-overshoot", 8, func(st *house.State) { st.Exchanger = 68 }, Arguable},
		{"flow-overshoot", 8, func(st *house.State) { st.Exchanger = 66 }, Absent},
		{"flow-overshoot", 3, func(*house.State) {}, Arguable},
		{"flow-overshoot", 8, func(st *house.State) { st.HotWater = true }, Absent},
		{"no-circulation", 3, func(st *house.State) { st.FlowLpm = 0.1 }, Present},
		{"no-circulation", 1, func(st *house.State) { st.FlowLpm = 0.1 }, Arguable},
		{"no-circulation", 3, func(st *house.State) { st.FlowLpm = 1.8 }, Arguable},
		{"no-circulation", 3, func(*house.State) {}, Absent},
		{"no-circulation", 3, func(st *house.State) { st.FlowLpm, st.HotWater = 0.1, true }, Absent},
		{"not-condensing", 9, func(*house.State) {}, Present},
		{"not-condensing", 9, func(st *house.State) { st.Return = 54 }, Absent},
		{"not-condensing", 2, func(*house.State) {}, Arguable}, // 2 kWh are too little
	} {
		if got := verdict(c.kind, c.n, c.f); got != c.want {
			t.Errorf("%s, %d runs: %s, want %s", c.kind, c.n, got, c.want)
		}
	}
	lpg := s
	lpg.Boiler.Fuel = house.LPG
	st := on
	st.Return = 53 // below 55.2 °C, above 51.2
	if g, l := labelled(s, house.Truth{}, fire(s, 9, st), "not-condensing"), labelled(lpg, house.Truth{}, fire(lpg, 9, st), "not-condensing"); g.Verdict != Absent || l.Verdict != Present {
		t.Errorf("at 53 °C: natural gas %s, LPG %s", g.Verdict, l.Verdict)
	}
	pump := s
	pump.Boiler.Kind = house.HeatPump
	if l := labelled(pump, house.Truth{}, fire(pump, 9, on), "not-condensing"); l.Verdict != Absent {
		t.Errorf("a heat pump: %s", l.Verdict)
	}
}

func TestSensorsOfTheSameWater(t *testing.T) {
	t.Parallel()
	st := house.State{Pump: true, HeatingLpm: 5, Exchanger: 60, FlowPipe: 60, Return: 45, FlowSensor: 60, ReturnSensor: 45, FlowProbe: 59.2, ReturnProbe: 44.5}
	for _, c := range []struct {
		f    func(*house.State)
		want Verdict
	}{
		{func(*house.State) {}, Absent}, {func(st *house.State) { st.FlowProbe = 54 }, Present}, {func(st *house.State) { st.ReturnSensor = 52 }, Present},
		{func(st *house.State) { st.FlowProbe = 57 }, Arguable}, {func(st *house.State) { st.FlowProbe, st.HeatingLpm = 30, 0 }, Arguable},
	} {
		s, x := house.Scenario{Days: 1}, st
		c.f(&x)
		o := NewObserver(s)
		walk(o, 0, 4*time.Hour, x)
		if l := labelled(s, house.Truth{}, o.Measures(), "probe-disagreement"); l.Verdict != c.want {
			t.Errorf("%+v: %s (%s), want %s", x, l.Verdict, l.Because, c.want)
		}
	}
}

func TestLoneStoreSensorThatReadsHighShowsNothing(t *testing.T) {
	t.Parallel()
	week := []float64{57, 57, 57, 57, 57, 57, 57}
	for name, c := range map[string]struct {
		off  float64
		rom  string
		seen bool
	}{
		"reads true":                    {0, "", true},
		"2 K high, and 59 °C by that":   {2, "", true},
		"6 K high":                      {6, "", false},
		"6 K high, but a probe in it":   {6, "28-0000a71c01f4", true},
		"6 K low, so that all the more": {-6, "", true},
	} {
		s := house.Scenario{HotWater: house.HotWaterSpec{Kind: house.Cylinder, SensorOffK: c.off}}
		s.Probes.CylinderROM = c.rom
		l := labelled(s, house.Truth{}, Measures{Hottest: week}, "cylinder-too-cool")
		if l.Verdict != Present || l.Visible != c.seen {
			t.Errorf("%s: %s, visible %v", name, l.Verdict, l.Visible)
		}
	}
}
