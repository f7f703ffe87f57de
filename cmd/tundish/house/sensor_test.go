package house

import (
	"testing"
	"time"

	"tundish/analyse/episode"
)

// Sensors of the boiler's own: a wire that is open or short locks out with no cause in the flags until it is mended and
// reset; drift shifts what is read and so the water; a stuck sensor reads on; jumps last one to three seconds.
func TestOwnSensors(t *testing.T) {
	window := Window{time.Hour, 2 * time.Hour}
	for _, c := range []struct {
		ails SensorAilment
		rail float64
	}{{OpenWire, -40}, {ShortWire, 125}} {
		p := newPlant(matched().Boiler, FaultSpec{OwnSensor: []SensorFault{{Window: window, Ails: c.ails}}}, 1)
		tr := p.run(3*time.Hour, func() {
			if p.now > time.Hour && p.now < 2*time.Hour && p.boiler.flowSensor != c.rail {
				t.Fatalf("at %v the sensor reads %v", p.now, p.boiler.flowSensor)
			}
		})
		if len(tr.Lockouts) != 1 {
			t.Fatalf("lockouts %+v", tr.Lockouts)
		}
		l := tr.Lockouts[0]
		if l.Cause != episode.CauseSensor || l.Flags != flagResetAllowed || l.Reset != episode.ResetByHand || l.From > time.Hour+10*time.Second ||
			l.To != window.To {
			t.Errorf("%+v", l)
		}
		noFiringIn(t, tr, l.Span)
	}

	var worst, jumped, jumps float64
	p := newPlant(matched().Boiler, FaultSpec{OwnSensor: []SensorFault{
		{Window: Window{0, day}, Ails: Drifted, By: 4},
		{Window: Window{0, day}, Return: true, Ails: Jumping, By: 30, EveryS: 120}}}, 1)
	p.run(day, func() {
		if p.now == 0 {
			return
		}
		worst = max(worst, absolute(p.boiler.flowSensor-p.boiler.flowLag-4))
		d := p.boiler.retSensor - p.boiler.retLag
		if d != 0 {
			if jumped == 0 {
				jumps++
			}
			if jumped++; d != 30 && absolute(d-30) > 1e-9 || jumped > 3 {
				t.Fatalf("at %v: a jump by %v, for %v s", p.now, d, jumped)
			}
		} else {
			jumped = 0
		}
	})
	near(t, "drift K", worst, 0, 1e-9)
	near(t, "jumps a day", jumps, 86400/122.5, 100) // 120 s apart and about 2 s long; √706 is 27

	p = newPlant(matched().Boiler, FaultSpec{OwnSensor: []SensorFault{{Window: window, Ails: StuckAt}}}, 1)
	low, high := 1000.0, -1000.0
	tr := p.run(2*time.Hour, func() {
		if p.now > time.Hour+time.Second {
			low, high = min(low, p.boiler.flowSensor), max(high, p.boiler.flowSensor)
		}
	})
	if low != high {
		t.Errorf("a stuck sensor reads %v to %v", low, high)
	}
	if len(tr.Lockouts) > 0 && tr.Lockouts[0].Cause != episode.CauseOverheat {
		t.Errorf("%+v", tr.Lockouts)
	}
}
