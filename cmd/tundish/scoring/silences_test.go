package scoring

import (
	"testing"
	"time"

	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

// A gap is how a stretch without a logger is told; a reason left open is neither right nor wrong; short ones are aside.
func TestSilenceScore(t *testing.T) {
	h := heard(Listening{Status: secs(2)}, nil, nil)
	at := func(n int) time.Time { return h.Scenario.Start.Add(secs(n)) }
	h.Truth.Silences = []house.Silence{
		{Span: house.Span{From: secs(600), To: secs(900)}, Reason: episode.SilenceAdapter},
		{Span: house.Span{From: secs(1500), To: secs(1560)}, Reason: episode.SilenceNoMains},
		{Span: house.Span{From: secs(2000), To: secs(2600)}, Reason: episode.SilenceLogger},
		{Span: house.Span{From: secs(3000), To: secs(3600)}, Reason: episode.SilenceNoMains},
		{Span: house.Span{From: secs(5000), To: secs(5600)}, Reason: episode.SilenceNoMains},
	}
	h.Facts.Silences = []episode.Silence{
		{Span: episode.Span{From: at(600), To: at(901)}, Reason: episode.SilenceAdapter},
		{Span: episode.Span{From: at(1500), To: at(1562)}, Reason: episode.SilenceUnexplained},
		{Span: episode.Span{From: at(3000), To: at(3604)}, Reason: episode.SilenceUnexplained},
		{Span: episode.Span{From: at(5000), To: at(5604)}, Reason: episode.SilenceAdapter},
		{Span: episode.Span{From: at(6000), To: at(6604)}, Reason: episode.SilenceNoMains},
	}
	h.Facts.Gaps = []episode.Span{{From: at(2000), To: at(2600)}}
	s := h.Silences()
	if s.Tally != (Tally{True: 4, Found: 5, Matched: 4, Aside: 1}) || s.Right != 2 || s.LeftOpen != 1 {
		t.Errorf("%+v", s)
	}
}

// An attempt of which nothing on the wires told is set aside: no flame, and no counter.
func TestAttemptScore(t *testing.T) {
	for _, c := range []struct {
		unsupported []uint8
		want        Tally
	}{{nil, Tally{True: 2, Found: 1, Matched: 1}}, {[]uint8{idFailedStarts}, Tally{True: 1, Found: 1, Matched: 1, Aside: 1}}} {
		h := heard(Listening{Status: secs(2)}, nil, nil)
		h.Scenario.Bus.Unsupported = c.unsupported
		h.Truth.Attempts = []house.Attempt{{At: secs(600), Next: house.ThenLit}, {At: secs(3000), Flame: secs(4), Next: house.ThenLit}}
		h.Facts.Attempts = []episode.Attempt{{At: h.Scenario.Start.Add(secs(3001)), Flame: secs(4), Then: episode.ThenLit}}
		if s := h.Attempts(); s.Tally != c.want || s.Right != 1 {
			t.Errorf("without %v: %+v, want %+v", c.unsupported, s, c.want)
		}
	}
}

// What was asked for while the mains had failed nobody could tell: one demand over the cut, told as two.
func TestDemandOverACut(t *testing.T) {
	h := heard(Listening{Status: secs(2)}, nil, nil)
	at := func(n int) time.Time { return h.Scenario.Start.Add(secs(n)) }
	h.Truth.Demands = []house.Span{{From: secs(600), To: secs(900)}, {From: secs(2000), To: secs(5000)}}
	for _, s := range [][2]int{{600, 901}, {2001, 2998}, {3604, 5001}} {
		h.Facts.Demands = append(h.Facts.Demands, episode.Demand{Span: episode.Span{From: at(s[0]), To: at(s[1])}})
	}
	if d := h.Demands(); d.Tally != (Tally{True: 2, Found: 3, Matched: 1}) {
		t.Errorf("with mains: %+v", d.Tally)
	}
	h.Scenario.Faults.Supply = []house.Window{{From: secs(3000), To: secs(3600)}}
	if d := h.Demands(); d.Tally != (Tally{True: 1, Found: 1, Matched: 1, Aside: 1}) {
		t.Errorf("%+v", d.Tally)
	}
}

// A compressor may be told as late as the modulation is asked for, a flame only as late as the status is.
func TestCompressorTolerance(t *testing.T) {
	for kind, matched := range map[house.SourceKind]int{house.ModulatingBoiler: 0, house.HeatPump: 1} {
		h := heard(Listening{Status: secs(2)}, spansOf(600, 900), spansOf(610, 910))
		h.Scenario.Boiler.Kind = kind
		if f := h.Firings(); f.Matched != matched {
			t.Errorf("kind %d: %+v", kind, f.Tally)
		}
	}
}
