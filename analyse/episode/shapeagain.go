package episode

import (
	"time"

	"tundish/decode"
)

// shapeLogMost bounds what is kept of a piece for the second look: 32 h of a flow and a return a second are 230 000.
// Own proposal; where more comes, the first look stands.
const shapeLogMost = 1 << 19

// shapeLog keeps what a shaper took over a piece. The lags, how far the burner drives flow and return apart and which is
// which show in the course of a day; a second look knows them from its first sample on.
type shapeLog struct {
	on   bool
	dark bool // the shape was needed at all
	t    []int64
	v    []float64
	what []uint8
}

const (
	logReturn = 1 << iota
	logDark
	logEnd // a gap between runs
)

func (l *shapeLog) add(p decode.Point, t time.Time, v float64, dark bool) {
	if !l.on {
		return
	}
	if len(l.t) == shapeLogMost {
		*l = shapeLog{}
		return
	}
	var what uint8
	if p == decode.Return {
		what = logReturn
	}
	if dark {
		what, l.dark = what|logDark, true
	}
	l.t, l.v, l.what = append(l.t, t.UnixNano()), append(l.v, v), append(l.what, what)
}

func (l *shapeLog) end() {
	if n := len(l.what); l.on && n > 0 {
		l.what[n-1] |= logEnd
	}
}

// again is the second look over a piece, or s itself where nothing is to be gained.
func (s *shaper) again() *shaper {
	l := s.log
	if !l.on || !l.dark {
		return s
	}
	x := &shaper{source: s.source, scratch: s.scratch, dark: -1, heatPump: s.heatPump, taps: s.taps,
		lag: s.lag, drive: s.drive, vote: s.vote, swapped: s.swapped, step: s.step, cadence: s.cadence}
	for i, what := range l.what {
		p := decode.Flow
		if what&logReturn != 0 {
			p = decode.Return
		}
		x.take(p, time.Unix(0, l.t[i]).UTC(), l.v[i], what&logDark != 0)
		if what&logEnd != 0 {
			x.end()
		}
	}
	x.end()
	return x
}
