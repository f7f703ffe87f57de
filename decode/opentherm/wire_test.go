package opentherm

import (
	"encoding/binary"
	"errors"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The frame 80190000 on the wire, ideal edge times in µs: worked out from OpenTherm Protocol Specification v2.2, 3.4
// and 4.2, apart from this program.
var wire80190000 = []int{0, 500, 1000, 1500, 2500, 3000, 3500, 4000, 4500, 5000, 5500, 6000, 6500, 7000,
	7500, 8000, 8500, 9000, 9500, 10000, 10500, 11000, 11500, 12500, 13000, 13500, 14500, 15000, 15500, 16500, 17500, 18000, 18500, 19000, 19500,
	20000, 20500, 21000, 21500, 22000, 22500, 23000, 23500, 24000, 24500, 25000, 25500, 26000, 26500, 27000, 27500, 28000, 28500, 29000, 29500,
	30000, 30500, 31000, 31500, 32000, 32500, 33500}

func micros(us []int) []time.Duration {
	out := make([]time.Duration, len(us))
	for i, u := range us {
		out[i] = time.Duration(u) * time.Microsecond
	}
	return out
}

func TestWireExample(t *testing.T) {
	want := micros(wire80190000)
	if got := Frame(0x80190000).Edges(); !slices.Equal(got, want) {
		t.Errorf("edges are %v, want %v", got, want)
	}
	f, err := FromEdges(want)
	if err != nil || f != 0x80190000 {
		t.Errorf("read back as %v, %v", f, err)
	}
}

// A frame read from its own edges is the frame, also with each bit 10 % short or 15 % long and the edges between bits
// anywhere: the specification bounds only middle to middle.
func TestWireRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := Frame(rapid.Uint32().Draw(rt, "frame"))
		ideal := f.Edges()
		edges := []time.Duration{0, HalfBit}
		at := HalfBit // the middle under way
		for i := 2; i < len(ideal); i++ {
			if (ideal[i]-HalfBit)%(2*HalfBit) != 0 { // between two bits
				edges = append(edges, at+time.Duration(rapid.IntRange(100, 800).Draw(rt, "between"))*time.Microsecond)
				continue
			}
			at += time.Duration(rapid.IntRange(900, 1150).Draw(rt, "bit")) * time.Microsecond
			edges = append(edges, at)
		}
		got, err := FromEdges(edges)
		if err != nil || got != f {
			rt.Fatalf("%v came back as %v, %v", f, got, err)
		}
	})
}

func TestWireRejects(t *testing.T) {
	good := micros(wire80190000)
	change := func(do func([]time.Duration) []time.Duration) []time.Duration { return do(slices.Clone(good)) }
	for _, c := range []struct {
		name  string
		edges []time.Duration
		want  error
	}{
		{"nothing", nil, ErrShort},
		{"cut short", good[:40], ErrShort},
		{"a middle missing", change(func(e []time.Duration) []time.Duration { return slices.Delete(e, 4, 5) }), ErrTiming},
		{"16 % late", change(func(e []time.Duration) []time.Duration {
			for i := 4; i < len(e); i++ {
				e[i] += 160 * time.Microsecond
			}
			return e
		}), ErrTiming},
		{"two edges between", change(func(e []time.Duration) []time.Duration {
			return slices.Insert(e, 3, e[2]+150*time.Microsecond, e[2]+300*time.Microsecond)
		}), ErrTiming},
		{"time runs back", change(func(e []time.Duration) []time.Duration { e[10] = 0; return e }), ErrTiming},
	} {
		if _, err := FromEdges(c.edges); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

func FuzzFromEdges(f *testing.F) {
	var seed []byte
	for _, us := range wire80190000 {
		seed = binary.LittleEndian.AppendUint16(seed, uint16(us))
	}
	f.Add(seed)
	f.Fuzz(func(t *testing.T, b []byte) {
		var edges []time.Duration
		for ; len(b) >= 2; b = b[2:] {
			edges = append(edges, time.Duration(binary.LittleEndian.Uint16(b))*time.Microsecond)
		}
		if got, err := FromEdges(edges); err == nil && got.Edges()[0] != 0 {
			t.Errorf("%v has no first edge", got)
		}
	})
}
