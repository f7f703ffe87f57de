package opentherm

import "tundish/decode"

// count counts what is no frame.
func (d *EdgeDecoder) count(e *wireEvent) {
	switch {
	case e.glitch:
		d.e.glitches++
	case e.outside:
		d.e.outside++
	}
	if e.fault != sound {
		d.fault(e.fault, e.bits)
	}
}

func (d *EdgeDecoder) fault(why wireFault, bits int) {
	if bits < minFrameBits {
		d.e.stray++
		return
	}
	d.e.faults[why]++
}

// Tally says what was counted so far: first the lines and the wire, then what the frames gave, as [Decoder.Tally] has it.
func (d *EdgeDecoder) Tally() []decode.Count {
	own := []decode.Count{
		{Name: "lines", N: d.e.lines},
		{Name: "lines that are no level change", N: d.e.unread},
		{Name: "level changes", N: d.e.changes},
		{Name: "glitches passed over", N: d.e.glitches},
		{Name: "frames cut off", N: d.e.faults[cutOff]},
		{Name: "frames with a level change out of time", N: d.e.faults[mistimed]},
		{Name: "frames with a level change missed", N: d.e.faults[lostChange]},
		{Name: "frames without a stop bit", N: d.e.faults[noStop]},
		{Name: "stray pulses", N: d.e.stray},
		{Name: "level changes outside of frames", N: d.e.outside},
	}
	if d.joined {
		return own
	}
	for _, c := range d.Decoder.Tally() {
		// The text decoder's own counts of lines stay zero here.
		if c.Name != "lines" && c.Name != "lines without a frame" {
			own = append(own, c)
		}
	}
	return own
}
