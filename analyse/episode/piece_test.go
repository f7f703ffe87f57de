package episode

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tundish/decode"
)

// byPieces analyses readings by days, each from a cold start, and puts the days together. The order in which the days
// are worked on does not matter, so it goes backwards.
func byPieces(cfg Config, readings []decode.Reading, from, to time.Time) *Facts {
	var parts []*Part
	var days []Piece
	for p := cfg.Day(from); !p.From.After(to); p = p.Next(cfg.Zone) {
		days = append(days, p)
	}
	for i := len(days) - 1; i >= 0; i-- {
		p := days[i]
		b := NewPiece(cfg, p)
		for _, r := range readings {
			if !r.Time.Before(p.Begins()) && r.Time.Before(p.Ends()) {
				b.Record(r.Series.Source, 1, r.Time, "")
				b.Reading(r)
			}
		}
		parts = append([]*Part{b.Part(earlier(p.Ends(), to))}, parts...)
	}
	return Join(cfg, parts, from, to)
}

func inOneGo(cfg Config, readings []decode.Reading, from, to time.Time) *Facts {
	b := NewBuilder(cfg)
	for _, r := range readings {
		b.Record(r.Series.Source, 1, r.Time, "")
		b.Reading(r)
	}
	return b.Finish(from, to)
}

// drawnHome is a bus over some days: a boiler that is asked for heat now and then, lights, goes out, makes hot water, is
// locked out, and falls silent.
func drawnHome(rt *rapid.T, from time.Time, length time.Duration) []decode.Reading {
	var out []decode.Reading
	step := time.Duration(rapid.SampledFrom([]int{30, 60}).Draw(rt, "step")) * time.Second
	minutes := func(name string, least, most int) time.Duration {
		return time.Duration(rapid.IntRange(least*6, most*6).Draw(rt, name)) * 10 * time.Second
	}
	tell := func(t time.Time, p decode.Point, v float64) {
		out = append(out, decode.Reading{Time: t, Series: decode.Series{Source: "boiler", Point: p}, Value: v, Quality: decode.Good})
	}
	one := func(on bool) float64 {
		if on {
			return 1
		}
		return 0
	}
	flow := 30.0
	for at := time.Duration(0); at < length; {
		kind := rapid.SampledFrom([]string{"rest", "heat", "heat", "heat", "idle", "water", "lockout", "silence"}).Draw(rt, "what")
		most := 90
		if kind == "rest" || kind == "idle" || kind == "heat" && rapid.IntRange(0, 9).Draw(rt, "long") == 0 {
			most = 300
		}
		least := 2
		if kind == "silence" {
			least = 11 // a shorter one may be a supply turned off and on, or a habit of the bus, which needs days to be known
		}
		for end := min(at+minutes("for", least, most), length); at < end; at += step {
			t := from.Add(at)
			heat, water, locked := kind == "heat" || kind == "lockout" || kind == "idle", kind == "water", kind == "lockout"
			lit := kind == "heat" || water
			if lit {
				flow = min(flow+0.5, 62)
			} else {
				flow = max(flow-0.2, 25)
			}
			if kind == "silence" {
				continue
			}
			tell(t, decode.Fault, one(locked))
			tell(t, decode.Flame, one(lit))
			tell(t, decode.HotWaterActive, one(water))
			tell(t, decode.HeatDemand, one(heat))
			tell(t, decode.FlowSetpoint, 60)
			tell(t, decode.Flow, flow)
			tell(t, decode.Return, flow-5)
			tell(t, decode.Modulation, 40)
		}
	}
	return out
}

// A record read by days, each from a cold start, tells the same firings, demands, draws, lockouts, silences and sums as
// one read in one go.
func TestPiecesTellTheSame(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		from := time.Date(2026, 3, 28, rapid.IntRange(0, 23).Draw(rt, "hour"), 0, 0, 0, time.UTC) // the clocks go forward on the 29th
		length := time.Duration(rapid.IntRange(26, 44).Draw(rt, "hours")) * time.Hour
		zone, err := time.LoadLocation("Europe/London")
		if err != nil {
			rt.Skip(err)
		}
		to := from.Add(length)
		cfg := Config{Runs: []Run{{ID: 1, From: from, To: to, Live: true, Sources: []string{"boiler"}}}, Buses: []string{"boiler"},
			HotWaterMade: true, Draws: Reheat, Zone: zone}
		readings := drawnHome(rt, from, length)
		whole, parts := inOneGo(cfg, readings, from, to), byPieces(cfg, readings, from, to)
		// A firing that goes on for longer than its day's tail is put together from two looks at it: its means may differ
		// by half a per cent.
		near := cmp.Options{cmp.Comparer(func(a, b float64) bool { return max(a, b)-min(a, b) <= 0.005*max(a, b, 1) }),
			cmp.Comparer(func(a, b time.Duration) bool { return (a - b).Abs() <= max(a, b)/200 })}
		for _, x := range []struct {
			name string
			a, b any
		}{{"firings", whole.Firings, parts.Firings}, {"demands", whole.Demands, parts.Demands}, {"draws", whole.Draws, parts.Draws},
			{"lockouts", whole.Lockouts, parts.Lockouts}, {"silences", whole.Silences, parts.Silences}, {"gaps", whole.Gaps, parts.Gaps},
			{"overruns", whole.Overruns, parts.Overruns}, {"attempts", whole.Attempts, parts.Attempts}} {
			if d := cmp.Diff(x.a, x.b, near); d != "" {
				rt.Fatalf("%s (-whole +pieces):\n%s", x.name, d)
			}
		}
		if a, b := unmetSum(whole), unmetSum(parts); a != b {
			rt.Fatalf("unmet demand: %v in one go, %v by days\n%s\n%s", a, b, unmetList(whole), unmetList(parts))
		}
		if len(whole.Days) != len(parts.Days) {
			rt.Fatalf("%d days in one go, %d by days", len(whole.Days), len(parts.Days))
		}
		for i, d := range whole.Days {
			if p := parts.Days[i]; !d.From.Equal(p.From) || !d.To.Equal(p.To) {
				rt.Fatalf("day %d is %v to %v in one go, %v to %v by days", i, d.From, d.To, p.From, p.To)
			}
			if d := cmp.Diff(d.Heat.Burner, parts.Days[i].Heat.Burner, near); d != "" {
				rt.Fatalf("day %d (-whole +pieces):\n%s", i, d)
			}
		}
	})
}

func unmetSum(f *Facts) (sum time.Duration) {
	for _, u := range f.Unmet {
		sum += u.Asked
	}
	return sum
}

func unmetList(f *Facts) (list string) {
	for _, u := range f.Unmet {
		list += fmt.Sprintf("%s from %s to %s, %v asked; ", u.Kind, u.From.Format(time.DateTime), u.To.Format(time.DateTime), u.Asked)
	}
	return list
}

// A day that follows changes nothing of the days before it, but for what goes on into it.
func TestADayAddedChangesNothingBefore(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		from := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
		readings := drawnHome(rt, from, 48*time.Hour)
		facts := func(to time.Time) *Facts {
			cfg := Config{Runs: []Run{{ID: 1, From: from, To: to, Live: true, Sources: []string{"boiler"}}}, Buses: []string{"boiler"}, HotWaterMade: true}
			var own []decode.Reading
			for _, r := range readings {
				if r.Time.Before(to) {
					own = append(own, r)
				}
			}
			return byPieces(cfg, own, from, to)
		}
		short, long := facts(from.Add(24*time.Hour)), facts(from.Add(48*time.Hour))
		told := func(f Firing) string {
			return fmt.Sprint(f.Span, f.Use, f.End, f.MeanModulation, f.FlowEnd, f.Settled)
		}
		for i, f := range short.Firings {
			if f.To.Before(from.Add(23*time.Hour)) && told(f) != told(long.Firings[i]) {
				rt.Fatalf("firing %d was %+v, and is %+v with a day more", i, f, long.Firings[i])
			}
		}
	})
}

// What lasts for days is one: a burn of 50 hours, and a fault of 60.
func TestWhatLastsForDaysIsOne(t *testing.T) {
	from := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		point decode.Point
		hours int
	}{{decode.Flame, 50}, {decode.Fault, 60}} {
		to := from.Add(96 * time.Hour)
		cfg := Config{Runs: []Run{{ID: 1, From: from, To: to, Live: true, Sources: []string{"boiler"}}}, Buses: []string{"boiler"}}
		var readings []decode.Reading
		for at := from; at.Before(to); at = at.Add(10 * time.Second) {
			on := 0.0
			if in := at.Sub(from); in >= 10*time.Hour && in < time.Duration(10+c.hours)*time.Hour {
				on = 1
			}
			for _, p := range []decode.Point{decode.Flame, decode.Fault, decode.Modulation} {
				v := 0.0
				switch {
				case p == c.point:
					v = on
				case p == decode.Modulation: // 20 % on the first day, 60 % after it
					if v = 20; at.Sub(from) >= 24*time.Hour {
						v = 60
					}
				}
				readings = append(readings, decode.Reading{Time: at, Series: decode.Series{Source: "boiler", Point: p}, Value: v, Quality: decode.Good})
			}
		}
		f := byPieces(cfg, readings, from, to)
		var spans []Span
		for _, x := range f.Firings {
			spans = append(spans, x.Span)
		}
		for _, x := range f.Lockouts {
			spans = append(spans, x.Span)
		}
		want := Span{From: from.Add(10 * time.Hour), To: from.Add(time.Duration(10+c.hours) * time.Hour)}
		if len(spans) != 1 || spans[0] != want {
			t.Errorf("%v: %v, want %v", c.point, spans, want)
		}
		if c.point == decode.Flame { // by hand: 14 h at 20 %, 36 h at 60 %
			if got, want := f.Firings[0].MeanModulation, (14*20+36*60)/50.0; got < want-0.1 || got > want+0.1 {
				t.Errorf("mean modulation is %.1f %%, want %.1f", got, want)
			}
		}
	}
}

// A reheat that goes on over midnight is one, in the day in which it ends, as in one pass over both days.
func TestReheatOverMidnight(t *testing.T) {
	from := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	to := from.Add(48 * time.Hour)
	cfg := Config{Runs: []Run{{ID: 1, From: from, To: to, Live: true, Sources: []string{"boiler"}}}, Buses: []string{"boiler"}, HotWaterMade: true, Draws: Reheat}
	var readings []decode.Reading
	store := 45.0
	for at := from; at.Before(to); at = at.Add(10 * time.Second) {
		on := 0.0
		if in := at.Sub(from); in >= 23*time.Hour+30*time.Minute && in < 24*time.Hour+40*time.Minute {
			on = 1
			store += 15.0 / 420
		}
		for _, x := range []struct {
			p decode.Point
			v float64
		}{{decode.Flame, on}, {decode.HotWaterActive, on}, {decode.Cylinder, store}, {decode.Flow, 30 + 45*on}, {decode.Return, 30 + 30*on}} {
			readings = append(readings, decode.Reading{Time: at, Series: decode.Series{Source: "boiler", Point: x.p}, Value: x.v, Quality: decode.Good})
		}
	}
	count := func(f *Facts) (days []int) {
		for _, d := range f.Days {
			n := 0
			for _, s := range d.Cylinder.Sources {
				n += len(s.Reheats)
			}
			days = append(days, n)
		}
		return days
	}
	whole, pieces := count(inOneGo(cfg, readings, from, to)), count(byPieces(cfg, readings, from, to))
	if fmt.Sprint(whole) != fmt.Sprint(pieces) || fmt.Sprint(whole) != "[0 1]" {
		t.Errorf("reheats by day: %v in one pass, %v by pieces, want [0 1]", whole, pieces)
	}
}
