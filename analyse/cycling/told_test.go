package cycling

import (
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// A probe on a pipe in which nothing moves sees one long hot "burn", flow and return far apart, whatever the burner
// does: such hours must not count as seen, and hours without any burn only where they are few.
func TestHiddenByStandingWater(t *testing.T) {
	start := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	span := func(from, to float64) episode.Span {
		h := float64(time.Hour)
		return episode.Span{From: start.Add(time.Duration(from * h)), To: start.Add(time.Duration(to * h))}
	}
	burn := func(from, to, settled, end float64) episode.Firing {
		return episode.Firing{Span: span(from, to), Basis: episode.ByShape, Use: episode.Heating, UseKnown: true, DeltaSeen: true, DeltaEnd: end,
			Settled: []episode.SettledDelta{{Source: "probes", Mean: settled}}}
	}
	const hours = 48.0
	for name, c := range map[string]struct {
		firings []episode.Firing
		stood   time.Duration
		seen    float64
	}{
		"sound":                           {[]episode.Firing{burn(1, 9, 18, 12), burn(20, 30, 17, 12), burn(40, 47, 19, 14)}, 0, 1},
		"stands, and moves again at last": {[]episode.Firing{burn(1, 9, 18, 12), burn(12, 36, 41, 15), burn(40, 47, 19, 14)}, 24 * time.Hour, 0.5},
		"stands at the end":               {[]episode.Firing{burn(1, 9, 18, 12), burn(20, 44, 26, 40)}, 24 * time.Hour, 0.5},
		"no burn for 30 h":                {[]episode.Firing{burn(1, 18, 18, 12)}, 0, 18 / hours},
		"a wide ΔT for hot water":         {[]episode.Firing{{Span: span(3, 20), Basis: episode.ByShape, Use: episode.HotWater, DeltaSeen: true, DeltaEnd: 40}, burn(25, 40, 18, 12)}, 0, 1},
		"told by the flame itself":        {[]episode.Firing{{Span: span(3, 40), Basis: episode.ByFlame, Use: episode.Heating, DeltaSeen: true, DeltaEnd: 40}}, 0, 1},
	} {
		t.Run(name, func(t *testing.T) {
			whole := span(0, hours)
			p := &analyse.Pass{Facts: &episode.Facts{From: whole.From, To: whole.To, Firings: c.firings,
				Sights: []episode.Sight{{Span: whole, Basis: episode.ByShape, Shortest: time.Minute}}}}
			if got, _ := stood(p); got != c.stood {
				t.Errorf("the water stood for %v, want %v", got, c.stood)
			}
			if got, worst := seenShare(p); got < c.seen-0.001 || got > c.seen+0.001 || c.seen < 1 && worst.Because == "" {
				t.Errorf("seen for %.3f of the time (%s), want %.3f", got, worst.Because, c.seen)
			}
		})
	}
}
