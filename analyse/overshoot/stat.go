package overshoot

import (
	"math"
	"slices"
)

// share is how many of the values count as overshoot, 0…1.
func share(v []float64) float64 {
	n := 0
	for _, x := range v {
		if x >= overK {
			n++
		}
	}
	return float64(n) / max(1, float64(len(v)))
}

// median of the values, the lower one of the two in the middle; 0 for none.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return v[(len(v)-1)/2]
}

func round(x float64) float64 { return math.Round(x*10) / 10 }

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
