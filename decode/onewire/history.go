package onewire

import (
	"math"
	"time"

	"tundish/capture"
)

// What the water of a heating system can do between two samples: the test of an 85 °C that nothing else can tell
// from the power-on value.
const (
	// NeighbourLimit is how old the probe's last reading may be to be a neighbour. Own proposal: a minute later
	// water can be anywhere.
	NeighbourLimit = 60 * time.Second
	// FastestWaterKps is the fastest change of water temperature taken for possible, K/s. Own proposal: common
	// practice has more than 3 K/s for a sensor's fault.
	FastestWaterKps = 3.0
	// FarthestWaterK is the greatest change between neighbours taken for possible, K, however far apart. Own
	// proposal.
	FarthestWaterK = 20.0
)

// history is the last reading of a probe that was beyond doubt.
type history struct {
	known bool
	c     float64 // °C, before the offset
	run   uint32
	at    time.Duration
	time  time.Time
}

func (h *history) keep(rec *capture.Record, c float64) {
	*h = history{known: true, c: c, run: rec.Run, at: rec.At, time: rec.Time}
}

// doubt says why an 85 °C of this record may be the power-on value; "" where the neighbour in time supports it.
func (h *history) doubt(rec *capture.Record) string {
	if !h.known {
		return "85 °C may be the power-on value: no earlier reading of this probe supports it"
	}
	age := h.age(rec)
	if age > NeighbourLimit {
		return "85 °C may be the power-on value: the reading before it is too old to support it"
	}
	// Below a second the sampling is finer than a probe's conversion time; a step of the clock makes age negative.
	seconds := max(1, age.Seconds())
	if math.Abs(powerOnC-h.c) > min(FastestWaterKps*seconds, FarthestWaterK) {
		return "85 °C may be the power-on value: water cannot change that fast"
	}
	return ""
}

// age is by the monotonic clock where there is one.
func (h *history) age(rec *capture.Record) time.Duration {
	if rec.Run == h.run && (rec.At != 0 || h.at != 0) {
		return rec.At - h.at
	}
	return rec.Time.Sub(h.time)
}
