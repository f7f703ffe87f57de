package episode

import "math"

// learn takes sure rests with falling water into the fit of the lags. It smooths more than the telling of edges does:
// noise in the slopes would make the lags come out too short.
func (s *shaper) learn(done int, drive bool) {
	w, n, fast := s.scratch, s.n, s.fast()
	sum, lit, rests := 0.0, 0.0, false
	for i := s.first; i < done; i++ {
		if w.state[i] == shapeOn {
			sum, lit = sum+w.drive[i], lit+1
		} else if s.lag.sum()*w.f1[i] < -fast {
			rests = true
		}
	}
	if lit > 0 && drive {
		if s.drive == 0 {
			s.drive = sum / lit
		}
		s.drive += (sum/lit - s.drive) * lit / (lit + shapeBlock)
	}
	if !rests {
		return
	}
	h := max(w.half, s.lag.sum()/5)
	t := s.t[:n]
	slopes(w.f1[:n], t, s.f[:n], h)
	slopes(w.f2[:n], t, w.f1[:n], h)
	slopes(w.r1[:n], t, s.r[:n], h)
	means(w.f0[:n], t, s.f[:n], h)
	means(w.r0[:n], t, s.r[:n], h)
	next := n // the next burning sample
	for i := n - 1; i >= s.first; i-- {
		if w.state[i] == shapeOn {
			next = i
		}
		w.ahead[i] = next < n && t[next]-t[i] < 2*h+restMargin
	}
	last, cold := math.Inf(-1), false // cold: the pump stood before it fell, and what comes first has cooled by itself
	for i := s.first; i < done; i++ {
		if w.state[i] == shapeOn {
			last, cold = t[i], false
		} else if i > s.first && w.state[i-1] == shapeOn {
			_, cold = s.stood(i)
			cold = cold || w.state[i] == shapeStill
		}
		if !w.ahead[i] && !cold && t[i]-last > h+restMargin && t[i]-last < restTells*s.lag.sum() && s.lag.sum()*w.f1[i] < -fast {
			s.lag.add(w.f0[i]-w.r0[i], w.f1[i], w.r1[i], w.f2[i], min(t[i]-t[max(i-1, 0)], mostWeight))
		}
	}
	s.lag.solve()
}

const (
	// restMargin is how far from an edge samples must be that tell of the lags, besides the smoothing, s. Own proposals.
	restMargin = 4.0
	// restTells is for how many K after a stop a rest tells of the lags: later the losses of pipes tell more.
	restTells = 5.0
	// mostWeight is the longest time that one sample stands for, s.
	mostWeight = 10.0
)
