package episode

import (
	"time"

	"tundish/decode"
)

// SensorDay is what one sensor gave over a day that water cannot have.
type SensorDay struct{}

type sensorWatch struct{}

func (w *sensorWatch) reading(r decode.Reading) {}

func (w *sensorWatch) cut() {}

func (w *sensorWatch) end(at time.Time) []SensorDay { return nil }
