package episode

import (
	"time"

	"tundish/decode"
)

// HeatDay is the heat made over a day, and what the weather was.
type HeatDay struct{}

type heatWatch struct{}

func (w *heatWatch) take(b *Builder, p decode.Point, src *sourceValues, t time.Time, v float64) {}

func (w *heatWatch) cut() {}

func (w *heatWatch) end(at time.Time) HeatDay { return HeatDay{} }
