package house

import "time"

const (
	// airTau is the lag of a probe that hangs beside its pipe, s: still air carries heat badly. Own assumption.
	airTau = 90.0
	// goneNote and backNote are what the 1-Wire source says of a probe that does not answer, and of its return.
	goneNote, backNote = "probe gone: no answer", "probe back"
)

// powerOnPad is the memory of a chip before its first conversion: 85 °C, byte 6 is 0C (DS18B20 datasheet, older
// editions).
var powerOnPad = [9]byte{0x50, 0x05, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10, 0x1c}

// lag lets the chip follow by one second. At the start it has settled.
func (p *probe) lag(h *House, now time.Duration, start bool) {
	to, tau := p.follow(h), p.tauS
	for _, f := range p.faults {
		if f.Ails == SlippedOff && f.contains(now) {
			to, tau = h.building.air+f.Share*(to-h.building.air), max(tau, airTau)
		}
	}
	if start {
		p.chip = to
	}
	p.chip += (to - p.chip) / max(1, tau)
	held := false
	t := p.chip + p.offK
	for _, f := range p.faults {
		if !f.contains(now) {
			continue
		}
		switch f.Ails {
		case ProbeStuck:
			held = true
		case ProbeDrift:
			t += f.By * (now - f.From).Seconds() / (f.To - f.From).Seconds()
		}
	}
	if !held || !p.stuck {
		p.shown = t
	}
	p.stuck = held
}

// has tells whether an ailment that strikes now and then strikes in this reading.
func (ps *probes) has(p *probe, ails ProbeAilment, now time.Duration) bool {
	for _, f := range p.faults {
		if f.Ails == ails && f.contains(now) && ps.rng.Float64() < f.Share {
			return true
		}
	}
	return false
}

// read is one probe's scratchpad as the kernel prints it, or a note where it begins or ends not to answer.
func (ps *probes) read(p *probe, q *queue, now, at time.Duration) {
	gone := false
	for _, f := range p.faults {
		gone = gone || f.Ails == Gone && f.contains(now)
	}
	if gone != p.gone {
		d := q.add(at, partProbes)
		if d.channel, d.note = p.rom, backNote; gone {
			d.note = goneNote
		}
		p.gone = gone
	}
	if gone {
		return
	}
	t := p.shown
	if noise := ps.spec.NoiseK * ps.rng.NormFloat64(); !p.stuck {
		t += noise
	}
	d := q.add(at, partProbes)
	d.channel, d.sweep = p.rom, ps.sweep
	switch {
	case ps.has(p, PowerOn, now):
		d.text = appendPad(d.text, powerOnPad, powerOnPad, 85*16, "YES")
	case ps.has(p, BadCRC, now):
		// What came is not what the chip sent: one bit is wrong. The kernel then repeats the last good bytes.
		came, _ := scratchpad(t)
		came[ps.rng.IntN(2)] ^= 1 << ps.rng.IntN(8)
		good, word := scratchpad(p.last)
		d.text = appendPad(d.text, came, good, word, "NO")
	default:
		p.last = t
		d.text = appendScratchpad(d.text, t)
	}
}
