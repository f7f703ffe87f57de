package house

import (
	"time"

	"tundish/analyse/episode"
)

const (
	// spurOff is how long a person leaves the fused spur off to clear a lockout. Own assumption.
	spurOff = 20 * time.Second
	// buttonAfter is how long after the mains are back a person who sees the lockout still there presses the button.
	// Own assumption.
	buttonAfter = time.Minute
	// commandLead is how long before a reset over the bus takes effect the room unit decides on it: it waits for its
	// next turn to speak, one in two conversations. Own assumption; longer on a slow bus.
	commandLead = 3 * time.Second
)

// mains tells whether the appliance has mains in the second that begins now.
func (h *House) mains(now time.Duration, hotWater bool) bool {
	live := !h.s.SwitchedLive || h.room.enable || hotWater
	return live && now >= h.spurTo && !h.faults.supplyCut(now)
}

// resets ends a lockout when a person's time has come, or when the supply comes back to a control whose lockout is
// volatile (EN 298, as remembered).
func (h *House) resets(now time.Duration) {
	back := h.powered && h.dark
	h.dark = !h.powered
	b := &h.boiler
	lead := h.s.Bus.lead()
	switch {
	case !b.locked() || !h.powered:
		return
	case back && b.volatile():
		h.unlock(now, episode.ResetPower)
		return
	case b.resetHow == episode.ResetCommand && b.commanded == 0 && now >= b.resetAt-lead:
		h.command, b.commanded = true, now
	}
	switch {
	case now < b.resetAt || !b.ready():
	case b.resetHow == episode.ResetPower:
		h.spurTo, h.powered, h.dark = now+spurOff, false, true
		b.resetAt, b.resetHow = h.spurTo+buttonAfter, episode.ResetByHand // should the supply not have done it
	case b.resetHow != episode.ResetCommand || now >= b.commanded+lead:
		h.unlock(now, b.resetHow)
	}
}

func (h *House) unlock(now time.Duration, how episode.Reset) {
	h.boiler.unlock(now)
	h.story.unlock(now, how)
}

// servesHeating tells whether the water that the pump moves in this second goes through the heating. With the appliance's
// own priority the mode says so; else the water, and where none moves the burner is taken to work for the heating.
func (h *House) servesHeating() bool {
	if h.motor.plan == Priority {
		return h.boiler.mode == modeHeating
	}
	return h.flow.heating() > creepLpm || h.flow.coil <= creepLpm
}

// makesHotWater tells whether hot water is being made: in the appliance's own mode for it, or, where it has none, while
// the cylinder calls and water moves through its coil. While the appliance shows a fault nothing makes any.
func (h *House) makesHotWater() bool {
	if !h.powered || h.boiler.shown() {
		return false
	}
	return h.boiler.mode == modeHotWater || h.motor.plan != Priority && h.hot.calling && h.flow.coil > creepLpm
}
