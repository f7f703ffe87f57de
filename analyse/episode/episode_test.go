package episode

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/decode"
)

var start = time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)

// feed gives a builder one reading of the boiler.
func feed(b *Builder, at time.Duration, p decode.Point, v float64) {
	t := start.Add(at)
	b.Record("boiler", 1, t, "")
	b.Reading(decode.Reading{Time: t, Series: decode.Series{Source: "boiler", Point: p}, Value: v, Quality: decode.Good})
}

func config(length time.Duration) Config {
	return Config{Buses: []string{"boiler"}, Runs: []Run{{ID: 1, From: start, To: start.Add(length), Live: true, Sources: []string{"boiler"}}}}
}

func TestWhyAFiringEnded(t *testing.T) {
	cases := []struct {
		name string
		at   func(b *Builder, s time.Duration) // called every second of the burn and of the minute after it
		burn time.Duration
		want End
	}{
		{"set-point", func(b *Builder, s time.Duration) {
			feed(b, s, decode.FlowSetpoint, 60)
			feed(b, s, decode.HeatDemand, 1)
			feed(b, s, decode.Flow, min(62, 40+s.Minutes()*4))
		}, 6 * time.Minute, EndSetpoint},
		{"demand gone", func(b *Builder, s time.Duration) {
			feed(b, s, decode.FlowSetpoint, 60)
			feed(b, s, decode.Flow, 45)
			feed(b, s, decode.HeatDemand, map[bool]float64{true: 1}[s < 6*time.Minute-2*time.Second])
		}, 6 * time.Minute, EndDemand},
		{"hot water took over, seen a little later", func(b *Builder, s time.Duration) {
			feed(b, s, decode.HeatDemand, 1)
			feed(b, s, decode.FlowSetpoint, 60)
			feed(b, s, decode.Flow, 45)
			feed(b, s, decode.HotWaterActive, map[bool]float64{true: 1}[s > 6*time.Minute+4*time.Second])
		}, 6 * time.Minute, EndHotWater},
		{"fault, seen a little later", func(b *Builder, s time.Duration) {
			feed(b, s, decode.HeatDemand, 1)
			feed(b, s, decode.Fault, map[bool]float64{true: 1}[s > 6*time.Minute+4*time.Second])
		}, 6 * time.Minute, EndFault},
		{"limit", func(b *Builder, s time.Duration) {
			feed(b, s, decode.HeatDemand, 1)
			feed(b, s, decode.FlowSetpoint, 90)
			feed(b, s, decode.Flow, 83)
		}, 6 * time.Minute, EndLimit},
		{"flame lost", func(b *Builder, s time.Duration) {
			feed(b, s, decode.HeatDemand, 1)
			feed(b, s, decode.FlowSetpoint, 65)
			feed(b, s, decode.Flow, 40)
		}, time.Minute, EndFlameLoss},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := NewBuilder(config(c.burn + time.Minute))
			var to time.Duration
			for s := time.Duration(0); s <= c.burn+time.Minute; s += time.Second {
				feed(b, s, decode.Flame, map[bool]float64{true: 1}[s >= 10*time.Second && s < c.burn])
				c.at(b, s)
				to = s
			}
			f := b.Finish(start, start.Add(to))
			if len(f.Firings) != 1 {
				t.Fatalf("%d firings, want 1", len(f.Firings))
			}
			got := f.Firings[0]
			if got.End != c.want {
				t.Errorf("ended by %q, want %q", got.End, c.want)
			}
			if !got.From.Equal(start.Add(10*time.Second)) || !got.To.Equal(start.Add(c.burn)) {
				t.Errorf("firing from %v to %v", got.From, got.To)
			}
		})
	}
}

// A burn is not counted across a gap: nobody knows whether it went out meanwhile.
func TestFiringIsCutByAGap(t *testing.T) {
	b := NewBuilder(config(40 * time.Minute))
	for _, part := range [][2]time.Duration{{0, 10 * time.Minute}, {30 * time.Minute, 40 * time.Minute}} {
		for s := part[0]; s <= part[1]; s += time.Second {
			feed(b, s, decode.Flame, 1)
		}
	}
	f := b.Finish(start, start.Add(40*time.Minute))
	if len(f.Firings) != 2 {
		t.Fatalf("firings are %+v, want two", f.Firings)
	}
	if !f.Firings[0].Cut || !f.Firings[0].Open || f.Firings[0].Duration() != 10*time.Minute {
		t.Errorf("the first is %+v", f.Firings[0])
	}
	if len(f.Silences) != 1 || f.Silences[0].Duration() != 20*time.Minute {
		t.Errorf("silences are %+v", f.Silences)
	}
}

// Between two runs no logger ran: a gap, not a silence.
func TestGapBetweenRuns(t *testing.T) {
	cfg := config(time.Hour)
	cfg.Runs = []Run{{ID: 1, From: start, To: start.Add(time.Hour), Live: true, Sources: []string{"boiler"}},
		{ID: 2, From: start.Add(3 * time.Hour), To: start.Add(4 * time.Hour), Live: true, Sources: []string{"boiler"}}}
	b := NewBuilder(cfg)
	for run, r := range cfg.Runs {
		for at := r.From; !at.After(r.To); at = at.Add(time.Second) {
			b.Record("boiler", uint32(run+1), at, "")
			b.Reading(decode.Reading{Time: at, Series: decode.Series{Source: "boiler", Point: decode.Flame}, Value: 1, Quality: decode.Good})
		}
	}
	f := b.Finish(start, start.Add(4*time.Hour))
	if len(f.Gaps) != 1 || f.Gaps[0].Duration() != 2*time.Hour {
		t.Errorf("gaps are %+v", f.Gaps)
	}
	if len(f.Silences) != 0 {
		t.Errorf("silences are %+v", f.Silences)
	}
	if len(f.Firings) != 2 {
		t.Errorf("firings are %+v", f.Firings)
	}
}

func TestSilenceByALostAdapter(t *testing.T) {
	b := NewBuilder(config(time.Hour))
	for s := time.Duration(0); s <= time.Hour; s += time.Second {
		if s == 20*time.Minute {
			b.Record("boiler", 1, start.Add(s), "lost: /dev/serial/by-id/usb-adapter: no such device")
		}
		if s < 20*time.Minute || s > 45*time.Minute {
			feed(b, s, decode.Flame, 0)
		}
	}
	f := b.Finish(start, start.Add(time.Hour))
	if len(f.Silences) != 1 || f.Silences[0].Reason != SilenceAdapter {
		t.Fatalf("silences are %+v", f.Silences)
	}
}

// Values that arrive every five minutes are not silences of five minutes each.
func TestSlowSourceIsNotSilent(t *testing.T) {
	b := NewBuilder(config(12 * time.Hour))
	for s := time.Duration(0); s <= 12*time.Hour; s += 5 * time.Minute {
		feed(b, s, decode.Flame, map[bool]float64{true: 1}[s%time.Hour < 20*time.Minute])
	}
	f := b.Finish(start, start.Add(12*time.Hour))
	if len(f.Silences) != 0 {
		t.Errorf("silences are %+v", f.Silences)
	}
	if len(f.Firings) != 13 {
		t.Errorf("%d firings, want 13", len(f.Firings))
	}
}

func TestDemandBelowRoomTemperatureIsNone(t *testing.T) {
	b := NewBuilder(config(time.Hour))
	for s := time.Duration(0); s <= time.Hour; s += time.Second {
		setpoint := 55.0
		if s >= 30*time.Minute {
			setpoint = 5
		}
		feed(b, s, decode.FlowSetpoint, setpoint)
		feed(b, s, decode.HeatDemand, 1)
	}
	f := b.Finish(start, start.Add(time.Hour))
	if len(f.Demands) != 1 || f.Demands[0].Duration() != 30*time.Minute {
		t.Errorf("demands are %+v", f.Demands)
	}
}

// script is a random life of a boiler.
func script(rt *rapid.T) []decode.Reading {
	var out []decode.Reading
	at := start
	points := []decode.Point{decode.Flame, decode.HeatDemand, decode.Fault, decode.HotWaterActive, decode.Flow, decode.FlowSetpoint, decode.Supply}
	for range rapid.IntRange(1, 300).Draw(rt, "n") {
		at = at.Add(time.Duration(rapid.SampledFrom([]int{1, 1, 1, 5, 30, 400}).Draw(rt, "gap")) * time.Second)
		p := rapid.SampledFrom(points).Draw(rt, "point")
		v := float64(rapid.IntRange(0, 1).Draw(rt, "on"))
		if p == decode.Flow || p == decode.FlowSetpoint {
			v = rapid.Float64Range(5, 95).Draw(rt, "water")
		}
		out = append(out, decode.Reading{Time: at, Series: decode.Series{Source: "boiler", Point: p}, Value: v, Quality: decode.Good})
	}
	return out
}

func build(readings []decode.Reading, shift time.Duration) *Facts {
	cfg := Config{Buses: []string{"boiler"}}
	b := NewBuilder(cfg)
	for _, r := range readings {
		r.Time = r.Time.Add(shift)
		b.Record("boiler", 1, r.Time, "")
		b.Reading(r)
	}
	return b.Finish(start.Add(shift), readings[len(readings)-1].Time.Add(shift))
}

// No episode overlaps another of its kind, none is negative, all lie in the record.
func TestEpisodesDoNotOverlap(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := script(rt)
		f := build(r, 0)
		check := func(kind string, spans []Span) {
			end := f.From
			for _, s := range spans {
				if s.From.Before(end) || s.To.Before(s.From) || s.To.After(f.To) {
					rt.Fatalf("%s %v–%v after one that ended %v, in a record %v–%v", kind, s.From, s.To, end, f.From, f.To)
				}
				end = s.To
			}
		}
		check("firing", spansOf(f.Firings, func(x Firing) Span { return x.Span }))
		check("demand", spansOf(f.Demands, func(x Demand) Span { return x.Span }))
		check("draw", spansOf(f.Draws, func(x Draw) Span { return x.Span }))
		check("lockout", spansOf(f.Lockouts, func(x Lockout) Span { return x.Span }))
		check("silence", spansOf(f.Silences, func(x Silence) Span { return x.Span }))
	})
}

// A clock that is wrong by a constant moves every episode by that constant and changes nothing else.
func TestShiftedClockShiftsEpisodes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := script(rt)
		shift := time.Duration(rapid.Int64Range(-1e6, 1e6).Draw(rt, "shift")) * time.Second
		a, b := build(r, 0), build(r, shift)
		if len(a.Firings) != len(b.Firings) || len(a.Lockouts) != len(b.Lockouts) || len(a.Silences) != len(b.Silences) {
			rt.Fatalf("%d/%d firings, %d/%d lockouts, %d/%d silences", len(a.Firings), len(b.Firings), len(a.Lockouts), len(b.Lockouts), len(a.Silences), len(b.Silences))
		}
		for i := range a.Firings {
			x, y := a.Firings[i], b.Firings[i]
			if !x.From.Add(shift).Equal(y.From) || !x.To.Add(shift).Equal(y.To) || x.End != y.End {
				rt.Fatalf("firing %+v became %+v", x, y)
			}
		}
	})
}

func spansOf[T any](list []T, span func(T) Span) []Span {
	out := make([]Span, len(list))
	for i, x := range list {
		out[i] = span(x)
	}
	return out
}

// The median interval and what it covers, against sums worked out by hand.
func TestCadence(t *testing.T) {
	var c Cadence
	for range 99 {
		c.Add(10 * time.Second)
	}
	c.Add(1000 * time.Second)
	if got := c.Median(); got != 10*time.Second {
		t.Errorf("the usual interval is %v, want 10 s", got)
	}
	if got, want := c.Covered(30*time.Second), 99*10*time.Second+30*time.Second; got != want {
		t.Errorf("covered %v, want %v", got, want)
	}
}

func FuzzBuilder(f *testing.F) {
	f.Add([]byte{0, 1, 1, 0, 2, 200, 3, 4, 250, 9, 9, 9})
	f.Fuzz(func(t *testing.T, data []byte) {
		b := NewBuilder(Config{Buses: []string{"a", "b"}, SwitchedLive: len(data)%2 == 0, HeatPump: len(data)%3 == 0, Runs: []Run{{ID: 1, From: start, To: start, Live: true, Sources: []string{"a"}}, {ID: 2, From: start, To: start, Live: true, Sources: []string{"a", "b"}}}})
		at := start
		points := decode.Points()
		for i := 0; i+3 < len(data); i += 4 {
			at = at.Add(time.Duration(int8(data[i])) * time.Second * 7) // backwards too
			p := points[int(data[i+1])%len(points)]
			src := []string{"a", "b", "c"}[data[i+2]%3]
			b.Record(src, uint32(1+data[i+2]%2), at, []string{"", "", "", "lost: x", "back"}[data[i+3]%5])
			v := float64(data[i+3])
			if p.Binary() {
				v = float64(data[i+3] & 1)
			}
			if p.Holds(v) {
				b.Reading(decode.Reading{Time: at, Series: decode.Series{Source: src, Point: p}, Value: v, Quality: decode.Quality(data[i] % 3)})
			}
		}
		for _, x := range b.Finish(start, at).Firings {
			if x.To.Before(x.From) {
				t.Fatalf("a firing ends before it begins: %+v", x)
			}
		}
	})
}

// What a reviewer once proved wrong: each case is a short life, and what must be said of it.
func TestLockoutsAcrossGaps(t *testing.T) {
	second := func(n int) time.Duration { return time.Duration(n) * time.Second }
	t.Run("gone when next seen after a long silence", func(t *testing.T) {
		b := NewBuilder(config(10 * time.Hour))
		for s := 0; s <= 60; s++ {
			feed(b, second(s), decode.Fault, 1)
		}
		feed(b, 8*time.Hour, decode.Fault, 0)
		l := b.Finish(start, start.Add(10*time.Hour)).Lockouts
		if len(l) != 1 || l[0].Duration() != time.Minute || l[0].Reset != ResetUnseen || !l[0].GoneBy.Equal(start.Add(8*time.Hour)) {
			t.Errorf("lockouts are %+v", l)
		}
	})
	t.Run("slow polling is no power cut", func(t *testing.T) {
		for _, step := range []time.Duration{time.Second, second(6), second(10), time.Minute} {
			b := NewBuilder(config(2 * time.Hour))
			for at := time.Duration(0); at <= 2*time.Hour; at += step {
				on := at >= time.Hour && at < time.Hour+2*time.Minute
				feed(b, at, decode.Fault, map[bool]float64{true: 1}[on])
				feed(b, at, decode.FaultFlags, map[bool]float64{true: 32}[on])
			}
			l := b.Finish(start, start.Add(2*time.Hour)).Lockouts
			if len(l) != 1 || l[0].Locked || l[0].Reset != ResetItself {
				t.Errorf("polled every %v: %+v", step, l)
			}
		}
	})
	t.Run("a permission that is always up is no lockout", func(t *testing.T) {
		b := NewBuilder(config(2 * time.Hour))
		for s := 0; s <= 7200; s++ {
			on := s >= 3600 && s < 3660
			feed(b, second(s), decode.Fault, map[bool]float64{true: 1}[on])
			feed(b, second(s), decode.FaultFlags, map[bool]float64{true: 34, false: 2}[on])
		}
		l := b.Finish(start, start.Add(2*time.Hour)).Lockouts
		if len(l) != 1 || l[0].Locked {
			t.Errorf("lockouts are %+v", l)
		}
	})
	t.Run("an attempt hours ago is not just before", func(t *testing.T) {
		b := NewBuilder(config(10 * time.Hour))
		for s := 0; s <= 36000; s++ {
			feed(b, second(s), decode.HeatDemand, map[bool]float64{true: 1}[s < 1200])
			feed(b, second(s), decode.Flame, map[bool]float64{true: 1}[s >= 600 && s < 604])
			feed(b, second(s), decode.Fault, map[bool]float64{true: 1}[s > 32000 && s < 32100])
		}
		l := b.Finish(start, start.Add(10*time.Hour)).Lockouts
		if len(l) != 1 || l[0].Cause != CauseUnknown || len(l[0].Preceding.Attempts) != 0 {
			t.Errorf("lockouts are %+v", l)
		}
	})
}

// Burns of seconds that bring the water to its set-point are the worst cycling, not failed attempts.
func TestBriefBurnsAtTheSetpointAreFirings(t *testing.T) {
	b := NewBuilder(config(time.Hour))
	for s := 0; s <= 3600; s++ {
		at := time.Duration(s) * time.Second
		feed(b, at, decode.HeatDemand, 1)
		feed(b, at, decode.FlowSetpoint, 60)
		lit := s%60 < 8 && s >= 60
		feed(b, at, decode.Flow, map[bool]float64{true: 45 + 2.5*float64(s%60), false: 45}[lit])
		feed(b, at, decode.Flame, map[bool]float64{true: 1}[lit])
	}
	if n := len(b.Finish(start, start.Add(time.Hour)).Firings); n < 59 {
		t.Errorf("%d firings", n)
	}
}

// A source that falls silent hands over to another that gives the same point.
func TestOwnershipPassesOn(t *testing.T) {
	b := NewBuilder(Config{})
	for s := 0; s <= 7200; s++ {
		src := "old"
		if s > 600 {
			src = "new"
		}
		at := start.Add(time.Duration(s) * time.Second)
		b.Reading(decode.Reading{Time: at, Series: decode.Series{Source: src, Point: decode.Flame}, Quality: decode.Good,
			Value: map[bool]float64{true: 1}[s%1200 >= 600 && s > 1200]})
	}
	if n := len(b.Finish(start, start.Add(2*time.Hour)).Firings); n != 5 {
		t.Errorf("%d firings, want 5", n)
	}
}

// A power-on value of a probe must not prove that a burner ran.
func TestDoubtfulValueProvesNothing(t *testing.T) {
	cfg := config(3 * time.Hour)
	cfg.SwitchedLive = true
	b := NewBuilder(cfg)
	for s := 0; s <= 10800; s++ {
		at := time.Duration(s) * time.Second
		if s < 3600 || s > 7200 {
			feed(b, at, decode.Flame, 0)
		}
		r := decode.Reading{Time: start.Add(at), Series: decode.Series{Source: "probes", Point: decode.Flow}, Value: 30, Quality: decode.Good}
		if s == 5000 {
			r.Value, r.Quality = 85, decode.Doubtful
		}
		b.Record("probes", 1, r.Time, "")
		b.Reading(r)
	}
	f := b.Finish(start, start.Add(3*time.Hour))
	if len(f.Silences) != 1 || f.Silences[0].Reason != SilenceNoMains {
		t.Errorf("silences are %+v", f.Silences)
	}
}

// Silence is judged by run: a bus that a run did not listen to was not silent in it, and a run in which nothing at all
// came was.
func TestSilenceByRun(t *testing.T) {
	hour := func(n int) time.Time { return start.Add(time.Duration(n) * time.Hour) }
	cfg := Config{Buses: []string{"boiler"}, Runs: []Run{
		{ID: 1, From: hour(0), To: hour(10), Live: true, Sources: []string{"probes"}},
		{ID: 2, From: hour(11), To: hour(13), Live: true, Sources: []string{"boiler", "probes"}},
		{ID: 3, From: hour(14), To: hour(24), Live: true, Sources: []string{"boiler", "probes"}}, // no record at all
		{ID: 4, From: hour(25), To: hour(26), Live: true, Sources: []string{"boiler", "probes"}},
	}}
	b := NewBuilder(cfg)
	for _, r := range cfg.Runs {
		if r.ID == 3 {
			continue
		}
		for at := r.From; !at.After(r.To); at = at.Add(10 * time.Second) {
			b.Record("probes", r.ID, at, "")
			if r.ID != 1 {
				b.Record("boiler", r.ID, at, "")
			}
		}
	}
	f := b.Finish(hour(0), hour(26))
	if len(f.Silences) != 1 || !f.Silences[0].From.Equal(hour(14)) || !f.Silences[0].To.Equal(hour(24)) {
		t.Errorf("silences are %+v", f.Silences)
	}
	if len(f.Gaps) != 3 {
		t.Errorf("gaps are %+v", f.Gaps)
	}
}

// Room units leave heating enabled all day and ask for 10 °C when no heat is wanted: the demand begins with the warm
// set-point, not with the bit.
func TestDemandWithTheBitAlwaysUp(t *testing.T) {
	for _, every := range []int{10, 60, 900} {
		b := NewBuilder(config(12 * time.Hour))
		for s := 0; s <= 12*3600; s += 5 {
			at := time.Duration(s) * time.Second
			if s%every == 0 {
				feed(b, at, decode.FlowSetpoint, map[bool]float64{true: 55, false: 10}[at >= 6*time.Hour && at < 9*time.Hour])
			}
			feed(b, at, decode.HeatDemand, 1)
		}
		d := b.Finish(start, start.Add(12*time.Hour)).Demands
		late := time.Duration(every+10) * time.Second
		if len(d) != 1 || d[0].From.Sub(start.Add(6*time.Hour)).Abs() > late || d[0].To.Sub(start.Add(9*time.Hour)).Abs() > late {
			t.Errorf("set-point every %d s: demands are %+v", every, d)
		}
	}
}

// What the flags said before the fault is of the time before; what failed just before it is not.
func TestFlagsAndAttemptsBeforeAFault(t *testing.T) {
	life := func(attempts, flagsAfter bool) Lockout {
		b := NewBuilder(config(2 * time.Hour))
		for s := 0; s <= 7200; s++ {
			at := time.Duration(s) * time.Second
			fault := s >= 3600 && s < 3625
			feed(b, at, decode.HeatDemand, map[bool]float64{true: 1}[s >= 3480])
			feed(b, at, decode.Flame, map[bool]float64{true: 1}[attempts && s >= 3500 && s < 3590 && s%30 < 4])
			feed(b, at, decode.Fault, map[bool]float64{true: 1}[fault])
			if s%60 == 59 && (s < 3600 || flagsAfter) || flagsAfter && s == 3610 {
				feed(b, at, decode.FaultFlags, 0)
			}
		}
		l := b.Finish(start, start.Add(2*time.Hour)).Lockouts
		if len(l) != 1 {
			t.Fatalf("lockouts are %+v", l)
		}
		return l[0]
	}
	if l := life(true, false); l.Flags != -1 || l.Cause != CauseIgnition || !l.Locked {
		t.Errorf("flags read before only: %+v", l)
	}
	if l := life(true, true); l.Cause != CauseIgnition {
		t.Errorf("attempts, and flags that name no cause: %+v", l)
	}
	if l := life(false, true); l.Cause != CauseUnknown || l.Locked {
		t.Errorf("no attempt, and flags that name no cause: %+v", l)
	}
}

// A burner may rest in a call for heat: a short fault in the rest is no failed ignition.
func TestFaultInARest(t *testing.T) {
	b := NewBuilder(config(2 * time.Hour))
	for s := 0; s <= 7200; s++ {
		at := time.Duration(s) * time.Second
		feed(b, at, decode.HeatDemand, 1)
		feed(b, at, decode.FlowSetpoint, 60)
		feed(b, at, decode.Flow, 59)
		feed(b, at, decode.Flame, map[bool]float64{true: 1}[s < 3000])
		feed(b, at, decode.Fault, map[bool]float64{true: 1}[s >= 3600 && s < 3720])
	}
	l := b.Finish(start, start.Add(2*time.Hour)).Lockouts
	if len(l) != 1 || l[0].Locked || l[0].Cause != CauseUnknown {
		t.Errorf("lockouts are %+v", l)
	}
}

// An adapter that delivers in bursts is not silent all day long; a hole much longer than its pauses is a silence.
func TestBurstsAreNoSilences(t *testing.T) {
	b := NewBuilder(config(12 * time.Hour))
	for s := 0; s <= 12*3600; s += 120 {
		if s > 6*3600 && s < 7*3600 {
			continue
		}
		for i := range 5 {
			feed(b, time.Duration(s+i)*time.Second, decode.Flame, 0)
		}
	}
	f := b.Finish(start, start.Add(12*time.Hour))
	if len(f.Silences) != 1 || f.Silences[0].Duration() < 50*time.Minute {
		t.Errorf("%d silences: %+v", len(f.Silences), f.Silences)
	}
}
