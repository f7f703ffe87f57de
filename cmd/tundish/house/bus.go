package house

import (
	"math/rand/v2"
	"slices"
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
)

// BusSpec is what the boiler tells over the bus, and how finely.
type BusSpec struct {
	Every        time.Duration // start to start of conversations; 0: about a second
	StatusEvery  int           // every so-many-th conversation asks the status; 0: 2
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

// often are asked in turn in every other slot that the status leaves free; seldom share the rest.
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
	slow    int
	fault   bool // as the room unit last heard it
	asked5  bool
	wasDead bool
}

func newBus(spec *BusSpec, seed uint64) bus {
	return bus{spec: spec, rng: rand.New(rand.NewPCG(seed, streamBus)), next: 350 * time.Millisecond}
}

// second has the conversations that begin in the second before h.now.
func (b *bus) second(h *House, q *queue) {
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
		b.converse(h, q, b.next)
		b.next += between(b.rng, pauseLow, pauseHigh)
	}
}

func between(rng *rand.Rand, low, high time.Duration) time.Duration {
	return low + time.Duration(rng.Int64N(int64((high-low)/time.Microsecond)))*time.Microsecond
}

// converse has one conversation.
func (b *bus) converse(h *House, q *queue, start time.Duration) {
	id := b.choose(h)
	ask, value := b.request(h, id)
	answer, back := b.reply(h, id, value)
	sent := start + frameTime
	came := sent + between(b.rng, replyLow, replyHigh) + frameTime
	b.print(h, q, sent, frame(ask, id, value))
	if h.s.Faults.LostReply > 0 && b.rng.Float64() < h.s.Faults.LostReply {
		return
	}
	if id == idStatus {
		b.fault = back&1 != 0
	}
	b.print(h, q, came, frame(answer, id, back))
}

// choose picks the data id of the next conversation: the status every second time.
func (b *bus) choose(h *House) uint8 {
	b.turn++
	if b.turn%2 == 1 {
		return idStatus
	}
	if h.command {
		h.command = false
		return idReset
	}
	if k := b.turn / 2 % (len(often) + 1); k < len(often) {
		return often[k]
	}
	if b.asked5 = b.fault && !b.asked5; b.asked5 {
		return idFault
	}
	b.slow++
	return seldom[b.slow%len(seldom)]
}

// request is what the room unit says.
func (b *bus) request(h *House, id uint8) (kind uint8, value uint16) {
	switch id {
	case idStatus:
		var m uint8
		if h.room.enable {
			m |= 1
		}
		if h.s.HotWater.Kind != NoHotWater {
			m |= 2
		}
		return readData, pair(m, 0)
	case idTSet:
		return writeData, f88(h.room.flowSP, 0)
	case idReset:
		return writeData, pair(1, 0)
	case 14:
		return writeData, f88(100, 0)
	case 16:
		return writeData, f88(h.room.target, 0)
	case 24:
		return writeData, f88(h.room.room, 0.1)
	}
	return readData, 0
}

// reply is what the boiler answers.
func (b *bus) reply(h *House, id uint8, asked uint16) (kind uint8, value uint16) {
	if slices.Contains(b.spec.Unsupported, id) {
		return unknownDataID, asked
	}
	o := &h.boiler
	switch id {
	case idStatus:
		return readAck, asked | uint16(h.status())
	case idTSet, 14, 16, 24:
		return writeAck, asked
	case idConfig:
		return readAck, pair(h.configuration(), 0)
	case idReset:
		return writeAck, pair(1, 0x80) // done: 128–255 (v2.2, 5.3.3)
	case idFault:
		if !o.locked() {
			return readAck, 0
		}
		return readAck, pair(o.flags, o.spec.FaultCode)
	case 15:
		return readAck, pair(uint8(o.spec.OutputMaxKW+0.5), uint8(100*o.spec.OutputMinKW/o.spec.OutputMaxKW+0.5))
	case 17:
		return readAck, f88(min(max(o.modulation(), 0), 100), 1)
	case 18:
		return readAck, f88(h.pressure(), b.spec.PressureStep)
	case 25:
		return readAck, f88(o.flowSensor, b.spec.StepK)
	case 26:
		if h.s.HotWater.Kind != NoHotWater {
			return readAck, f88(h.storeSensor(), b.spec.StepK)
		}
	case 27:
		return readAck, f88(h.room.outside, b.spec.OutsideStepK)
	case 28:
		return readAck, f88(o.retSensor, b.spec.StepK)
	case 113:
		return readAck, b.spec.FailedBefore + o.failed
	case 114:
		return readAck, b.spec.LossesBefore + o.flameLosses
	case 116:
		return readAck, b.spec.StartsBefore + o.starts
	case 120:
		return readAck, b.spec.HoursBefore + uint16(o.burnerS/3600)
	}
	return unknownDataID, asked
}

// status is the boiler's byte of data id 0 (v2.2, 5.3.1).
func (h *House) status() (s uint8) {
	if h.boiler.locked() {
		s |= 1
	}
	if h.boiler.mode == modeHeating && !h.boiler.locked() {
		s |= 2
	}
	if h.boiler.mode == modeHotWater && !h.boiler.locked() {
		s |= 4
	}
	if h.boiler.flame() {
		s |= 8
	}
	return s
}

// configuration is the boiler's byte of data id 3 (v2.2, 5.3.2): bit 0 hot water, bit 3 cylinder.
func (h *House) configuration() (c uint8) {
	switch h.s.HotWater.Kind {
	case Cylinder:
		return 1 | 8
	case Instantaneous:
		return 1
	}
	return 0
}

// storeSensor is the hot-water temperature that the boiler measures, °C.
func (h *House) storeSensor() float64 {
	if h.s.HotWater.Kind == Cylinder {
		return h.hot.sensor
	}
	return h.hot.t
}

// print puts the adapter's line for one frame, unless the adapter is dead; the line faults strike here.
func (b *bus) print(h *House, q *queue, at time.Duration, f uint32) {
	p := h.s.Faults
	if p.BadParity > 0 && b.rng.Float64() < p.BadParity {
		f ^= 1 << b.rng.IntN(32)
	}
	garbage := p.Garbage > 0 && b.rng.Float64() < p.Garbage
	if h.faults.silent(at) {
		return
	}
	d := q.add(at, partBus)
	for shift := 28; shift >= 0; shift -= 4 {
		d.text = append(d.text, "0123456789ABCDEF"[f>>shift&15])
	}
	d.text = append(d.text, '\r', '\n')
	if garbage {
		d = q.add(at+2*time.Millisecond, partBus)
		for range 3 + b.rng.IntN(9) {
			d.text = append(d.text, byte(0x21+b.rng.IntN(0xDE)))
		}
		d.text = append(d.text, '\r', '\n')
	}
}
