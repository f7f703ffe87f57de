package episode

import (
	"time"

	"tundish/decode"
)

// ReturnDay is at which return temperature the heat of a day was made.
type ReturnDay struct{}

type returnWatch struct{}

func (w *returnWatch) take(b *Builder, p decode.Point, src *sourceValues, t time.Time, v float64) {}

func (w *returnWatch) cut() {}

func (w *returnWatch) end(at time.Time) ReturnDay { return ReturnDay{} }
