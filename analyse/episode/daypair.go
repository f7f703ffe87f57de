package episode

import (
	"time"

	"tundish/decode"
)

// PairDay is how far two sensors of the same water were apart over a day.
type PairDay struct{}

type pairWatch struct{}

func (w *pairWatch) take(b *Builder, p decode.Point, src *sourceValues, t time.Time, v float64) {}

func (w *pairWatch) cut() {}

func (w *pairWatch) end(at time.Time) []PairDay { return nil }
