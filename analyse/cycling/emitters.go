package cycling

import (
	"math"

	"tundish/analyse"
)

func insideOf(pl analyse.Plant) float64 {
	if pl.InsideDesign.Known {
		return float64(pl.InsideDesign.Value)
	}
	return usualInside
}

// openEmitters is what the emitters give at a mean flow temperature with every valve open and the design flow of water,
// kW: the design heat loss by the excess temperature to the emitters' exponent. Return and flow are the nearer the less
// they give.
func openEmitters(pl analyse.Plant, flow float64) (float64, bool) {
	if !pl.DesignHeatLoss.Known || !pl.DesignFlow.Known || !pl.DesignReturn.Known {
		return 0, false
	}
	inside := insideOf(pl)
	design := float64(pl.DesignFlow.Value+pl.DesignReturn.Value)/2 - inside
	loss, half := float64(pl.DesignHeatLoss.Value), float64(pl.DesignFlow.Value-pl.DesignReturn.Value)/2
	if design <= 0 || half < 0 || flow <= inside {
		return 0, false
	}
	n := radiatorExponent
	if pl.Emitters == "underfloor" {
		n = floorExponent
	}
	low, high := 0.0, 10.0 // of the design output; bisected
	for range 40 {
		mid := (low + high) / 2
		if excess := flow - half*mid - inside; excess > 0 && math.Pow(excess/design, n) > mid {
			low = mid
		} else {
			high = mid
		}
	}
	return loss * low, low > 0
}

// weatherLoad is the design heat loss scaled to an outside temperature, kW, no gains taken off.
func weatherLoad(pl analyse.Plant, outside float64) (float64, bool) {
	if !pl.DesignHeatLoss.Known || !pl.OutsideDesign.Known {
		return 0, false
	}
	inside := insideOf(pl)
	span := inside - float64(pl.OutsideDesign.Value)
	if span <= 0 || outside >= inside {
		return 0, false
	}
	return float64(pl.DesignHeatLoss.Value) * (inside - outside) / span, true
}
