package episode

import "math"

// slowHalf is half the stretch over which slow drift is looked at, s. Own proposal.
const slowHalf = 120.0

const (
	// noiseShare is the noise of the drive that is good enough, of the burner's usual drive; noiseLeast and noiseMost
	// bound it, K. Own proposals.
	noiseShare, noiseLeast, noiseMost = 0.05, 0.3, 1.2
	// apart is the number of half stretches of smoothing that two edges must be apart to be told: own measurement on
	// simulated plants.
	apart = 4.0
)

// look tells the burner's state over the block and keeps the last tail samples for the next look.
func (s *shaper) look(tail int) {
	n := s.n
	done := n // what is decided now; of the tail, half is looked at again
	if tail > 0 {
		done = n - tail/2
	}
	switch {
	case n < 4:
		s.keep(0)
		return
	case s.dark < s.first || !s.paired: // the flame was known all the while, or cannot be told
		s.rest(s.t[max(0, s.first-1)])
	default:
		s.tell(n, done)
		s.was = s.scratch.state[done-1]
	}
	s.keep(min(tail, n))
	s.first = max(0, done-(n-s.n))
}

// tell finds the burns of the samples from first to done.
func (s *shaper) tell(n, done int) {
	s.smooth(n)
	if s.orient(n) {
		s.smooth(n)
	}
	sums := s.lag
	for looks := 0; ; looks++ { // what the first looks teach serves another one
		taught, drive := s.lag.learnt, s.drive
		s.weigh(n)
		s.viterbi(n)
		if s.heatPump {
			s.defrosts(n)
		}
		s.lag.m, s.lag.have = sums.m, sums.have // no rest is counted twice
		s.learn(done, looks == 0 || !taught)
		s.smooth(n)
		if looks == 2 || taught && drive > 0 {
			break
		}
	}
	s.edges(done)
}

// fast is how fast the flow falls, K over K seconds, where water moves and the burner is off.
func (s *shaper) fast() float64 {
	if s.drive == 0 {
		return fallsMost
	}
	return min(fallsMost, max(fallsShare*s.drive, 3*s.lag.sum()*s.scratch.noise))
}

// fallsMost is that fall where the drive is not known yet or great, K, and fallsShare its share of the drive. Own
// proposals.
const fallsMost, fallsShare = 2.0, 0.25

// rest closes what is open where the shape is no longer needed or no longer seen, at x s since base.
func (s *shaper) rest(x float64) {
	if s.known && s.was == shapeOn {
		s.burn.open = true
		s.finish(s.at(x), false)
	}
	s.known, s.was = false, shapeOff
}

// keep moves the last tail samples to the front.
func (s *shaper) keep(tail int) {
	if from := s.n - tail; from > 0 {
		copy(s.t[:], s.t[from:s.n])
		copy(s.f[:], s.f[from:s.n])
		copy(s.r[:], s.r[from:s.n])
		s.dark -= from
	}
	s.n = tail
}

// half is half the stretch over which slopes are taken, s: no longer than noise asks for, since what is smoothed is not
// told apart.
func (s *shaper) half(n int) float64 {
	dt := max((s.t[n-1]-s.t[0])/float64(n-1), 0.1)
	k, kt := s.lag.sum(), s.lag.probe()*s.lag.exchanger()
	may := min(max(noiseShare*s.drive, noiseLeast), noiseMost)
	h := 1.01 * dt
	for ; h < k/3; h *= 1.2 {
		per := max(3, 2*h/dt+1)
		n1 := s.noise() * math.Sqrt(12/per) / (2 * h)
		if k*n1+kt*n1*math.Sqrt(12/per)/(2*h) <= may {
			break
		}
	}
	return h
}

// smooth fills the slopes and the drive.
func (s *shaper) smooth(n int) {
	w := s.scratch
	t, f, r := s.t[:n], s.f[:n], s.r[:n]
	h := s.half(n)
	w.half = h
	slopes(w.f1[:n], t, f, h)
	slopes(w.r1[:n], t, r, h)
	slopes(w.f2[:n], t, w.f1[:n], h)
	means(w.f0[:n], t, f, h)
	means(w.r0[:n], t, r, h)
	per := max(1, 2*h*float64(n-1)/max(t[n-1]-t[0], 1))
	w.noise = s.noise() * math.Sqrt(12/per) / (2 * h)
	s.lag.guess(w, t, w.noise)
	k, tau, kt := s.lag.sum(), s.lag.probe(), s.lag.probe()*s.lag.exchanger()
	for i := range n {
		w.drive[i] = w.f0[i] - w.r0[i] - s.lag.offset() + k*w.f1[i] - tau*w.r1[i] + kt*w.f2[i]
	}
	slopes(w.slow[:n], t, f, max(slowHalf, 2*h))
	slopes(w.slowR[:n], t, r, max(slowHalf, 2*h))
	s.shortest, s.blur = max(apart*h, s.shortest), max(s.blur, k*w.noise)
}

// orient looks which of both is the hotter while one of them warms quickly: that one is the flow. It tells whether it
// had to exchange them.
func (s *shaper) orient(n int) bool {
	w := s.scratch
	for i := max(1, s.first); i < n; i++ {
		if up := max(w.f1[i], w.r1[i]); up > max(warmsFast, 4*w.noise) {
			s.vote += (s.f[i] - s.r[i]) * min(s.t[i]-s.t[i-1], settlePair.Seconds())
		}
	}
	s.vote = min(max(s.vote, -2*enoughVotes), 2*enoughVotes)
	if s.vote > -enoughVotes {
		return false
	}
	s.vote = -s.vote
	s.swapped = !s.swapped
	for i := range n {
		s.f[i], s.r[i] = s.r[i], s.f[i]
	}
	s.found, s.known, s.was = s.found[:0], false, shapeOff
	s.lag = lagFit{}
	if s.first > 0 {
		s.unsure = append(s.unsure, Span{From: s.sights[0].From, To: s.at(s.t[s.first])})
	}
	return true
}

const (
	// warmsFast is how fast water warms that a burner warms, K/s; enoughVotes the excess of one over the other while it
	// does that says which is which, K·s: 10 K over 3 min. Own proposals.
	warmsFast, enoughVotes = 0.02, 1800.0
)
