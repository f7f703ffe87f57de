package cycling

import (
	"fmt"
	"math"
	"time"

	"tundish/analyse"
	"tundish/analyse/emitter"
	"tundish/analyse/episode"
	"tundish/analyse/water"
	"tundish/decode/unit"
)

const (
	// usualDifferential is the span from off to on that a burner usually has, K, and swingBurns how many burns in a
	// row its span is read from: the highest and the lowest of several, as one burn can fall between two readings.
	usualDifferential = 8.0
	swingBurns        = 6
	// narrowSwing and plainSwing bound the span that is hardly any differential, K.
	narrowSwing, plainSwing = 3.0, 5.0
	// quickNarrow and quickPlain are the same where the burner is not held back: it overshoots by what its metal and
	// the sensor's lag store.
	quickNarrow, quickPlain = 4.0, usualDifferential
	// noPause is a pause so short that no anti-cycle time holds the burner back.
	noPause = time.Minute
	// narrowUnsure is how far a narrow span counts where a usual one would give short burns too, and the pauses are long.
	narrowUnsure = 0.4
	// takesLittle and takesEnough bound the share of what open emitters give at that flow temperature; below the
	// first they cannot be open, above the last they are. takenFrom is where it begins to speak against shut valves.
	takesLittle, takenFrom, takesEnough = 0.35, 0.7, 1.1
	takesSomewhat                       = 0.7
	// radiatorExponent and floorExponent are how emitters answer to their excess temperature.
	radiatorExponent, floorExponent = emitter.PanelExponent, emitter.FloorExponent
	// usualInside is the room temperature where the job sheet does not say, °C.
	usualInside = 20.0
	// turnsDown is the least output by the load of that weather up to which the burner need not cycle at all, and
	// cannot the one from which it must: a sheet's heat loss is good to a quarter or so.
	turnsDown, mustCycle = 0.5, 0.9
	// fixedRange is greatest output by least up to which a burner has one output only.
	fixedRange = 1.5
	// ranLong is a burn after which a warm-up is over, and asCold how much colder it may have been then, K.
	ranLong = 2 * time.Hour
	asCold  = 3.0
	// ranBefore is the strength of that sign for shut valves.
	ranBefore = 0.5
)

// balance is what the heat balance of the cycles says: steady cycling gives off L = P·t_on/(t_on + t_off).
type balance struct {
	swing     float64 // K from the burner's going on to its going off; swingSeen
	swingSeen bool
	stretched time.Duration // what the burn would last at a usual differential
	pause     time.Duration // median
	on        time.Duration // median
	load      float64       // kW that the circuit takes; loadSeen. With modulation unknown no less than this
	loadSeen  bool
	exact     bool    // the output is known, not only its least
	most      float64 // kW, no more than this; 0: not known
	open      float64 // kW that open emitters would give at that flow temperature; openSeen
	openSeen  bool
	volume    float64 // l, with the load taken off; needs load and swing
	weather   float64 // kW, the design heat loss scaled to that weather; weatherSeen
	seen      bool    // of weather
	outside   float64 // °C, median; outsideSeen
	outSeen   bool
	longest   time.Duration // longest burn in weather no colder than this
}

// weighCycles reads the balance from the burns of the spells and the pauses between them; all are the heating burns
// of the record.
func weighCycles(p *analyse.Pass, all []episode.Firing, spells []spell) balance {
	var b balance
	var pauses, ons []time.Duration
	var swings, mean, out []float64
	var energy, most, seconds float64
	fill, known := modulationOf(all, spells)
	for _, s := range spells {
		in := all[s.first : s.last+1]
		swings = append(swings, swingsOf(in)...)
		for i, f := range in {
			ons = append(ons, f.Duration())
			if f.Start.Outside.Known {
				out = append(out, float64(f.Start.Outside.Value))
			}
			if f.FlowSeen {
				mean = append(mean, (f.FlowStart+f.FlowMax)/2)
			}
			if i+1 == len(in) {
				break
			}
			off := in[i+1].From.Sub(f.To)
			pauses = append(pauses, off)
			if p.Plant.OutputMin.Known && off < joinSpells {
				if !f.ModulationSeen && known {
					f.MeanModulation, f.ModulationSeen = fill, true
				}
				energy += outputOf(p.Plant, f) * f.Duration().Seconds()
				most += float64(p.Plant.OutputMax.Value) * f.Duration().Seconds()
				seconds += in[i+1].From.Sub(f.From).Seconds()
			}
		}
	}
	b.on, b.pause = median(ons), median(pauses)
	if len(swings) > 0 {
		b.swing, b.swingSeen = median(swings), true
		b.stretched = time.Duration(float64(b.on) * max(1, usualDifferential/max(b.swing, 0.1)))
	}
	pl := p.Plant
	if seconds > 0 && energy > 0 {
		b.load, b.loadSeen = energy/seconds, true
		b.exact = known && pl.OutputMax.Known || pl.OutputMax.Known && float64(pl.OutputMax.Value) <= fixedRange*float64(pl.OutputMin.Value)
		b.most = b.load
		if !b.exact {
			b.most = most / seconds
		}
	}
	if b.swingSeen && b.loadSeen && b.swing > 0 && b.on > 0 {
		b.volume = b.load * b.pause.Seconds() / (water.VolumeHeat60 * b.swing)
	}
	if len(mean) > 0 {
		b.open, b.openSeen = openEmitters(pl, median(mean))
	}
	if len(out) > 0 {
		b.outside, b.outSeen = median(out), true
		b.weather, b.seen = weatherLoad(pl, b.outside)
	}
	b.longest = b.ranInSuch(p.Facts.Firings)
	return b
}

// modulationOf is the usual modulation of the burns, %, for those in which it was not read; known with a few.
func modulationOf(all []episode.Firing, spells []spell) (float64, bool) {
	var mods []float64
	for _, s := range spells {
		for _, f := range all[s.first : s.last+1] {
			if f.ModulationSeen {
				mods = append(mods, f.MeanModulation)
			}
		}
	}
	return median(mods), len(mods) >= swingBurns
}

// swingsOf gives highest less lowest flow over each few burns in a row. Burns told by shape do not count: a probe's lag
// flattens a short burn.
func swingsOf(in []episode.Firing) []float64 {
	var out []float64
	low, high, n := math.Inf(1), math.Inf(-1), 0
	for _, f := range in {
		if !f.FlowSeen || f.Basis == episode.ByShape {
			continue
		}
		low, high, n = min(low, f.FlowStart), max(high, f.FlowMax), n+1
		if n == swingBurns {
			out = append(out, high-low)
			low, high, n = math.Inf(1), math.Inf(-1), 0
		}
	}
	if len(out) == 0 && n >= shortInARow {
		out = append(out, high-low)
	}
	return out
}

// ranInSuch is the longest heating burn that began in weather not much colder than that of the cycling.
func (b *balance) ranInSuch(all []episode.Firing) time.Duration {
	longest := time.Duration(0)
	for _, f := range all {
		if f.Use != episode.Heating || f.Basis == episode.ByShape && f.Rough || !b.outSeen || !f.Start.Outside.Known {
			continue
		}
		if float64(f.Start.Outside.Value) >= b.outside-asCold {
			longest = max(longest, f.Duration())
		}
	}
	return longest
}

// narrow is how much it looks like hardly any differential, or none that holds: when the flame goes out, the return's
// water washes the exchanger cool within seconds, and without an anti-cycle time the burner lights again. 0…1.
func (b balance) narrow() float64 {
	if !b.swingSeen {
		return 0
	}
	if b.pause < noPause {
		held := clamp(2*(1-b.pause.Seconds()/noPause.Seconds())) * clamp(2-b.swing/usualDifferential)
		return max(held, clamp((quickPlain-b.swing)/(quickPlain-quickNarrow)))
	}
	n := clamp((plainSwing - b.swing) / (plainSwing - narrowSwing))
	if b.stretched < shortBurn {
		n *= narrowUnsure
	}
	return n
}

// share is what the circuit takes by what open emitters would give.
func (b balance) share() (float64, bool) {
	if !b.loadSeen || !b.openSeen || b.open <= 0 {
		return 0, false
	}
	return b.load / b.open, true
}

// shut is how much the heat taken speaks for shut valves, and taken how much against, 0…1 each.
func (b balance) shut() (shut, taken float64) {
	r, ok := b.share()
	if !ok {
		return 0, 0
	}
	taken = clamp((r - takenFrom) / (takesEnough - takenFrom))
	if b.most > 0 {
		shut = clamp((takesSomewhat - b.most/b.open) / (takesSomewhat - takesLittle))
	}
	if b.longest >= ranLong {
		shut = max(shut, ranBefore*(1-taken))
	}
	return shut, taken
}

// roomy is how far the least output exceeds the load of that weather, 0…1; 1 where it is not known.
func (b balance) roomy(least analyse.Opt[unit.KW]) float64 {
	if !b.seen || b.weather <= 0 || !least.Known {
		return 1
	}
	return clamp((float64(least.Value)/b.weather - turnsDown) / (mustCycle - turnsDown))
}

// tell keeps the balance for whoever asks why.
func (b balance) tell(p *analyse.Pass) {
	if b.swingSeen {
		p.Measured("flow from burner on to burner off", "%.1f K: at a usual %.0f K the burns would last about %s", b.swing, usualDifferential, analyse.Span(b.stretched))
	}
	if b.loadSeen {
		s := fmt.Sprintf("%.1f kW by output and the times on and off", b.load)
		if !b.exact {
			s = fmt.Sprintf("%.1f kW or more: the modulation is not known", b.load)
		}
		p.Measured("heat that the circuit took", "%s", s)
	} else {
		p.LeftOpen("heat that the circuit took", "the least output is not in the job sheet")
	}
	if b.volume > 0 {
		s := fmt.Sprintf("about %.0f l, load taken off", b.volume)
		if p.Plant.Water.Known {
			s += fmt.Sprintf(", of %.0f l in the system", float64(p.Plant.Water.Value))
		}
		p.Measured("water that takes part", "%s", s)
	}
	if r, ok := b.share(); ok {
		p.Measured("of what open emitters give at that flow temperature", "%.0f %%", r*100)
	}
	if b.seen && p.Plant.OutputMin.Known {
		p.Measured("least output by the load of that weather", "%.1f (%.1f kW at %.0f °C)", float64(p.Plant.OutputMin.Value)/b.weather, b.weather, b.outside)
	} else {
		p.LeftOpen("least output above the load of that weather", "it needs the outside temperature, and least output, heat loss and design temperatures in the job sheet")
	}
}
