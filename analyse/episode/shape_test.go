package episode

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/decode"
)

const plantHours = 12 * time.Hour

func buildRuns(cfg Config, readings []decode.Reading, run func(i int) uint32, end time.Time) *Facts {
	b := NewBuilder(cfg)
	for i, r := range readings {
		b.Record(r.Series.Source, run(i), r.Time, "")
		b.Reading(r)
	}
	return b.Finish(readings[0].Time, end)
}

func one(int) uint32 { return 1 }

// tolerance is how far a start or stop by shape may lie from the true one: 3 s, a sampling interval and half the lag.
func (p plant) tolerance() time.Duration { return 3*time.Second + p.every + seconds(p.tau/2) }

// told matches burns to firings one to one, start and stop both within the tolerance. Burns that lie in or beside
// pauses shorter than what can be told do not count.
func told(burns []Span, firings []Firing, shortest, tolerance time.Duration) (match, counted, extra int) {
	ok := func(i int) bool {
		return burns[i].Duration() >= shortest && !burns[i].Open && (i == 0 || burns[i].From.Sub(burns[i-1].To) >= shortest) &&
			(i+1 == len(burns) || burns[i+1].From.Sub(burns[i].To) >= shortest)
	}
	used := make([]bool, len(firings))
	for i, b := range burns {
		found := false
		for j, f := range firings {
			if !used[j] && f.From.Sub(b.From).Abs() <= tolerance && f.To.Sub(b.To).Abs() <= tolerance {
				used[j], found = true, true
				break
			}
		}
		if ok(i) {
			counted++
			if found {
				match++
			}
		}
	}
	for j, f := range firings {
		excused := used[j]
		for i, b := range burns {
			wide := Span{From: b.From.Add(-tolerance), To: b.To.Add(tolerance)}
			excused = excused || !ok(i) && wide.Overlap(f.Span) > 0
		}
		if !excused {
			extra++
		}
	}
	return match, counted, extra
}

// Probes alone tell the firings of systems far apart in size, at sampling and lag as they come. Each is matched one to
// one against what the model burned.
func TestFiringsByShape(t *testing.T) {
	cases := []struct {
		every time.Duration
		tau   float64
		share float64
	}{
		{time.Second, 12, 0.97}, {time.Second, 30, 0.97}, {time.Second, 60, 0.97}, {5 * time.Second, 20, 0.97},
		{5 * time.Second, 50, 0.95}, {10 * time.Second, 30, 0.95}, {time.Minute, 30, 0.9},
	}
	for _, c := range cases {
		match, counted, extra := 0, 0, 0
		seed := uint64(1)
		for name, p := range plants() {
			p.every, p.tau, p.flowOff, p.retOff, p.seed = c.every, c.tau, 0.4, -0.3, seed
			readings, burns := p.simulate(plantHours)
			f := buildRuns(Config{}, readings, one, start.Add(plantHours))
			shortest := time.Duration(0)
			for _, s := range f.Sights {
				shortest = max(shortest, s.Shortest)
				if s.Basis != ByShape && c.every < time.Minute || s.Source != "probes" || s.Interval != c.every {
					t.Errorf("%s: sight is %+v", name, s)
				}
			}
			m, n, x := told(burns, f.Firings, shortest, p.tolerance())
			if m < n || x > 0 {
				t.Logf("%s every %v lag %v s: %d of %d burns, %d more firings, of %d burns in all; shortest %v", name, c.every, c.tau, m, n, x, len(burns), shortest)
			}
			match, counted, extra = match+m, counted+n, extra+x
		}
		recall, precision := float64(match)/float64(counted), float64(match)/float64(match+extra)
		t.Logf("every %v, lag %v s: recall %.3f, precision %.3f of %d burns", c.every, c.tau, recall, precision, counted)
		if recall < c.share || precision < c.share {
			t.Errorf("every %v, lag %v s: recall %.3f and precision %.3f, want %v", c.every, c.tau, recall, precision, c.share)
		}
	}
}

// The lag is found from the data: within a third, or 5 s, of what the model's probes had, where rests tell of it.
func TestLagIsFound(t *testing.T) {
	p := plants()["oversized, few litres"]
	for _, tau := range []float64{10, 20, 40, 60} {
		p.every, p.tau, p.seed = time.Second, tau, 3
		readings, _ := p.simulate(plantHours)
		f := buildRuns(Config{}, readings, one, start.Add(plantHours))
		if got := f.Sights[0].Lag.Seconds(); math.Abs(got-tau) > max(5, tau/3) {
			t.Errorf("lag is %.0f s, want %.0f s", got, tau)
		}
	}
}

// A compressor's run goes on across its defrosts.
func TestDefrostsDoNotEndARun(t *testing.T) {
	p := plants()["heat pump, no flame"]
	p.minKW, p.setpoint, p.emitterWK, p.defrost = 6, 70, 250, true // it never reaches the set-point
	p.every, p.tau = 5*time.Second, 20
	readings, burns := p.simulate(plantHours)
	if f := buildRuns(Config{}, readings, one, start.Add(plantHours)); len(f.Firings) <= len(burns) {
		t.Errorf("%d firings of %d runs: the model does not defrost", len(f.Firings), len(burns))
	}
	f := buildRuns(Config{HeatPump: true}, readings, one, start.Add(plantHours))
	if m, n, x := told(burns, f.Firings, f.Sights[0].Shortest, p.tolerance()); m < n || x > 0 || n < 3 {
		t.Errorf("%d of %d runs, %d more", m, n, x)
	}
}

// Where the pump stops with the burner, a stop is told by how standing water cools. Starts are not looked at: a pump
// that starts with the burner pushes standing water past the probes first.
func TestPumpStopsWithTheBurner(t *testing.T) {
	p := plants()["underfloor"]
	p.setpoint, p.overrun, p.pumpLossWK, p.every, p.tau = 60, 0, 11, 5*time.Second, 20
	readings, burns := p.simulate(plantHours)
	f := buildRuns(Config{}, readings, one, start.Add(plantHours))
	if len(f.Firings) != len(burns) || len(burns) < 3 {
		t.Fatalf("%d firings of %d burns", len(f.Firings), len(burns))
	}
	for i, b := range burns {
		if d := f.Firings[i].To.Sub(b.To); d.Abs() > p.tolerance() {
			t.Errorf("the stop at %v is told %v late", b.To, d)
		}
	}
}

// Exchanged probes are noticed, and the firings are the same.
func TestExchangedProbes(t *testing.T) {
	p := plants()["wall boiler that modulates"]
	p.every, p.tau = 5*time.Second, 20
	readings, burns := p.simulate(plantHours)
	for i := range readings {
		r := &readings[i].Series.Point
		*r = map[decode.Point]decode.Point{decode.Flow: decode.Return, decode.Return: decode.Flow}[*r]
	}
	f := buildRuns(Config{}, readings, one, start.Add(plantHours))
	if m, n, x := told(burns, f.Firings, f.Sights[0].Shortest, p.tolerance()); m < n || x > 0 || n < 5 {
		t.Errorf("%d of %d burns, %d more firings", m, n, x)
	}
}

// One probe alone tells no firing, and that is said.
func TestOneProbeTellsNothing(t *testing.T) {
	p := plants()["wall boiler that modulates"]
	p.every, p.tau = 5*time.Second, 20
	all, _ := p.simulate(plantHours)
	for _, keep := range []decode.Point{decode.Flow, decode.Return} {
		var readings []decode.Reading
		for _, r := range all {
			if r.Series.Point == keep {
				readings = append(readings, r)
			}
		}
		f := buildRuns(Config{}, readings, one, start.Add(plantHours))
		if len(f.Firings) > 0 || len(f.Sights) != 1 || f.Sights[0].Basis != "" || f.Sights[0].Because == "" {
			t.Errorf("%v alone: %d firings, sights %+v", keep, len(f.Firings), f.Sights)
		}
	}
}

// The flame's own signal decides; where it falls silent, the shape fills in, and no firing overlaps another.
func TestShapeFillsIn(t *testing.T) {
	p := plants()["oversized, few litres"]
	p.every, p.tau = time.Second, 20
	readings, burns := p.simulate(plantHours)
	silent := Span{From: start.Add(4 * time.Hour), To: start.Add(6 * time.Hour)}
	var both []decode.Reading
	i := 0
	for _, r := range readings {
		both = append(both, r)
		if r.Series.Point != decode.Return || silent.Contains(r.Time) {
			continue
		}
		for i < len(burns) && !burns[i].To.After(r.Time) {
			i++
		}
		flame := decode.Reading{Time: r.Time, Series: decode.Series{Source: "boiler", Point: decode.Flame}, Quality: decode.Good}
		if i < len(burns) && !r.Time.Before(burns[i].From) {
			flame.Value = 1
		}
		both = append(both, flame)
	}
	f := buildRuns(Config{Buses: []string{"boiler"}}, both, one, start.Add(plantHours))
	var last time.Time
	shapes := 0
	for _, x := range f.Firings {
		if x.From.Before(last) {
			t.Errorf("firing %v–%v overlaps one that ended %v", x.From, x.To, last)
		}
		last = x.To
		if x.Basis == ByShape {
			shapes++
			if x.Overlap(silent) < x.Duration() {
				t.Errorf("firing by shape %v–%v where the flame is known", x.From, x.To)
			}
		}
	}
	if len(f.Silences) != 1 || f.Silences[0].Meanwhile != Fired {
		t.Errorf("silences are %+v", f.Silences)
	}
	m, n, x := told(burns, f.Firings, 30*time.Second, p.tolerance())
	if m < n || x > 0 || shapes < 5 {
		t.Errorf("%d of %d burns, %d more firings, %d by shape", m, n, x, shapes)
	}
}

// drawn is a plant by chance.
func drawn(rt *rapid.T) plant {
	min := rapid.Float64Range(2, 15).Draw(rt, "min")
	return plant{
		minKW: min, maxKW: min * rapid.Float64Range(1, 6).Draw(rt, "range"), exchanger: rapid.Float64Range(8e3, 200e3).Draw(rt, "exchanger"),
		lpm: rapid.Float64Range(2, 40).Draw(rt, "flow"), emitter: rapid.Float64Range(80e3, 3e6).Draw(rt, "emitter"),
		emitterWK: rapid.Float64Range(40, 400).Draw(rt, "load"), pipeL: rapid.Float64Range(2, 30).Draw(rt, "pipe"),
		setpoint: rapid.Float64Range(30, 75).Draw(rt, "setpoint"), spread: rapid.Float64Range(2, 6).Draw(rt, "spread"),
		rest: time.Duration(rapid.IntRange(0, 600).Draw(rt, "rest")) * time.Second, overrun: time.Duration(rapid.IntRange(0, 600).Draw(rt, "overrun")) * time.Second,
		demands: hours(0.3, 1, 1.3, 2.7), every: time.Duration(rapid.SampledFrom([]int{1, 5, 10, 60}).Draw(rt, "every")) * time.Second,
		tau: rapid.Float64Range(10, 120).Draw(rt, "tau"), flowOff: rapid.Float64Range(-0.5, 0.5).Draw(rt, "off"), seed: rapid.Uint64().Draw(rt, "seed"),
	}
}

// Whatever the plant: firings by shape do not overlap, a shifted clock shifts them, and a capture that is cut in two
// files and joined again tells the same.
func TestShapeProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		const length = 3 * time.Hour
		readings, _ := drawn(rt).simulate(length)
		whole := buildRuns(Config{}, readings, one, start.Add(length))
		var last time.Time
		for _, f := range whole.Firings {
			if f.From.Before(last) || f.To.Before(f.From) {
				rt.Fatalf("firing %v–%v after one that ended %v", f.From, f.To, last)
			}
			last = f.To
		}
		shift := time.Duration(rapid.Int64Range(-1e6, 1e6).Draw(rt, "shift")) * time.Second
		moved := append([]decode.Reading(nil), readings...)
		for i := range moved {
			moved[i].Time = moved[i].Time.Add(shift)
		}
		sameFirings(rt, whole.Firings, buildRuns(Config{}, moved, one, start.Add(length+shift)).Firings, shift)

		cut := rapid.IntRange(0, len(readings)).Draw(rt, "cut")
		files := Config{Runs: []Run{{ID: 1, From: start, To: start.Add(length)}, {ID: 2, From: start, To: start.Add(length)}}}
		run := func(i int) uint32 { return 1 + uint32(b2i(i >= cut)) }
		sameFirings(rt, whole.Firings, buildRuns(files, readings, run, start.Add(length)).Firings, 0)
	})
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func sameFirings(rt *rapid.T, a, b []Firing, shift time.Duration) {
	if len(a) != len(b) {
		rt.Fatalf("%d firings became %d", len(a), len(b))
	}
	for i := range a {
		if !a[i].From.Add(shift).Equal(b[i].From) || !a[i].To.Add(shift).Equal(b[i].To) || a[i].Use != b[i].Use || a[i].Rough != b[i].Rough {
			rt.Fatalf("firing %+v became %+v", a[i], b[i])
		}
	}
}

// Between two runs of the logger nobody looked: a firing under way ends open, and the one after begins cut.
func TestShapeAtAJoinOfRuns(t *testing.T) {
	p := plants()["wall boiler that modulates"]
	p.every, p.tau = time.Second, 20
	readings, burns := p.simulate(plantHours)
	long := burns[0]
	for _, b := range burns {
		if b.Duration() > long.Duration() {
			long = b
		}
	}
	mid := long.From.Add(long.Duration() / 2)
	cfg := Config{Runs: []Run{{ID: 1, From: start, To: mid, Live: true}, {ID: 2, From: mid, To: start.Add(plantHours), Live: true}}}
	f := buildRuns(cfg, readings, func(i int) uint32 { return 1 + uint32(b2i(!readings[i].Time.Before(mid))) }, start.Add(plantHours))
	var before, after bool
	for _, x := range f.Firings {
		before = before || x.Open && x.To.Sub(mid).Abs() <= 2*time.Second
		after = after || x.Cut && x.From.Sub(mid).Abs() <= 2*time.Second
	}
	if !before || !after {
		t.Errorf("no firing ends open, or none begins cut, at the join %v: %+v", mid, f.Firings)
	}
}

// FuzzShape: whatever comes as flow and return, nothing panics and no firing overlaps another.
func FuzzShape(f *testing.F) {
	f.Add([]byte{20, 20, 1, 200, 30, 1, 60, 60, 90, 0, 0, 255})
	f.Fuzz(func(t *testing.T, data []byte) {
		b := NewBuilder(Config{})
		at := start
		for i := 0; i+2 < len(data) && i < 600; i += 3 {
			for k := range 40 {
				at = at.Add(time.Duration(int8(data[i+2])) * time.Second / 8) // backwards too
				for j, p := range []decode.Point{decode.Flow, decode.Return} {
					v := float64(data[i+j])*0.6 - 20 + float64(k)*float64(int8(data[i+1-j]))/300
					if data[i+2] == 255 {
						v = math.Inf(int(data[i+j]) - 100)
					}
					b.Reading(decode.Reading{Time: at, Series: decode.Series{Source: "probes", Point: p}, Value: v, Quality: decode.Good})
				}
			}
		}
		var last time.Time
		for _, x := range b.Finish(start, at).Firings {
			if x.From.Before(last) || x.To.Before(x.From) {
				t.Fatalf("firing %v–%v after one that ended %v", x.From, x.To, last)
			}
			last = x.To
		}
	})
}
