package episode

import (
	"testing"
	"time"
)

// A run that the appliance told and flow and return saw to its end is one, told by what the appliance tells by.
func TestJoinedPiecesKeepTheirBasis(t *testing.T) {
	at := func(m int) time.Time { return time.Date(2026, 1, 12, 0, m, 0, 0, time.UTC) }
	for _, basis := range []Basis{ByFlame, ByOutput} {
		b := NewBuilder(Config{HeatPump: basis == ByOutput})
		b.firings = []Firing{
			{Span: Span{From: at(0), To: at(10), Open: true}, Basis: basis, FlowMax: 40},
			{Span: Span{From: at(10), To: at(25), Cut: true}, Basis: ByShape, FlowMax: 42},
		}
		b.joinPieces()
		if len(b.firings) != 1 {
			t.Fatalf("%s: %+v", basis, b.firings)
		}
		f := b.firings[0]
		if f.Basis != basis || !f.Rough || !f.From.Equal(at(0)) || !f.To.Equal(at(25)) || f.Open || f.FlowMax != 42 {
			t.Errorf("%s: %+v", basis, f)
		}
	}
}

// Two burns a few minutes apart are one reheat, one an hour later is another.
func TestReheatRestsOfTheBurner(t *testing.T) {
	b := NewBuilder(Config{Draws: Reheat})
	for _, n := range []int{0, 2} {
		b.firings = append(b.firings, ended(n, 74, 6))
	}
	again := ended(0, 74, 6)
	again.From, again.To = again.From.Add(25*time.Minute), again.To.Add(25*time.Minute)
	b.firings = []Firing{b.firings[0], again, b.firings[1]}
	for i := range b.firings {
		b.firings[i].Use, b.firings[i].UseKnown = HotWater, true
	}
	d := b.draws()
	if len(d) != 2 || d[0].Duration() != 45*time.Minute || d[1].Duration() != 20*time.Minute || d[0].Basis != ByShape || d[0].Kind != Reheat {
		t.Errorf("draws are %+v", d)
	}
}
