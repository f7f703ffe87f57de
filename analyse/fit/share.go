package fit

// share counts minutes, and those of them that show something. It forgets slowly.
type share struct{ of, n float64 }

const forgetFrom = 600 // minutes; then both are halved, so that the last half day of firing weighs most

func (s *share) add(shows bool) {
	s.of++
	if shows {
		s.n++
	}
	if s.of >= forgetFrom {
		s.of, s.n = s.of/2, s.n/2
	}
}

// mean is of what was added; it forgets slowly.
type mean struct{ of, sum float64 }

func (m *mean) add(v float64) {
	m.of, m.sum = m.of+1, m.sum+v
	if m.of >= forgetFrom {
		m.of, m.sum = m.of/2, m.sum/2
	}
}

func (m mean) value() float64 { return m.sum / max(1, m.of) }

// mostly tells whether enough minutes were seen and nearly all of them show it.
func (s share) mostly() bool { return s.of >= leastMinutes && s.n >= mostOf*s.of }

func (s share) judged() bool { return s.of >= leastMinutes }
