package house

import "slices"

// request is what the room unit says.
func (b *bus) request(h *House, id uint8) (kind uint8, value uint16) {
	switch id {
	case idStatus:
		var m uint8
		if h.asked.heating || b.spec.ZeroSetpoint {
			m |= 1
		}
		if h.hasHotWater() {
			m |= 2
		}
		return readData, pair(m, 0)
	case idTSet:
		if b.spec.ZeroSetpoint && !h.asked.heating {
			return writeData, 0
		}
		return writeData, f88(h.asked.heatingSP, 0)
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
	pump := h.s.Boiler.Kind == HeatPump
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
		if b.spec.NoFaultFlags {
			return unknownDataID, asked
		}
		return readAck, pair(o.fault())
	case 15:
		return readAck, pair(uint8(o.spec.OutputMaxKW+0.5), uint8(100*o.spec.OutputMinKW/o.spec.OutputMaxKW+0.5))
	case 17:
		return readAck, f88(min(max(h.modulation(), 0), 100), 1)
	case 18:
		return readAck, f88(h.pressure(), b.spec.PressureStep)
	case 25:
		return readAck, f88(o.flowSensor, b.spec.StepK)
	case 26:
		if h.hasHotWater() {
			return readAck, f88(h.hot.reading(), b.spec.StepK)
		}
	case 27:
		return readAck, f88(h.room.outside, b.spec.OutsideStepK)
	case 28:
		return readAck, f88(o.retSensor, b.spec.StepK)
	case 113:
		if !pump {
			return readAck, b.spec.FailedBefore + o.failed
		}
	case 114:
		if !pump {
			return readAck, b.spec.LossesBefore + o.flameLosses
		}
	case 116:
		return readAck, b.spec.StartsBefore + o.starts
	case 120:
		return readAck, b.spec.HoursBefore + uint16(o.burnerS/3600)
	}
	return unknownDataID, asked
}

// status is the boiler's byte of data id 0 (v2.2, 5.3.1).
func (h *House) status() (s uint8) {
	if h.boiler.shown() {
		s |= 1
	}
	if h.boiler.mode == modeHeating && !h.boiler.shown() {
		s |= 2
	}
	if h.boiler.mode == modeHotWater && !h.boiler.shown() {
		s |= 4
	}
	if h.boiler.flame() {
		s |= 8
	}
	return s
}

// hasHotWater tells whether the appliance itself knows of hot water: not where valves of the house share its heat.
func (h *House) hasHotWater() bool {
	return h.s.HotWater.Kind != NoHotWater && h.motor.plan == Priority
}

// modulation is data id 17, %: as the specification has it, or as a share of the greatest output, as many send it.
func (h *House) modulation() float64 {
	if h.s.Bus.ShareOfMax {
		return 100 * h.boiler.outputKW / h.s.Boiler.OutputMaxKW
	}
	return h.boiler.modulation()
}

// configuration is the boiler's byte of data id 3 (v2.2, 5.3.2): bit 0 hot water, bit 1 on/off control, bit 3
// cylinder.
func (h *House) configuration() (c uint8) {
	if h.s.Boiler.Kind == OnOffBoiler {
		c |= 2
	}
	switch {
	case !h.hasHotWater():
	case h.s.HotWater.Kind == Cylinder:
		c |= 1 | 8
	default:
		c |= 1
	}
	return c
}
