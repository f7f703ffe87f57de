package house

import (
	"encoding/hex"
	"math"
	"math/rand/v2"
	"strconv"
	"time"
)

const (
	// contact is the share of the excess over the room that a strapped, insulated probe on copper reads too low:
	// 0.02 of 40 K are 0.8 K. Common practice, no source (0.01–0.03 for pasted and insulated).
	contact = 0.02
	// conversion is the time of a 12-bit conversion (DS18B20 datasheet, 750 ms at most) and the read after it.
	conversion = 770 * time.Millisecond
)

// ProbeSpec is the pair of DS18B20 probes strapped to flow and return, 300 mm below the casing.
type ProbeSpec struct {
	FlowROM, ReturnROM string        // kernel names, "28-" and 12 hex digits; invented
	Every              time.Duration // from sweep to sweep, whole seconds
	TauS               float64       // first-order lag, s
	FlowOffK, RetOffK  float64       // what each reads too high, K
	NoiseK             float64       // standard deviation, K
	Contact            float64       // share of the excess over the room that is missed; 0: 0.02
	OutsideROM         string        // more probes; "": none
	RoomROM            string
	CylinderROM        string
}

// probes are two sensors that convert at once and are read together: one sweep.
type probes struct {
	spec      *ProbeSpec
	rng       *rand.Rand
	flow, ret float64 // of the chips, °C
	sweep     uint32
	started   bool
}

func newProbes(spec *ProbeSpec, seed uint64) probes {
	return probes{spec: spec, rng: rand.New(rand.NewPCG(seed, streamProbes))}
}

// second lets the probes follow the pipes, and reads them when it is time.
func (p *probes) second(h *House, q *queue) {
	air := h.building.air
	flow := h.circuit.spot.t - contact*(h.circuit.spot.t-air)
	ret := h.circuit.ret.t - contact*(h.circuit.ret.t-air)
	if !p.started {
		p.flow, p.ret, p.started = flow, ret, true
	}
	p.flow += (flow - p.flow) / p.spec.TauS
	p.ret += (ret - p.ret) / p.spec.TauS

	begin := h.now - time.Second
	if begin%p.spec.Every != 0 {
		return
	}
	p.sweep++
	at := begin + conversion + between(p.rng, 0, 8*time.Millisecond)
	p.read(q, at, p.spec.FlowROM, p.flow+p.spec.FlowOffK)
	p.read(q, at, p.spec.ReturnROM, p.ret+p.spec.RetOffK)
}

// read is one probe's scratchpad as the kernel prints it.
func (p *probes) read(q *queue, at time.Duration, rom string, t float64) {
	d := q.add(at, partProbes)
	d.channel, d.sweep = rom, p.sweep
	d.text = appendScratchpad(d.text, t+p.spec.NoiseK*p.rng.NormFloat64())
}

// appendScratchpad appends the two lines of w1_slave for a temperature: nine bytes and the verdict on the checksum,
// the nine bytes again and millidegrees, cut toward zero. Word in 1/16 K, limits −55…125 °C (DS18B20 datasheet).
func appendScratchpad(text []byte, t float64) []byte {
	word := int(math.Round(16 * min(max(t, -55), 125)))
	pad := [9]byte{byte(word), byte(word >> 8), 0x4b, 0x46, 0x7f, 0xff, byte(0x10 - word&15), 0x10}
	pad[8] = crc8(pad[:8])
	for line := range 2 {
		for _, b := range pad {
			text = hex.AppendEncode(text, []byte{b})
			text = append(text, ' ')
		}
		if line == 0 {
			text = append(text, ": crc="...)
			text = hex.AppendEncode(text, pad[8:])
			text = append(text, " YES\n"...)
		}
	}
	text = append(text, "t="...)
	text = strconv.AppendInt(text, int64(word*1000/16), 10)
	return append(text, '\n')
}
