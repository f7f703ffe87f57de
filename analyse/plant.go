package analyse

import (
	"time"

	"tundish/decode/unit"
)

// Opt is a value that may not be known. The zero Opt is not known.
type Opt[T any] struct {
	Value T
	Known bool
}

// Some makes a known value.
func Some[T any](v T) Opt[T] { return Opt[T]{v, true} }

// Supply is how the appliance gets its mains.
type Supply uint8

const (
	SupplyUnknown Supply = iota
	PermanentLive
	SwitchedLive // the appliance, and with it the bus, dies when the demand ends
)

// HotWaterKind is how the plant makes hot water.
type HotWaterKind uint8

const (
	HotWaterUnknown HotWaterKind = iota
	NoHotWater
	CylinderHotWater
	InstantaneousHotWater
)

// Plant is what the job sheet's [plant] and [site] tables say. Whatever is not said is not known; a check that
// lacks what it needs says so.
type Plant struct {
	Kind string // "boiler", "heat-pump" or ""
	Fuel string
	// Condensing: the appliance is made to condense its flue gas.
	Condensing Opt[bool]
	Emitters   string
	OutputMax  Opt[unit.KW]
	OutputMin  Opt[unit.KW]
	Water      Opt[unit.Litre]
	// DesignFlow and DesignReturn give the design ΔT; see [Plant.DesignDeltaT].
	DesignFlow   Opt[unit.Celsius]
	DesignReturn Opt[unit.Celsius]
	Supply       Supply
	// IgnitionAttempts is the number of tries before lockout, by the maker's instructions.
	IgnitionAttempts Opt[int]
	HotWater         HotWaterKind
	MinimumPressure  Opt[unit.Bar]

	OutsideDesign  Opt[unit.Celsius]
	InsideDesign   Opt[unit.Celsius]
	DesignHeatLoss Opt[unit.KW]
	CalorificValue Opt[float64] // of the gas that is metered, gross, MJ/m³
}

// DesignDeltaT is design flow minus design return; without both it is not known.
func (p Plant) DesignDeltaT() (unit.Kelvin, bool) {
	if !p.DesignFlow.Known || !p.DesignReturn.Known {
		return 0, false
	}
	return p.DesignFlow.Value.Sub(p.DesignReturn.Value), true
}

// Site is what times and places mean for one job.
type Site struct {
	Job  string
	Zone *time.Location // of what people read; never of what is stored
}
