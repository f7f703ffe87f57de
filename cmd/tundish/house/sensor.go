package house

import "time"

const (
	// openC and shortC are what a thermistor with an open or a short wire reads, °C (SensorFault).
	openC, shortC = -40.0, 125.0
	// jumpEveryS is how far jumps are apart where the fault does not say, s. Own assumption.
	jumpEveryS = 300.0
)

// ailingSensor is how far one sensor fault has come.
type ailingSensor struct {
	held      float64 // °C; StuckAt: the value it had
	begun     bool
	next, end time.Duration // Jumping: of the next jump, and the end of the present one
}

// sensor is what the boiler's own flow or return sensor reads when it should read v.
func (f *faults) sensor(now time.Duration, ret bool, v float64) float64 {
	for i := range f.spec.OwnSensor {
		g, s := &f.spec.OwnSensor[i], &f.ails[i]
		if g.Return != ret || !g.contains(now) {
			continue
		}
		if !s.begun {
			s.begun, s.held, s.next = true, v, now+f.gap(g.EveryS)
		}
		switch g.Ails {
		case Drifted:
			v += g.By
		case StuckAt:
			v = s.held
		case OpenWire:
			v = openC
		case ShortWire:
			v = shortC
		case Jumping:
			if now >= s.next {
				s.end = now + time.Duration(1+f.rng.IntN(3))*time.Second
				s.next = s.end + f.gap(g.EveryS)
			}
			if now < s.end {
				v += g.By
			}
		}
	}
	return v
}

// gap is a random wait, exponential with the mean everyS, at least 1 s.
func (f *faults) gap(everyS float64) time.Duration {
	return time.Duration(1+orUsual(everyS, jumpEveryS)*f.rng.ExpFloat64()) * time.Second
}
