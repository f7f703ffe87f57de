package modbus

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tundish/capture"
)

func TestPlan(t *testing.T) {
	b := func(unit uint8, f Function, first uint16, count int) Block { return Block{unit, f, first, count} }
	tests := []struct {
		name         string
		wanted       []Block
		gap, longest int
		want         string
	}{
		{"side by side, any order", []Block{b(0, 4, 102, 2), b(0, 4, 100, 1), b(0, 4, 101, 1)}, 0, 0, "input 100-103"},
		{"one apart", []Block{b(0, 4, 0, 1), b(0, 4, 2, 1)}, 0, 0, "input 0-0, input 2-2"},
		{"one apart, gap of one", []Block{b(0, 4, 0, 1), b(0, 4, 2, 1)}, 1, 0, "input 0-2"},
		{"two tables, two devices", []Block{b(5, 3, 0, 1), b(0, 4, 0, 1), b(0, 3, 0, 1), b(0, 3, 1, 1)}, 9, 0, "holding 0-1, input 0-0, unit 5 holding 0-0"},
		{"a bit in a register twice", []Block{b(0, 3, 7, 1), b(0, 3, 7, 1)}, 0, 0, "holding 7-7"},
		{"one inside another", []Block{b(0, 3, 8, 1), b(0, 3, 7, 4), b(0, 3, 9, 2)}, 0, 4, "holding 7-10"},
		{"a value is not torn", []Block{b(0, 3, 0, 3), b(0, 3, 3, 2)}, 0, 4, "holding 0-2, holding 3-4"},
		{"the longest request", []Block{b(0, 3, 0, 124), b(0, 3, 124, 1), b(0, 3, 125, 1)}, 0, 0, "holding 0-124, holding 125-125"},
		{"the end of the addresses", []Block{b(0, 3, 65535, 1), b(0, 3, 65534, 1)}, 5, 0, "holding 65534-65535"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []string
			for _, p := range Plan(tt.wanted, tt.gap, tt.longest) {
				got = append(got, p.Channel())
			}
			if s := strings.Join(got, ", "); s != tt.want {
				t.Errorf("%s, want %s", s, tt.want)
			}
		})
	}
}

// Whatever is wanted is asked for whole, once, in requests that a device may answer.
func TestPlanHoldsAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wanted := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Block {
			return Block{uint8(rapid.IntRange(0, 2).Draw(t, "unit")), Function(rapid.IntRange(3, 4).Draw(t, "function")),
				uint16(rapid.IntRange(0, 300).Draw(t, "first")), []int{1, 2, 4}[rapid.IntRange(0, 2).Draw(t, "words")]}
		}), 1, 40).Draw(t, "wanted")
		plan := Plan(wanted, rapid.IntRange(0, 20).Draw(t, "gap"), rapid.IntRange(4, 125).Draw(t, "longest"))
		for _, w := range wanted {
			if !slices.ContainsFunc(plan, func(p Block) bool {
				return p.Unit == w.Unit && p.Function == w.Function && p.First <= w.First && p.Last() >= w.Last()
			}) {
				t.Fatalf("%s is in none of %v", w.Channel(), plan)
			}
		}
		if len(plan) > len(wanted) {
			t.Fatalf("%d requests for %d values", len(plan), len(wanted))
		}
		for _, p := range plan {
			if err := p.check(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// TestRefused: what would send anything but a request to read registers is no source.
func TestRefused(t *testing.T) {
	sound := Block{Function: ReadHolding, Count: 1}
	for name, cfg := range map[string]Config{
		"function 6":     {Host: "192.0.2.7:502", Blocks: []Block{{Function: 6, Count: 1}}},
		"function 2":     {Host: "192.0.2.7:502", Blocks: []Block{{Function: 2, Count: 1}}},
		"no registers":   {Host: "192.0.2.7:502", Blocks: []Block{{Function: ReadInput}}},
		"126 registers":  {Host: "192.0.2.7:502", Blocks: []Block{{Function: ReadInput, Count: 126}}},
		"past the end":   {Host: "192.0.2.7:502", Blocks: []Block{{Function: ReadInput, First: 65535, Count: 2}}},
		"nothing":        {Host: "192.0.2.7:502"},
		"no device":      {Blocks: []Block{sound}},
		"two devices":    {Host: "192.0.2.7:502", Port: "/dev/x", Blocks: []Block{sound}},
		"no such parity": {Port: "/dev/x", Parity: "mark", Blocks: []Block{sound}},
	} {
		if _, err := New(cfg, capture.StartClock()); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
