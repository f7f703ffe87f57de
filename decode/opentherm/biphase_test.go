package opentherm

import (
	"encoding/binary"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// shape draws the changes of a frame in µs from its first one: next gives each time from middle to middle, between the
// place of a change between two bits that are alike, as a share of that time.
func shape(f Frame, half uint64, next func() uint64, between func(uint64) uint64) []uint64 {
	out := []uint64{0, half}
	middle := half
	for i := 1; i < WireBits; i++ {
		d := next()
		if f.wireBit(i) == f.wireBit(i-1) {
			out = append(out, middle+between(d))
		}
		middle += d
		out = append(out, middle)
	}
	return out
}

func steady() uint64          { return 1000 }
func halfway(d uint64) uint64 { return d / 2 }
func ideal(f Frame) []uint64  { return shape(f, 500, steady, halfway) }
func idealUS(f Frame) (t []uint64) { // by the other way of making them
	for _, e := range f.Edges() {
		t = append(t, uint64(e/time.Microsecond))
	}
	return t
}

// read gives the frames that a wire reads from changes. Levels alternate from the first one where they are given.
func read(w *wire, from uint64, levels bool, changes []uint64) (frames []Frame) {
	lv := noLevel
	for i, at := range changes {
		if levels {
			lv = lowLevel + level(i%2)
		}
		if e := w.change(from+at, lv, false); e.whole {
			frames = append(frames, e.frame)
		}
	}
	return frames
}

func TestWireStreams(t *testing.T) {
	for _, f := range []Frame{0x80190000, 0x40193D80, 0, 0xFFFFFFFF, 0xAAAAAAAA, 0x55555555} {
		if !slices.Equal(ideal(f), idealUS(f)) {
			t.Fatalf("%v: the two ways of drawing it differ", f)
		}
	}
	var w wire
	var us []uint64
	for _, u := range wire80190000 {
		us = append(us, uint64(u))
	}
	if got := read(&w, 777, false, us); !slices.Equal(got, []Frame{0x80190000}) {
		t.Errorf("got %v", got)
	}
}

// Frames, changes, frames is the identity for any frames, with each bit anywhere from 10 % short to 15 % long and the
// changes between bits anywhere (OpenTherm Protocol Specification v2.2, 3.4.2), 20 ms and more apart (4.3.1), with and
// without levels, of either polarity.
func TestWireIdentity(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var w wire
		from := rapid.Uint64().Draw(rt, "clock")
		levels := rapid.Bool().Draw(rt, "levels")
		want := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Frame { return Frame(rapid.Uint32().Draw(t, "frame")) }), 1, 4).Draw(rt, "frames")
		var got []Frame
		for _, f := range want {
			changes := shape(f, rapid.Uint64Range(GlitchBelow, 899).Draw(rt, "half"),
				func() uint64 { return rapid.Uint64Range(900, 1150).Draw(rt, "bit") },
				func(d uint64) uint64 {
					return rapid.Uint64Range(GlitchBelow, min(899, d-GlitchBelow)).Draw(rt, "between")
				})
			got = append(got, read(&w, from, levels, changes)...)
			from += changes[len(changes)-1] + rapid.Uint64Range(20_000, 800_000).Draw(rt, "pause")
		}
		if !slices.Equal(got, want) {
			rt.Fatalf("%v came back as %v", want, got)
		}
	})
}

// A bit out of the tolerance gives no frame, wherever it stands and with every other bit ideal.
func TestWireRefusesOutOfTime(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	wrong := 0
	for range 2000 {
		f := Frame(r.Uint32())
		for _, off := range []uint64{600, 700, 800, 899, 1151, 1200, 1400, 1700} {
			bad, i := 1+r.IntN(WireBits-2), 0
			changes := shape(f, 500, func() uint64 {
				if i++; i == bad {
					return off
				}
				return 1000
			}, halfway)
			var w wire
			for _, got := range read(&w, 0, r.IntN(2) == 0, changes) {
				if got == f {
					t.Fatalf("%v with bit %d of %d µs was taken", f, bad, off)
				}
				wrong++
			}
		}
	}
	t.Logf("%d of %d gave another frame", wrong, 8*2000)
	if wrong > 0 {
		t.Errorf("%d other frames came", wrong)
	}
}

// Glitches anywhere, shorter than the bound, change nothing.
func TestWireGlitches(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := Frame(rapid.Uint32().Draw(rt, "frame"))
		changes := ideal(f)
		levels := rapid.Bool().Draw(rt, "levels")
		var noisy []uint64
		glitches := 0
		for i, at := range changes {
			noisy = append(noisy, at)
			if i+1 < len(changes) && rapid.IntRange(0, 3).Draw(rt, "glitch") == 0 {
				g := at + rapid.Uint64Range(GlitchBelow, 250).Draw(rt, "after")
				noisy = append(noisy, g, g+rapid.Uint64Range(0, GlitchBelow-1).Draw(rt, "length"))
				glitches++
			}
		}
		var w wire
		if got := read(&w, 1<<40, levels, noisy); !slices.Equal(got, []Frame{f}) {
			rt.Fatalf("%v with %d glitches came back as %v", f, glitches, got)
		}
	})
}

// Chatter at every change, as a slow slope makes it, and a pulse shortly before the frame.
func TestWireChatter(t *testing.T) {
	var noisy []uint64
	for _, at := range ideal(0x40193D80) {
		noisy = append(noisy, at, at+20, at+40)
	}
	var w wire
	if got := read(&w, 1<<40, true, append([]uint64{0, 30}, shift(noisy, 200)...)); !slices.Equal(got, []Frame{0x40193D80}) {
		t.Errorf("got %v", got)
	}
	if w.state.fault != sound {
		t.Errorf("fault %d", w.state.fault)
	}
}

func shift(t []uint64, by uint64) []uint64 {
	out := slices.Clone(t)
	for i := range out {
		out[i] += by
	}
	return out
}

// One change missed, any of them, gives no frame, with levels and without; the next frame is whole again.
func TestWireOneMissed(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 9))
	for range 60 {
		f := Frame(r.Uint32())
		full := ideal(f)
		for i := range full {
			for _, levels := range []bool{false, true} {
				var w wire
				got := missing(&w, full, levels, i)
				if len(got) > 0 && got[0] != f {
					t.Fatalf("%v without change %d came back as %v", f, i, got)
				}
				if got := read(&w, 200_000, levels, full); !slices.Equal(got, []Frame{f}) {
					t.Fatalf("after it %v came back as %v", f, got)
				}
			}
		}
	}
}

// missing reads changes without some of them; levels stay those of the whole.
func missing(w *wire, full []uint64, levels bool, without ...int) (frames []Frame) {
	for i, at := range full {
		if slices.Contains(without, i) {
			continue
		}
		lv := noLevel
		if levels {
			lv = lowLevel + level(i%2)
		}
		if e := w.change(at, lv, false); e.whole {
			frames = append(frames, e.frame)
		}
	}
	return frames
}

// TestWireWrong measures how many wrong frames get through, before parity and after. The figures are told in the log;
// the bounds are theirs with room for another seed.
func TestWireWrong(t *testing.T) {
	for _, c := range []struct {
		name       string
		spoil      func(*rand.Rand, Frame) []Frame
		wire, kept float64 // highest shares of frames sent that come out wrong, before parity and after
	}{
		{"two changes missed, no levels", func(r *rand.Rand, f Frame) []Frame { return lose(r, f, 2, false) }, 0.12, 0.06},
		{"two changes missed, levels", func(r *rand.Rand, f Frame) []Frame { return lose(r, f, 2, true) }, 0.0002, 0.0002},
		{"each change missed in 50, no levels", func(r *rand.Rand, f Frame) []Frame { return lose(r, f, -50, false) }, 0.03, 0.015},
		{"each change missed in 50, levels", func(r *rand.Rand, f Frame) []Frame { return lose(r, f, -50, true) }, 0.0002, 0.0002},
		{"the line turned round for up to 2 ms, 0.6 times a frame", func(r *rand.Rand, f Frame) []Frame { return addPulses(r, f, 100) }, 0.08, 0.035},
		{"jitter of every change, normal, 30 µs", func(r *rand.Rand, f Frame) []Frame { return jitter(r, f, 30) }, 0.0002, 0.0002},
		{"jitter of every change, normal, 150 µs", func(r *rand.Rand, f Frame) []Frame { return jitter(r, f, 150) }, 0.0002, 0.0002},
		{"50 ms of noise alone, a change each 500 µs on average", noise, 0.0002, 0.0002},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(11, 4))
			const n = 8000
			whole, wrong, kept := 0, 0, 0
			for range n {
				f := Frame(r.Uint32())
				for _, got := range c.spoil(r, f) {
					switch {
					case got == f:
						whole++
					case got.EvenParity() == f.EvenParity(): // as good as even: f is any frame
						kept++
						fallthrough
					default:
						wrong++
					}
				}
			}
			share := func(k int) float64 { return float64(k) / n }
			t.Logf("right %.2f %%, wrong before parity %.3f %%, after parity %.3f %%", 100*share(whole), 100*share(wrong), 100*share(kept))
			if share(wrong) > c.wire || share(kept) > c.kept {
				t.Errorf("more than %v and %v", c.wire, c.kept)
			}
		})
	}
}

func lose(r *rand.Rand, f Frame, n int, levels bool) []Frame {
	full := ideal(f)
	var without []int
	for i := range full {
		if n < 0 && r.IntN(-n) == 0 {
			without = append(without, i)
		}
	}
	for len(without) < n {
		if i := r.IntN(len(full)); !slices.Contains(without, i) {
			without = append(without, i)
		}
	}
	var w wire
	return missing(&w, full, levels, without...)
}

func addPulses(r *rand.Rand, f Frame, in int) []Frame {
	all := ideal(f)
	for range all {
		if r.IntN(in) == 0 {
			at := r.Uint64N(34_000)
			all = append(all, at, at+r.Uint64N(2000))
		}
	}
	slices.Sort(all)
	var w wire
	return read(&w, 0, true, all)
}

func jitter(r *rand.Rand, f Frame, us float64) []Frame {
	all := ideal(f)
	for i, at := range all {
		all[i] = uint64(max(0, 5000+float64(at)+us*r.NormFloat64()))
	}
	slices.Sort(all)
	var w wire
	return read(&w, 0, true, all)
}

// noise is 50 ms of changes at random, of which no frame should come.
func noise(r *rand.Rand, _ Frame) []Frame {
	var all []uint64
	for at := 0.0; at < 5e4; at += 500 * r.ExpFloat64() {
		all = append(all, uint64(at))
	}
	var w wire
	return read(&w, 0, true, all)
}

func FuzzWire(f *testing.F) {
	var seed []byte
	for i := 1; i < len(wire80190000); i++ {
		seed = binary.LittleEndian.AppendUint16(seed, uint16(wire80190000[i]-wire80190000[i-1])|uint16(i%2)<<15)
	}
	f.Add(seed)
	f.Fuzz(func(t *testing.T, b []byte) {
		var w wire
		at := uint64(0)
		for ; len(b) >= 2; b = b[2:] {
			v := binary.LittleEndian.Uint16(b)
			at += uint64(v & 0x3FFF)
			e := w.change(at, level(v>>14)%3, false)
			if e.whole && w.state.reading || w.state.n > WireBits || e.bits > WireBits || e.fault > noStop {
				t.Fatalf("%+v in %+v", e, w.state)
			}
		}
	})
}
