package episode

const (
	// takesHeat is by how many K the flow is the colder of both where heat is taken out of the water that moves: half a
	// compressor's output takes some 3 K (own assumption), two sound probes differ by up to 1 K (±0.5 K each, DS18B20
	// datasheet). Own proposal.
	takesHeat = 1.2
	// defrostShortest and defrostLongest bound how long a defrost takes, s: some minutes, 2 to 10 (common practice, no
	// source). A look at the drive lies lower for the time of the defrost and the lags.
	defrostShortest, defrostLongest = 60.0, 900.0
	// defrostGap is how soon after it a compressor warms the water again, s. Own proposal.
	defrostGap = 180.0
)

// defrosts joins the runs of a compressor across what it takes out of the water to thaw itself: the flow is the colder
// of both for some minutes, and then it goes on. Samples from first to n.
func (s *shaper) defrosts(n int) {
	w := s.scratch
	for i := s.first; i < n; i++ {
		if w.state[i] == shapeOn || (i == s.first && s.was != shapeOn) || (i > s.first && w.state[i-1] != shapeOn) {
			continue
		}
		j, cold, last := i, 0.0, s.t[i]
		for ; j < n && w.state[j] != shapeOn && s.t[j]-s.t[i] <= defrostLongest; j++ {
			if j > 0 && w.f0[j]-w.r0[j]-s.lag.offset() < -takesHeat {
				cold, last = cold+s.t[j]-s.t[j-1], s.t[j]
			}
		}
		if cold < defrostShortest {
			i = j - 1
			continue
		}
		if j == n || w.state[j] != shapeOn || s.t[j]-last > defrostGap { // it stopped with the defrost
			for j = i; j < n && s.t[j] <= last; j++ {
			}
		}
		for k := i; k < j; k++ {
			w.state[k] = shapeOn
		}
		i = j - 1
	}
}
