package episode

import (
	"time"

	"tundish/decode"
)

// PressureDay is what the pressure did over a day.
type PressureDay struct{}

type pressureWatch struct{}

func (w *pressureWatch) take(b *Builder, p decode.Point, src *sourceValues, t time.Time, v float64) {}

func (w *pressureWatch) cut() {}

func (w *pressureWatch) end(at time.Time) PressureDay { return PressureDay{} }
