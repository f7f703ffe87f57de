package house

import (
	"testing"
	"time"
)

// cell is a room of one node with a heat of constant power: the system for which the thermostat parabola holds.
type cell struct {
	heat, power, loss float64 // J/K, W, W/K
	t                 float64 // °C
}

// cycles runs a thermostat on a cell for days and returns cycles per hour, and mean on- and off-time in minutes, of
// the second half.
func (c *cell) cycles(spec RoomSpec, outside float64, days int) (perHour, on, off float64) {
	s := matched()
	s.Room = spec
	u := newRoomUnit(&s, c.t, outside)
	end := time.Duration(days) * day
	var starts, onS, offS float64
	was := false
	for now := time.Duration(0); now < end; now += time.Second {
		u.step(now, c.t, outside, false)
		c.t += (c.power*float64(btoi(u.enable)) - c.loss*(c.t-outside)) / c.heat
		if now >= end/2 {
			starts += float64(btoi(u.enable && !was))
			onS += float64(btoi(u.enable))
			offS += float64(btoi(!u.enable))
		}
		was = u.enable
	}
	return starts / (end / 2).Hours(), onS / starts / 60, offS / starts / 60
}

// The thermostat parabola, N = 4·Nmax·X·(1−X), with on- and off-times (NEMA DC 3 and the part-load cycling literature,
// from memory): a plain thermostat on a room of one node. Nmax = P/(4·(C·d + τ·P)), where
// the sensor's lag τ widens the differential d by τ·P/C. Chosen for Nmax = 3 per hour; tolerance 4 %, since the room
// does not cool in quite a straight line.
func TestThermostatParabola(t *testing.T) {
	t.Parallel()
	const heat, power, tau = 4e6, 8000.0, 60.0
	d := (power/(4*3.0/3600) - tau*power) / heat
	for _, c := range []struct{ x, n, on, off float64 }{
		{0.1, 1.08, 5.6, 50}, {0.2, 1.92, 6.2, 25}, {0.3, 2.52, 7.1, 16.7}, {0.5, 3.00, 10, 10}, {0.7, 2.52, 16.7, 7.1},
		{0.8, 1.92, 25, 6.2}, {0.9, 1.08, 50, 5.6},
	} {
		r := cell{heat: heat, power: power, loss: 200, t: 20}
		outside := 20 - c.x*power/r.loss
		n, on, off := r.cycles(RoomSpec{ComfortC: 20, SetbackC: 20, DifferentialK: d, TauS: tau, MaxFlowC: 75, MinFlowC: 30}, outside, 3)
		near(t, "cycles/h", n, c.n, 0.04*c.n)
		near(t, "on min", on, c.on, 0.05*c.on)
		near(t, "off min", off, c.off, 0.05*c.off)
	}
}

// A chopping thermostat makes its cycles whatever the load, calls all the time at full load and never at none; the
// share of on-time is the load's.
func TestChoppingThermostat(t *testing.T) {
	t.Parallel()
	for _, perHour := range []float64{3, 6} {
		for _, x := range []float64{0.25, 0.5, 0.75} {
			r := cell{heat: 4e6, power: 8000, loss: 200, t: 20}
			n, on, off := r.cycles(RoomSpec{ComfortC: 20, SetbackC: 20, CyclesPerHour: perHour, MaxFlowC: 75, MinFlowC: 30}, 20-x*8000/200, 2)
			near(t, "cycles/h", n, perHour, 0.05*perHour)
			near(t, "share", on/(on+off), x, 0.03)
			if r.t > 20 || r.t < 20-chopBandK {
				t.Errorf("load %v: the room has %.2f °C", x, r.t)
			}
		}
	}
	s := matched()
	s.Room = RoomSpec{ComfortC: 20, SetbackC: 20, CyclesPerHour: 6, TauS: 1}
	u := newRoomUnit(&s, 20, 5)
	var since time.Duration
	for now := time.Duration(0); now < day; now += time.Second { // through every share of a cycle, slowly
		was := u.enable
		if u.step(now, 20-1.6*float64(now)/float64(day), 5, false); u.enable != was {
			if since > 0 && now-since < chopLeast {
				t.Fatalf("at %v: %v for %v", now, was, now-since)
			}
			since = now
		}
	}
	cold := cell{heat: 4e6, power: 4000, loss: 200, t: 18} // too weak: it calls all the time
	if n, _, _ := cold.cycles(RoomSpec{ComfortC: 20, CyclesPerHour: 6, FromHour: 0, ToHour: 24}, -10, 2); n != 0 {
		t.Errorf("%.2f cycles/h with the heating too weak", n)
	}
}

// The schedule: from–to and more of it, set-back between; nobody at home, set-back all day.
func TestSchedule(t *testing.T) {
	s := matched()
	s.Room.FromHour, s.Room.ToHour, s.Room.More = 6, 8.5, []Hours{{12, 13}, {16.5, 22}}
	u := newRoomUnit(&s, 19, 5)
	for _, c := range []struct {
		hour float64
		away bool
		want float64
	}{{5.9, false, 18}, {6, false, 20.5}, {8.6, false, 18}, {12.5, false, 20.5}, {15, false, 18}, {21.9, false, 20.5}, {22, false, 18}, {30, false, 20.5},
		{7, true, 18}} {
		u.step(time.Duration(c.hour*float64(time.Hour)), 19, 5, c.away)
		if u.target != c.want {
			t.Errorf("at %v h, away %v: %v °C, want %v", c.hour, c.away, u.target, c.want)
		}
	}
	s = sound()
	s.People.Away = []Window{{day / 2, day}}
	walkFor(s, 1, day, func(st State) {
		if away := st.At > day/2+time.Second; away && st.RoomSetpoint != s.Room.SetbackC {
			t.Fatalf("at %v: set-point %v with nobody at home", st.At, st.RoomSetpoint)
		}
	})
}
