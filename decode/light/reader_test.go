package light

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var noon = time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)

// lamp plays a light.
type lamp struct {
	t    time.Time
	r    Reader
	seen []Seen
	// every is how often the light is sampled; 0: it tells of changes only.
	every time.Duration
}

func (l *lamp) tell(s Seen) { l.seen = append(l.seen, s) }

// show keeps a level for some time.
func (l *lamp) show(on bool, d time.Duration) {
	if l.t.IsZero() {
		l.t = noon
	}
	end := l.t.Add(d)
	l.r.Take(l.t, on, l.tell)
	if l.every > 0 {
		at := noon.Add(l.t.Sub(noon).Truncate(l.every))
		for ; at.Before(end); at = at.Add(l.every) {
			if !at.Before(l.t) {
				l.r.Take(at, on, l.tell)
			}
		}
	}
	l.t = end
}

// group shows some flashes and the pause after them.
func (l *lamp) group(n int, on, off, pause time.Duration) {
	for i := range n {
		l.show(true, on)
		if i == n-1 {
			off = pause
		}
		l.show(false, off)
	}
}

// signs are what was told, each sign once as long as it stays.
func (l *lamp) signs() (out []Sign) {
	for _, s := range l.seen {
		if len(out) == 0 || out[len(out)-1] != s.Sign {
			out = append(out, s.Sign)
		}
	}
	return out
}

const ms = time.Millisecond

// TestSigns plays lights as appliances have them (common practice, no source).
func TestSigns(t *testing.T) {
	for _, c := range []struct {
		name string
		play func(l *lamp)
		want []Sign
	}{
		{"off, then steady, then off", func(l *lamp) {
			l.show(false, time.Minute)
			l.show(true, time.Minute)
			l.show(false, time.Minute)
		}, []Sign{Off, Steady, Off}},
		{"three flashes, again and again", func(l *lamp) {
			l.show(false, time.Minute)
			for range 5 {
				l.group(3, 300*ms, 300*ms, 2000*ms)
			}
			l.show(true, time.Minute)
		}, []Sign{Off, 3, Steady}},
		{"one flash, again and again", func(l *lamp) {
			l.show(false, time.Minute)
			for range 8 {
				l.group(1, 300*ms, 0, 2700*ms)
			}
			l.show(true, time.Minute)
		}, []Sign{Off, 1, Steady}},
		{"on and off evenly, once in two seconds", func(l *lamp) {
			l.show(false, time.Minute)
			for range 40 {
				l.group(1, 1000*ms, 0, 1000*ms)
			}
			l.show(true, time.Minute)
		}, []Sign{Off, Flashing, Steady}},
		{"the slowest, 0.3 a second", func(l *lamp) {
			l.show(false, time.Minute)
			for range 3 {
				l.group(4, 1600*ms, 1700*ms, 5000*ms)
			}
			l.show(false, time.Minute)
		}, []Sign{Off, 4, Off}},
		{"the fastest in groups, 10 a second", func(l *lamp) {
			l.show(false, time.Minute)
			for range 5 {
				l.group(6, 50*ms, 50*ms, 1500*ms)
			}
			l.show(false, time.Minute)
		}, []Sign{Off, 6, Off}},
		{"a fault, and rapid flashing while it is reset", func(l *lamp) {
			l.show(true, time.Minute)
			l.show(false, 3*time.Second)
			for range 6 {
				l.group(4, 250*ms, 250*ms, 2500*ms)
			}
			for range 25 {
				l.group(1, 100*ms, 0, 100*ms)
			}
			l.show(true, time.Minute)
		}, []Sign{Steady, 4, Rapid, Steady}},
		{"the count changes", func(l *lamp) {
			l.show(false, time.Minute)
			for _, n := range []int{2, 2, 2, 5, 5, 5, 3, 3} {
				l.group(n, 250*ms, 250*ms, 1500*ms)
			}
			l.show(false, time.Minute)
		}, []Sign{Off, 2, 5, 3, Off}},
		{"a single group", func(l *lamp) {
			l.show(false, time.Minute)
			l.group(7, 250*ms, 250*ms, 20*time.Second)
		}, []Sign{Off, 7, Off}},
		{"a contact that bounces", func(l *lamp) {
			l.show(false, time.Minute)
			for range 4 {
				for range 2 {
					l.show(true, 5*ms)
					l.show(false, 5*ms)
					l.show(true, 300*ms)
					l.show(false, 5*ms)
					l.show(true, 5*ms)
					l.show(false, 300*ms)
				}
				l.show(false, 2000*ms)
			}
			l.show(true, time.Minute)
		}, []Sign{Off, 2, Steady}},
	} {
		for _, every := range []time.Duration{0, 10 * ms} {
			if every > 0 && c.name == "a contact that bounces" {
				continue
			}
			l := &lamp{every: every}
			c.play(l)
			l.show(false, ms)
			l.r.End(l.tell)
			if d := cmp.Diff(c.want, l.signs()); d != "" {
				t.Errorf("%s, read every %s (-want +got):\n%s", c.name, every, d)
			}
		}
	}
}

// A sign begins when its first flash does.
func TestBegins(t *testing.T) {
	l := &lamp{}
	l.show(false, time.Minute)
	from := l.t
	for range 4 {
		l.group(3, 300*ms, 300*ms, 2000*ms)
	}
	for _, s := range l.seen {
		if s.Sign == 3 {
			if !s.From.Equal(from) {
				t.Errorf("three flashes from %s, want %s", s.From, from)
			}
			return
		}
	}
	t.Error("no three flashes")
}

// A light that is looked at too rarely is told with that word.
func TestCoarse(t *testing.T) {
	l := &lamp{every: 200 * ms}
	l.show(false, time.Minute)
	for range 6 {
		l.group(3, 300*ms, 300*ms, 2000*ms)
	}
	l.show(false, time.Minute)
	for _, s := range l.seen {
		if s.Sign != Off && s.Why == "" {
			t.Errorf("%s is told without doubt", s.Sign)
		}
	}
}

// Whatever the rhythm within what is told from each other, counts come back, and each group once.
func TestAnyRhythm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		on := time.Duration(rapid.IntRange(60, 1500).Draw(t, "on, ms")) * ms
		off := time.Duration(rapid.IntRange(60, 1500).Draw(t, "off, ms")) * ms
		longest := max(on, off)
		if longest*2 > longestPause-time.Second {
			t.Skip()
		}
		pause := time.Duration(rapid.IntRange(int(2.2*float64(max(off, 300*ms))/1e6), 7500).Draw(t, "pause, ms")) * ms
		n := rapid.IntRange(2, 12).Draw(t, "flashes")
		jitter := func() time.Duration { return time.Duration(rapid.IntRange(-5, 5).Draw(t, "jitter, %")) }
		if on+off >= apartPeriod && float64(off) >= darkRatio/1.2*float64(on) {
			t.Skip() // groups of one are told apart by nothing else
		}
		l := &lamp{}
		l.show(false, 30*time.Second)
		const groups = 5
		for range groups {
			for i := range n {
				l.show(true, on+on*jitter()/100)
				d := off
				if i == n-1 {
					d = pause
				}
				l.show(false, d+d*jitter()/100)
			}
		}
		l.show(false, 30*time.Second)
		l.show(true, ms)
		got := 0
		for _, s := range l.seen {
			switch s.Sign {
			case Sign(n):
				got++
			case Off:
			case Rapid: // the first group of many, before the second says that it is a count
				if n < rapidLeast || got > 0 {
					t.Fatalf("rapid among groups of %d", n)
				}
				got++
			default:
				t.Fatalf("told %s among groups of %d (on %s, off %s, pause %s): %v", s.Sign, n, on, off, pause, l.signs())
			}
		}
		if got != groups {
			t.Fatalf("%d groups of %d told, want %d", got, n, groups)
		}
	})
}

// FuzzReader: any light, in any order of time, is read without end, and signs are known ones.
func FuzzReader(f *testing.F) {
	f.Add([]byte{1, 10, 0, 10, 1, 10, 0, 200})
	f.Fuzz(func(t *testing.T, data []byte) {
		var r Reader
		at := noon
		tell := func(s Seen) {
			if s.Sign.String() == "unknown" || s.From.IsZero() {
				t.Fatalf("told %d from %s", s.Sign, s.From)
			}
		}
		for i := 0; i+1 < len(data); i += 2 {
			at = at.Add(time.Duration(int8(data[i+1])) * 37 * ms)
			r.Take(at, data[i]&1 == 1, tell)
			if len(r.flashes) > 3*MostFlashes || len(r.dark) > 3*MostFlashes {
				t.Fatalf("%d flashes, %d darks are kept", len(r.flashes), len(r.dark))
			}
		}
		r.End(tell)
	})
}
