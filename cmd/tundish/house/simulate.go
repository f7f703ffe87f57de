package house

import (
	"context"
	"slices"
	"time"

	"tundish/capture"
)

// Names of the parts, and of the sources that [Scenario.Simulate] and [Scenario.JobSheet] use for them.
const (
	PartBus    = "bus"
	PartProbes = "probes"

	SourceBus    = "boiler"
	SourceProbes = "probes"
)

type part uint8

const (
	partBus part = iota
	partProbes
)

// delivery is a record on its way.
type delivery struct {
	at      time.Duration
	part    part
	channel string
	sweep   uint32
	text    []byte
	note    string
}

// queue keeps deliveries in order of time until they are due. It reuses its buffers.
type queue struct{ list []delivery }

// add puts a delivery in its place; those of one instant keep the order in which they came.
func (q *queue) add(at time.Duration, p part) *delivery {
	n := len(q.list)
	if n < cap(q.list) {
		q.list = q.list[:n+1]
	} else {
		q.list = append(q.list, delivery{})
	}
	d := delivery{at: at, part: p, text: q.list[n].text[:0]}
	i := n
	for i > 0 && q.list[i-1].at > at {
		q.list[i] = q.list[i-1]
		i--
	}
	q.list[i] = d
	return &q.list[i]
}

// drain hands over what is due before until.
func (q *queue) drain(until time.Duration, give func(*delivery) error) error {
	n := 0
	for n < len(q.list) && q.list[n].at < until {
		if err := give(&q.list[n]); err != nil {
			return err
		}
		n++
	}
	if n == 0 {
		return nil
	}
	m := len(q.list) - n // the buffers that are free again go to the end: a rotation by three reversals
	slices.Reverse(q.list[:n])
	slices.Reverse(q.list[n:])
	slices.Reverse(q.list)
	q.list = q.list[:m]
	return nil
}

// devices are what hangs on a house: bus adapter and probes.
type devices struct {
	house  *House
	bus    bus
	probes probes
	queue  queue
}

func newDevices(s Scenario, seed uint64) *devices {
	d := &devices{house: New(s, seed)}
	d.bus = newBus(&d.house.s, seed)
	d.probes = newProbes(&d.house.s, seed)
	return d
}

// step moves the house by one second and lets the devices say what they have to say.
func (d *devices) step() {
	d.house.Step()
	if !d.house.s.NoBus {
		d.bus.second(d.house, &d.queue)
	}
	if !d.house.s.NoProbes {
		d.probes.second(d.house, &d.queue)
	}
}

// state is the house with what the probes' chips hold; they are 0 where no probes are fitted.
func (d *devices) state() State {
	s := d.house.State()
	s.FlowProbe, s.ReturnProbe = d.probes.list[0].shown, d.probes.list[1].shown
	return s
}

// Listener is told of a simulation as it goes; any field may be nil.
type Listener struct {
	// Record takes each record of the parts that are fitted, in order of time: Source "boiler" or "probes", At since
	// the scenario's start at 1 µs, Run from 1, one more after each time without a logger; Note "lost: …", "back …",
	// "probe gone: …" and "probe back" where the logger notes them. A payload is valid until it returns.
	Record func(capture.Record) error
	// Second takes the house after each second, which it may read until it returns.
	Second func(*State)
	// Progress is called every simulated hour.
	Progress func(done, total time.Duration)
}

// Simulate runs the scenario's days as fast as the machine goes. The error is the listener's, or ctx's; the truth
// then holds what happened until there.
func (s Scenario) Simulate(ctx context.Context, seed uint64, l Listener) (Truth, error) {
	d := newDevices(s, seed)
	total := time.Duration(s.Days) * day
	var state State
	give := func(v *delivery) error {
		if l.Record == nil || !s.Listening(v.at) {
			return nil
		}
		r := capture.Record{Run: s.run(v.at), At: v.at, Source: SourceBus, Channel: v.channel, Sweep: v.sweep,
			Payload: v.text, Note: v.note}
		if v.part == partProbes {
			r.Source = SourceProbes
		}
		return l.Record(r)
	}
	for d.house.now < total {
		if d.house.now%time.Hour == 0 {
			if err := ctx.Err(); err != nil {
				return d.house.Truth(), err
			}
			if l.Progress != nil {
				l.Progress(d.house.now, total)
			}
		}
		d.step()
		if l.Second != nil {
			state = d.state()
			l.Second(&state)
		}
		if err := d.queue.drain(d.house.now, give); err != nil {
			return d.house.Truth(), err
		}
	}
	if l.Progress != nil {
		l.Progress(total, total)
	}
	return d.house.Truth(), nil
}
