package house

import (
	"math/rand/v2"
	"slices"
	"strings"
	"time"
)

const (
	// streamAdapter is the adapter's own stream of random numbers.
	streamAdapter = 0x61
	// rebootLow and rebootHigh bound how long a restarting adapter says nothing. Own assumption.
	rebootLow, rebootHigh = 3 * time.Second, 8 * time.Second
	// bannerAt is how long before its first frame an adapter has printed its banner, and bannerLine the time of a
	// line of it at 9600 Bd. Own assumptions.
	bannerAt, bannerLine = 300 * time.Millisecond, 30 * time.Millisecond
	// cutShare is how often a restart cuts a line. Own assumption.
	cutShare = 0.5
	// noDevice is what the recorder says of an adapter whose device went away.
	noDevice = "lost: no such device"
)

// reboot is one restart of the adapter.
type reboot struct {
	Window
	cut int // characters of the next line that get out before; 0: none
}

// adapter prints each frame on the wires as a line, while it lives. It changes nothing on the wires.
type adapter struct {
	faults  []AdapterFault
	reboots []reboot
	told    int           // reboots whose banner is in the queue
	gone    int           // noted windows whose beginning is told
	lostAt  time.Duration // −1: the logger does not miss it
}

func newAdapter(s *Scenario, seed uint64) adapter {
	a := adapter{faults: s.Faults.Adapter, lostAt: -1}
	rng := rand.New(rand.NewPCG(seed, streamAdapter))
	for _, at := range s.Faults.Restarts {
		r := reboot{Window: Window{at, at + between(rng, rebootLow, rebootHigh)}}
		if cut := 1 + rng.IntN(7); rng.Float64() < cutShare {
			r.cut = cut
		}
		a.reboots = append(a.reboots, r)
	}
	return a
}

// away tells whether the adapter is dead or gone at t.
func (a *adapter) away(t time.Duration) bool {
	return slices.ContainsFunc(a.faults, func(f AdapterFault) bool { return f.contains(t) })
}

// getsOut is how much of a line of 8 digits comes out at t: 8, nothing, or what a restart cuts off.
func (a *adapter) getsOut(t time.Duration) (digits int) {
	if a.away(t) {
		return 0
	}
	for i := range a.reboots {
		if r := &a.reboots[i]; r.contains(t) {
			digits, r.cut = r.cut, 0
			return digits
		}
	}
	return 8
}

// second tells what the adapter and its loss bring by themselves in the second before h.now: a banner at a restart, a
// note where the logger sees the device go.
func (a *adapter) second(h *House, q *queue) {
	for ; a.told < len(a.reboots) && a.reboots[a.told].From < h.now; a.told++ {
		r := a.reboots[a.told]
		if a.away(r.From) {
			continue
		}
		at := r.To - bannerAt
		for line := range strings.Lines(h.s.Bus.Banner) {
			d := q.add(at, partBus)
			d.text = append(d.text, strings.TrimRight(line, "\r\n")...)
			d.text = append(d.text, '\r', '\n')
			at += bannerLine
		}
	}
	for ; a.gone < len(a.faults) && a.faults[a.gone].From < h.now; a.gone++ {
		if f := a.faults[a.gone]; f.Noted {
			a.lostAt = f.From
			q.add(f.From, partBus).note = noDevice
		}
	}
}

// print puts the adapter's line for one frame, unless the adapter is dead; the line faults strike here.
func (a *adapter) print(h *House, q *queue, rng *rand.Rand, at time.Duration, f uint32) {
	p := &h.s.Faults
	if p.BadParity > 0 && rng.Float64() < p.BadParity {
		f ^= 1 << rng.IntN(32)
	}
	garbage := p.Garbage > 0 && rng.Float64() < p.Garbage
	digits := a.getsOut(at)
	if digits == 0 {
		return
	}
	if a.lostAt >= 0 && at > a.lostAt {
		q.add(at, partBus).note = "back after " + (at - a.lostAt).Round(time.Second).String()
		a.lostAt = -1
	}
	d := q.add(at, partBus)
	for i := range digits {
		d.text = append(d.text, "0123456789ABCDEF"[f>>(28-4*i)&15])
	}
	if digits < 8 {
		return
	}
	d.text = append(d.text, '\r', '\n')
	if garbage {
		d = q.add(at+2*time.Millisecond, partBus)
		for range 3 + rng.IntN(9) {
			d.text = append(d.text, byte(0x21+rng.IntN(0xDE)))
		}
		d.text = append(d.text, '\r', '\n')
	}
}
