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
	d.bus = newBus(&d.house.s.Bus, seed)
	d.probes = newProbes(&d.house.s.Probes, seed)
	return d
}

// step moves the house by one second and lets the devices say what they have to say.
func (d *devices) step() {
	d.house.Step()
	d.bus.second(d.house, &d.queue)
	d.probes.second(d.house, &d.queue)
}

// Simulate runs the scenario's days as fast as the machine goes. Records of both parts come in order of time, Source
// "boiler" or "probes", At since s.Start at 1 µs. A payload is valid until emit returns. progress may be nil; it is
// called every simulated hour. The error is emit's, or ctx's; the truth then holds what happened until there.
func (s Scenario) Simulate(ctx context.Context, seed uint64, emit func(capture.Record) error,
	progress func(done, total time.Duration)) (Truth, error) {
	d := newDevices(s, seed)
	total := time.Duration(s.Days) * day
	give := func(v *delivery) error {
		r := capture.Record{At: v.at, Source: SourceBus, Channel: v.channel, Sweep: v.sweep, Payload: v.text}
		if v.part == partProbes {
			r.Source = SourceProbes
		}
		return emit(r)
	}
	for d.house.now < total {
		if d.house.now%time.Hour == 0 {
			if err := ctx.Err(); err != nil {
				return d.house.Truth(), err
			}
			if progress != nil {
				progress(d.house.now, total)
			}
		}
		d.step()
		if err := d.queue.drain(d.house.now, give); err != nil {
			return d.house.Truth(), err
		}
	}
	if progress != nil {
		progress(total, total)
	}
	return d.house.Truth(), nil
}
