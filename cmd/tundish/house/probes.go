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
	// outsideProbeTau and pocketTau are the lags of a probe in its box on the north wall and of one under the cylinder's
	// insulation, s; outsideSunK is what clear sun at noon adds to the former, K. Own assumptions.
	outsideProbeTau, pocketTau, outsideSunK = 900.0, 60.0, 0.8
)

// ProbeSpec are the DS18B20 probes: a pair strapped to flow and return, 300 mm below the casing, and perhaps more.
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

func (s *ProbeSpec) every() time.Duration { return max(time.Second, s.Every.Truncate(time.Second)) }

// strapped is the temperature at a probe's chip, when it has settled, on a pipe of so many °C.
func (s *ProbeSpec) strapped(pipe, air float64) float64 {
	share := contact
	if s.Contact > 0 {
		share = s.Contact
	}
	return pipe - share*(pipe-air)
}

// probes are the sensors that convert at once and are read together: one sweep.
type probes struct {
	spec    *ProbeSpec
	rng     *rand.Rand
	list    []probe
	sweep   uint32
	started bool
}

// probe is one chip.
type probe struct {
	rom    string
	tauS   float64
	offK   float64
	follow func(h *House) float64 // what it follows, °C
	faults []ProbeFault           // of this one

	chip  float64 // °C, with its lag
	shown float64 // the same as it would be read, with offset and standing ailments
	stuck bool
	gone  bool
	last  float64 // as last converted well
}

func newProbes(s *Scenario, seed uint64) probes {
	spec := &s.Probes
	p := probes{spec: spec, rng: rand.New(rand.NewPCG(seed, streamProbes))}
	flow := probe{rom: spec.FlowROM, tauS: spec.TauS, offK: spec.FlowOffK, follow: func(h *House) float64 {
		return spec.strapped(h.circuit.spot.t, h.building.air)
	}}
	ret := probe{rom: spec.ReturnROM, tauS: spec.TauS, offK: spec.RetOffK, follow: func(h *House) float64 {
		return spec.strapped(h.circuit.ret.t, h.building.air)
	}}
	for _, f := range s.Faults.Probe {
		if f.Return {
			ret.faults = append(ret.faults, f)
		} else {
			flow.faults = append(flow.faults, f)
		}
	}
	p.list = append(p.list, flow, ret)
	if spec.OutsideROM != "" {
		p.list = append(p.list, probe{rom: spec.OutsideROM, tauS: outsideProbeTau, follow: func(h *House) float64 {
			return h.outside + h.weather.sun(h.now, outsideSunK)
		}})
	}
	if spec.RoomROM != "" {
		p.list = append(p.list, probe{rom: spec.RoomROM, tauS: roomTauUsual, follow: func(h *House) float64 { return h.building.air }})
	}
	if spec.CylinderROM != "" {
		p.list = append(p.list, probe{rom: spec.CylinderROM, tauS: max(spec.TauS, pocketTau), follow: func(h *House) float64 {
			return spec.strapped(h.hot.t, h.building.air)
		}})
	}
	return p
}

// second lets the probes follow what they hang on, and reads them when it is time.
func (p *probes) second(h *House, q *queue) {
	begin := h.now - time.Second
	for i := range p.list {
		p.list[i].lag(h, begin, !p.started)
	}
	p.started = true
	if begin%p.spec.every() != 0 {
		return
	}
	p.sweep++
	at := begin + conversion + between(p.rng, 0, 8*time.Millisecond)
	for i := range p.list {
		p.read(&p.list[i], q, begin, at)
	}
}

// appendScratchpad appends the two lines of w1_slave for a temperature: nine bytes and the verdict on the checksum,
// the nine bytes again and millidegrees, cut toward zero. Word in 1/16 K, limits −55…125 °C (DS18B20 datasheet).
func appendScratchpad(text []byte, t float64) []byte {
	pad, word := scratchpad(t)
	return appendPad(text, pad, pad, word, "YES")
}

// scratchpad is the chip's memory with a temperature in it.
func scratchpad(t float64) (pad [9]byte, word int) {
	word = int(math.Round(16 * min(max(t, -55), 125)))
	pad = [9]byte{byte(word), byte(word >> 8), 0x4b, 0x46, 0x7f, 0xff, byte(0x10 - word&15), 0x10}
	pad[8] = crc8(pad[:8])
	return pad, word
}

// appendPad appends the two lines: first the bytes as they came, with the verdict, then those of the last good read.
func appendPad(text []byte, came, good [9]byte, word int, verdict string) []byte {
	for line := range 2 {
		pad := came
		if line == 1 {
			pad = good
		}
		for _, b := range pad {
			text = hex.AppendEncode(text, []byte{b})
			text = append(text, ' ')
		}
		if line == 0 {
			text = append(text, ": crc="...)
			text = hex.AppendEncode(text, []byte{crc8(pad[:8])})
			text = append(text, ' ')
			text = append(text, verdict...)
			text = append(text, '\n')
		}
	}
	text = append(text, "t="...)
	text = strconv.AppendInt(text, int64(word*1000/16), 10)
	return append(text, '\n')
}
