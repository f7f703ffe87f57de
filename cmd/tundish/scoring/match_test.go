package scoring

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

func secs(n int) time.Duration { return time.Duration(n) * time.Second }

// spansOf reads pairs of seconds.
func spansOf(at ...int) (out []span) {
	for i := 0; i < len(at); i += 2 {
		out = append(out, span{secs(at[i]), secs(at[i+1])})
	}
	return out
}

func TestSpanPairs(t *testing.T) {
	for _, c := range []struct {
		name          string
		really, found []span
		want          []int
	}{
		{"the same", spansOf(10, 70, 100, 160), spansOf(10, 70, 100, 160), []int{0, 1}},
		{"late by the tolerance", spansOf(10, 70), spansOf(15, 75), []int{0}},
		{"start late by more", spansOf(10, 70), spansOf(16, 70), []int{-1}},
		{"stop early by more", spansOf(10, 70), spansOf(10, 64), []int{-1}},
		{"two run together", spansOf(10, 70, 80, 140), spansOf(10, 140), []int{-1, -1}},
		{"one cut in two", spansOf(10, 140), spansOf(10, 70, 80, 140), []int{-1}},
		{"one too many before", spansOf(100, 160), spansOf(10, 70, 100, 160), []int{1}},
		{"one missing", spansOf(10, 70, 100, 160, 200, 260), spansOf(10, 70, 200, 260), []int{0, -1, 1}},
		{"edges agree, but they do not touch", spansOf(10, 12), spansOf(13, 15), []int{-1}},
		{"one found fits two", spansOf(10, 12, 13, 15), spansOf(11, 14), []int{0, -1}},
		{"none found", spansOf(10, 70), nil, []int{-1}},
		{"none there", nil, spansOf(10, 70), []int{}},
	} {
		if got := spanPairs(c.really, c.found, secs(5)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// No other way of pairing finds more: held against all ways, on short records.
func TestSpanPairsAreTheMost(t *testing.T) {
	record := rapid.Custom(func(t *rapid.T) (out []span) {
		at := 0
		for range rapid.IntRange(0, 6).Draw(t, "n") {
			from := at + rapid.IntRange(0, 9).Draw(t, "pause")
			at = from + rapid.IntRange(1, 9).Draw(t, "length")
			out = append(out, span{secs(from), secs(at)})
			at++
		}
		return out
	})
	rapid.Check(t, func(t *rapid.T) {
		really, found := record.Draw(t, "true"), record.Draw(t, "found")
		tolerance := secs(rapid.IntRange(0, 8).Draw(t, "tolerance"))
		var most func(i int, used []bool) int
		most = func(i int, used []bool) int {
			if i == len(really) {
				return 0
			}
			best := most(i+1, used)
			for j := range found {
				if !used[j] && really[i].within(found[j], tolerance) {
					used[j] = true
					best = max(best, 1+most(i+1, used))
					used[j] = false
				}
			}
			return best
		}
		got := 0
		for _, j := range spanPairs(really, found, tolerance) {
			if j >= 0 {
				got++
			}
		}
		if want := most(0, make([]bool, len(found))); got != want {
			t.Fatalf("%d pairs of %v and %v within %v, %d are possible", got, really, found, tolerance, want)
		}
	})
}

func TestByOverlap(t *testing.T) {
	for _, c := range []struct {
		name          string
		really, found []span
		want          []int
	}{
		{"far beyond any tolerance", spansOf(0, 600), spansOf(200, 900), []int{0}},
		{"run together: the longer one", spansOf(0, 100, 110, 400), spansOf(0, 400), []int{-1, 0}},
		{"cut in two: the longer part", spansOf(0, 400), spansOf(0, 100, 110, 400), []int{1}},
		{"touching only", spansOf(0, 100), spansOf(100, 200), []int{-1}},
	} {
		if got := byOverlap(c.really, c.found); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// 20 errors: 1 … 19 s late and one 40 s early. By nearest rank the median of the sizes is the 10th, the 95th percentile
// the 19th; the mean is (190 − 40)/20.
func TestEdges(t *testing.T) {
	var e Edges
	for i := range 19 {
		e.Note(secs(i+1), 0)
	}
	e.Note(0, secs(40))
	if e.Median() != 10 || e.P95() != 19 || e.Bias() != 7.5 {
		t.Errorf("median %v, 95th percentile %v, bias %v; want 10, 19, 7.5", e.Median(), e.P95(), e.Bias())
	}
	if none := (Edges{}); !math.IsNaN(none.Median()) || !math.IsNaN(none.Bias()) {
		t.Error("no edge has no error")
	}
}

// 8 of 10 found ones are true, 8 of 16 true ones found: precision 0.8, recall 0.5, F1 = 2·0.8·0.5/1.3.
func TestTally(t *testing.T) {
	c := Tally{True: 16, Found: 10, Matched: 8}
	if c.Precision() != 0.8 || c.Recall() != 0.5 || math.Abs(c.F1()-0.8/1.3) > 1e-12 || c.CountError() != -0.375 {
		t.Errorf("%v, %v, %v, %v", c.Precision(), c.Recall(), c.F1(), c.CountError())
	}
}

// heard is a record of two hours, by hand, at 5 s between looks.
func heard(l Listening, really, found []span) *Heard {
	h := &Heard{Listening: l, Scenario: house.Scenario{Start: time.Date(2026, 1, 13, 0, 0, 0, 0, time.UTC)}, Facts: &episode.Facts{}}
	h.Truth.Ended = 2 * time.Hour
	for _, s := range really {
		h.Truth.Firings = append(h.Truth.Firings, house.Firing{Span: house.Span{From: s.from, To: s.to}, Use: episode.Heating, End: episode.EndDemand})
	}
	at := func(d time.Duration) time.Time { return h.Scenario.Start.Add(d) }
	for _, s := range found {
		h.Facts.Firings = append(h.Facts.Firings, episode.Firing{Span: episode.Span{From: at(s.from), To: at(s.to)}, Use: episode.Heating})
	}
	return h
}

func TestSetAside(t *testing.T) {
	bus, probes := Listening{Status: secs(5)}, Listening{Sweep: secs(5), Tau: secs(20)}
	for _, c := range []struct {
		name          string
		with          Listening
		really, found []span
		change        func(*Heard)
		want          Tally
	}{
		{"all well", bus, spansOf(600, 900), spansOf(603, 902), nil, Tally{True: 1, Found: 1, Matched: 1}},
		{"nothing true found", bus, spansOf(600, 900), spansOf(1600, 1900), nil, Tally{True: 1, Found: 1}},
		{"cut by the record's start, found as far as it could be", bus, spansOf(30, 900), spansOf(0, 900), nil, Tally{Aside: 1}},
		{"cut by the record's end, not found", bus, spansOf(7000, 7190), nil, nil, Tally{Aside: 1}},
		{"a false one at the record's end", bus, nil, spansOf(7100, 7180), nil, Tally{}},
		{"a false one well inside", bus, nil, spansOf(6000, 6180), nil, Tally{Found: 1}},
		{"over a dead adapter, told as two", bus, spansOf(600, 2000), spansOf(600, 995, 1505, 2000),
			func(h *Heard) {
				h.Scenario.Faults.Adapter = []house.AdapterFault{{Window: house.Window{From: secs(1000), To: secs(1500)}}}
			},
			Tally{Aside: 1}},
		{"a dead adapter is nothing to probes", probes, spansOf(600, 2000), spansOf(605, 2005),
			func(h *Heard) {
				h.Scenario.Faults.Adapter = []house.AdapterFault{{Window: house.Window{From: secs(1000), To: secs(1500)}}}
			},
			Tally{True: 1, Found: 1, Matched: 1}},
		{"no logger", probes, spansOf(600, 2000), nil,
			func(h *Heard) { h.Scenario.Faults.LoggerOff = []house.Window{{From: secs(1000), To: secs(1500)}} }, Tally{Aside: 1}},
		{"water that never passes the pipes", probes, spansOf(600, 900, 2000, 2300), spansOf(2000, 2300),
			func(h *Heard) {
				h.Scenario.HotWater.Kind = house.Instantaneous
				h.Truth.Draws = []house.Span{{From: secs(590), To: secs(900)}}
			}, Tally{True: 1, Found: 1, Matched: 1, Aside: 1}},
		{"the bus is told of it", bus, spansOf(600, 900), nil,
			func(h *Heard) {
				h.Scenario.HotWater.Kind = house.Instantaneous
				h.Truth.Draws = []house.Span{{From: secs(590), To: secs(900)}}
			}, Tally{True: 1}},
	} {
		h := heard(c.with, c.really, c.found)
		if c.change != nil {
			c.change(h)
		}
		if got := h.Firings().Tally; got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// Five burns: a long one, two that lie so close together that they count as one, one too short to be told, and one
// whose time was not told sharply.
func TestScoreAtTheStatedResolution(t *testing.T) {
	h := heard(Listening{Sweep: secs(5), Tau: secs(20)},
		spansOf(600, 900, 2000, 2200, 2240, 2400, 2600, 2630, 3000, 3300),
		spansOf(605, 905, 2000, 2400, 3060, 3400))
	if f := h.Firings(); f.Told.True != 0 || f.Told.Recall() == f.Told.Recall() {
		t.Errorf("without sight: %+v", f.Told)
	}
	h.Facts.Sights = []episode.Sight{{Span: episode.Span{From: h.Scenario.Start, To: h.Scenario.Start.Add(time.Hour)},
		Basis: episode.ByShape, Shortest: secs(60)}}
	for _, c := range []struct {
		name  string
		rough bool
		want  Resolved
	}{
		{"the last one sharp, and wrong", false, Resolved{True: 3, Found: 3, Matched: 2, Right: 2}},
		{"the last one rough", true, Resolved{True: 3, Found: 3, Matched: 3, Right: 3, Rough: 1}},
	} {
		h.Facts.Firings[2].Rough = c.rough
		f := h.Firings()
		if f.Told != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, f.Told, c.want)
		}
		if want := (Tally{True: 5, Found: 3, Matched: 1}); f.Tally != want {
			t.Errorf("%s: as it was %+v, want %+v", c.name, f.Tally, want)
		}
	}
	h.Facts.Sights[0].Basis = ""
	if f := h.Firings(); f.Told.True != 0 || f.Told.Found != 3 || f.Told.Right != 2 { // the rough one is right by overlap, the first as it was
		t.Errorf("in a stretch without sight: %+v", f.Told)
	}
}

func TestLockoutScore(t *testing.T) {
	h := heard(Listening{Status: secs(2)}, nil, nil)
	at := func(n int) time.Time { return h.Scenario.Start.Add(secs(n)) }
	h.Truth.Lockouts = []house.Lockout{
		{Span: house.Span{From: secs(600), To: secs(1200)}, Cause: "ignition", Reset: episode.ResetByHand},
		{Span: house.Span{From: secs(2000), To: secs(2600)}, Cause: "sensor", Reset: episode.ResetPower},
		{Span: house.Span{From: secs(5000), To: secs(7200), Open: true}, Cause: "flame-loss"},
	}
	h.Facts.Lockouts = []episode.Lockout{
		{Span: episode.Span{From: at(602), To: at(1203)}, Locked: true, Cause: "ignition", Reset: episode.ResetByHand},
		{Span: episode.Span{From: at(2001), To: at(2601)}, Locked: true, Cause: "unknown", Reset: episode.ResetByHand},
		{Span: episode.Span{From: at(4000), To: at(4100)}, Locked: false, Cause: "overheat"},
		{Span: episode.Span{From: at(5001), To: at(7199), Open: true}, Locked: true, Cause: "flame-loss"},
	}
	l := h.Lockouts()
	if l.Tally != (Tally{True: 3, Found: 3, Matched: 3}) || l.Cause != 2 || l.Ended != 2 || l.ResetRight != 1 {
		t.Errorf("%+v", l)
	}
}

// An overrun matches by its beginning; its end is a matter of error, and of none where it is left open.
func TestOverrunScore(t *testing.T) {
	h := heard(Listening{Status: secs(2)}, nil, nil)
	at := func(n int) time.Time { return h.Scenario.Start.Add(secs(n)) }
	h.Truth.Overruns = []house.Overrun{
		{Span: house.Span{From: secs(600), To: secs(780)}, After: episode.Heating},
		{Span: house.Span{From: secs(2000), To: secs(2060)}, After: episode.HotWater},
	}
	h.Facts.Overruns = []episode.Overrun{
		{Span: episode.Span{From: at(602), To: at(700)}, After: episode.Heating},
		{Span: episode.Span{From: at(2030), To: at(2060)}, After: episode.HotWater},
	}
	o := h.Overruns()
	if o.Tally != (Tally{True: 2, Found: 2, Matched: 1}) || o.Right != 1 || o.Start.P95() != 30 || o.Stop.Bias() != -80 {
		t.Errorf("%+v", o)
	}
	h.Facts.Overruns[0].Open = true
	if o = h.Overruns(); o.Matched != 1 || o.Stop.String() != none {
		t.Errorf("left open: %+v", o)
	}
}
