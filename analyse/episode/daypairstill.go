package episode

import (
	"time"

	"tundish/decode"
)

// lookStill is look of what is in no circuit: stored water and outside air.
func (x *pairTrack) lookStill(t, midnight moment, night time.Time) {
	dt, ok := x.step(t)
	still := max(x.a.off, x.b.off) <= pairStore
	switch {
	case !ok || !still:
	case x.a.p == decode.Cylinder:
		x.load.add(&x.day, t, dt, x.a.now.v, x.b.now.v, false)
		x.warmest()
	case x.a.p == decode.Outside && t.since(midnight) < pairNight:
		x.load.begin(&x.day, night, false)
		x.load.sum(dt, x.a.now.v, x.b.now.v)
	}
}

// warmest keeps the day's warmest hour of those closed.
func (x *pairTrack) warmest() {
	h := x.day.Hours
	if len(h) < 2 {
		return
	}
	if h[1].A+h[1].B > h[0].A+h[0].B {
		h[0] = h[1]
	}
	x.day.Hours = h[:1]
}
