package house

import (
	"math/rand/v2"
	"time"
)

const (
	// frameTime is 34 bits at 1000 bit/s (OpenTherm Protocol Specification v2.2, 3.4.2 and 4.2).
	frameTime = 34 * time.Millisecond
	// pauseLow and pauseHigh bound the start-to-start time of conversations; the specification asks for 1 s +15 % at
	// most (v2.2, 4.3.1). Own assumption within it.
	pauseLow, pauseHigh = 970 * time.Millisecond, 1060 * time.Millisecond
	// replyLow and replyHigh bound the wait for the reply; the specification allows 20 to 800 ms (v2.2, 4.3.1).
	replyLow, replyHigh = 20 * time.Millisecond, 200 * time.Millisecond
	// wake is how long the bus needs after the mains come back. Own assumption.
	wake = 4 * time.Second
	// leastPause is from the end of a conversation to the next; the specification asks for 100 ms (v2.2, 4.3.1).
	leastPause = 110 * time.Millisecond
	// statusEvery is the usual share of the status: every second conversation. Own assumption.
	statusEvery = 2
)

// BusSpec is what the boiler tells over the bus, and how finely.
type BusSpec struct {
	Every        time.Duration // start to start of conversations, 3 % less to 6 % more; 0: about a second
	StatusEvery  int           // every so-many-th conversation asks the status, 1: all do; 0: 2
	ShareOfMax   bool          // modulation as a share of the greatest output instead of data id 17's own definition
	ZeroSetpoint bool          // the room unit leaves heating enabled and writes a set-point of 0 °C when it wants none
	NoFaultFlags bool          // data id 5 is not answered
	Banner       string        // what the adapter prints when it restarts

	StepK        float64 // of flow, return and hot-water temperature, K
	OutsideStepK float64
	PressureStep float64 // bar
	Unsupported  []uint8 // data ids that answer Unknown-DataId
	StartsBefore uint16  // counters at the scenario's start
	FailedBefore uint16
	LossesBefore uint16
	HoursBefore  uint16
}

// Data ids in use (OpenTherm Protocol Specification v2.2, 5.3; 113 and 114 were added in 2.3).
const (
	idStatus = 0
	idTSet   = 1
	idConfig = 3
	idReset  = 4
	idFault  = 5
)

// often are asked in turn in three of four slots that the status leaves free; seldom share the fourth.
var (
	often  = [...]uint8{25, 28, 17}
	seldom = [...]uint8{1, 18, 24, 27, 16, 26, 1, 14, 116, 113, 1, 114, 120, 15, 3, 19}
)

// bus is the room unit's conversation with the boiler, as an adapter on the wires prints it.
type bus struct {
	spec    *BusSpec
	rng     *rand.Rand
	next    time.Duration // start of the next conversation
	turn    int
	free    int // turns that were not the status's
	slow    int
	fault   bool // as the room unit last heard it
	asked5  bool
	wasDead bool
	adapter adapter
}

func newBus(s *Scenario, seed uint64) bus {
	return bus{spec: &s.Bus, rng: rand.New(rand.NewPCG(seed, streamBus)), next: 350 * time.Millisecond,
		adapter: newAdapter(s, seed)}
}

// second has the conversations that begin in the second before h.now.
func (b *bus) second(h *House, q *queue) {
	b.adapter.second(h, q)
	begin := h.now - time.Second
	if !h.powered {
		b.wasDead = true
		return
	}
	if b.wasDead {
		b.wasDead, b.fault = false, false
		b.next = begin + wake
	}
	for b.next < h.now {
		id := b.choose(h)
		kind, value := b.request(h, id)
		t := talk{id, kind, value}
		over := b.exchange(h, q, b.next, t)
		if p := h.s.Faults.Chatter; p > 0 && b.rng.Float64() < p {
			over = b.exchange(h, q, over+leastPause, t)
		}
		pause := between(b.rng, pauseLow, pauseHigh)
		if b.spec.Every > 0 {
			pause = time.Duration(float64(pause) * b.spec.Every.Seconds()).Truncate(time.Microsecond)
		}
		b.next = max(b.next+pause, over+leastPause)
	}
}

// lead is how long before a reset over the bus takes effect the room unit decides on it.
func (s *BusSpec) lead() time.Duration { return commandLead + 2*s.Every.Truncate(time.Second) }

func between(rng *rand.Rand, low, high time.Duration) time.Duration {
	return low + time.Duration(rng.Int64N(int64((high-low)/time.Microsecond)))*time.Microsecond
}

// talk is what the room unit says in a conversation.
type talk struct {
	id, kind uint8
	value    uint16
}

// exchange is a request and its reply, on the wires and on the adapter. It returns when they are over.
func (b *bus) exchange(h *House, q *queue, start time.Duration, t talk) (over time.Duration) {
	answer, back := b.reply(h, t.id, t.value)
	sent := start + frameTime
	came := sent + between(b.rng, replyLow, replyHigh) + frameTime
	b.adapter.print(h, q, b.rng, sent, frame(t.kind, t.id, t.value))
	if h.s.Faults.LostReply > 0 && b.rng.Float64() < h.s.Faults.LostReply {
		return came
	}
	if t.id == idStatus {
		b.fault = back&1 != 0
	}
	b.adapter.print(h, q, b.rng, came, frame(answer, t.id, back))
	return came
}

// choose picks the data id of the next conversation.
func (b *bus) choose(h *House) uint8 {
	n := b.spec.StatusEvery
	if n == 0 {
		n = statusEvery
	}
	b.turn++
	if n == 1 || b.turn%n == 1 {
		return idStatus
	}
	b.free++
	if h.command {
		h.command = false
		return idReset
	}
	if k := b.free % (len(often) + 1); k < len(often) {
		return often[k]
	}
	if b.asked5 = b.fault && !b.asked5; b.asked5 {
		return idFault
	}
	b.slow++
	return seldom[b.slow%len(seldom)]
}
