package episode

import (
	"time"

	"tundish/decode"
)

// CylinderDay is how hot the store became over a day.
type CylinderDay struct{}

type cylinderWatch struct{}

func (w *cylinderWatch) take(b *Builder, p decode.Point, src *sourceValues, t time.Time, v float64) {}

func (w *cylinderWatch) cut() {}

func (w *cylinderWatch) end(at time.Time) CylinderDay { return CylinderDay{} }
