package condensing

import (
	"fmt"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// bins are amounts by return temperature, as the facts have them.
type bins []float32

func (b bins) total() (sum float64) {
	for _, v := range b {
		sum += float64(v)
	}
	return sum
}

func (b *bins) add(other []float32, times float64) {
	if len(*b) < len(other) {
		*b = append(*b, make(bins, len(other)-len(*b))...)
	}
	for i, v := range other {
		(*b)[i] += float32(times * float64(v))
	}
}

// amount is burning of one use by one source's return.
type amount struct {
	For                bins
	weight             map[episode.HeatBy]*bins
	returnS            float64 // °C·s
	spreadS, spreadFor float64 // K·s, s
	unseen             float64 // s
}

func (a *amount) add(r *episode.ReturnHeat) {
	a.For.add(r.For, 1)
	if r.Weight != nil {
		if a.weight == nil {
			a.weight = map[episode.HeatBy]*bins{}
		}
		if a.weight[r.By] == nil {
			a.weight[r.By] = &bins{}
		}
		a.weight[r.By].add(r.Weight, 1)
	}
	a.returnS += float64(r.ReturnS)
	a.spreadS += float64(r.SpreadS)
	a.spreadFor += float64(r.SpreadFor)
	a.unseen += float64(r.Unseen)
}

// heat is what one source's return says of a stretch.
type heat struct {
	source             string
	heating, undivided amount
	hotWater           float64                    // s
	unseen             float64                    // s of heating or of unknown use
	byFor              map[episode.HeatBy]float64 // s of burning, by what weighs it
}

func (h *heat) add(r *episode.ReturnBy) {
	h.heating.add(&r.Heating)
	h.undivided.add(&r.Undivided)
	h.hotWater += r.HotWater.Seconds() + float64(r.HotWater.Unseen)
	h.unseen += float64(r.Heating.Unseen + r.Undivided.Unseen)
	if h.byFor == nil {
		h.byFor = map[episode.HeatBy]float64{}
	}
	for _, x := range []*episode.ReturnHeat{&r.Heating, &r.Undivided} {
		h.byFor[x.By] += x.Seconds()
	}
}

// gather sums up the record by source.
func gather(p *analyse.Pass) (out []heat) {
	at := map[string]int{}
	for i := range p.Facts.Days {
		for j := range p.Facts.Days[i].Return.Sources {
			r := &p.Facts.Days[i].Return.Sources[j]
			k, ok := at[r.Source]
			if !ok {
				k = len(out)
				at[r.Source] = k
				out = append(out, heat{source: r.Source})
			}
			out[k].add(r)
		}
	}
	return out
}

// by is what weighs the heat: what nearly all of the burning has, else its time alone.
func (h *heat) by() episode.HeatBy {
	total := h.heating.For.total() + h.undivided.For.total()
	for _, k := range []episode.HeatBy{episode.HeatByPower, episode.HeatByModulation, episode.HeatBySpread} {
		if h.byFor[k] >= 0.9*total {
			return k
		}
	}
	return episode.HeatUnknown
}

// weighed is the heat of an amount by return temperature, in units that compare within the record.
func (a *amount) weighed(by episode.HeatBy, least float64) bins {
	w := a.weight[by]
	switch {
	case by == episode.HeatUnknown || w == nil:
		return a.For
	case by == episode.HeatByModulation:
		var out bins
		out.add(a.For, least)
		out.add(*w, 1-least)
		return out
	}
	return *w
}

// least is the output at modulation 0 by the greatest.
func least(p *analyse.Pass) float64 {
	if a, b := p.Plant.OutputMin, p.Plant.OutputMax; a.Known && b.Known && b.Value > 0 && a.Value <= b.Value {
		return float64(a.Value / b.Value)
	}
	for i := range p.Facts.Days {
		if m := p.Facts.Days[i].Heat.ModulationMin; m > 0 && m <= 100 {
			return m / 100
		}
	}
	return leastFire
}

// verdict is what one source's return says.
type verdict struct {
	source          string
	by              episode.HeatBy
	low, high       float64 // share of the heat above the dew point, at least and at most, 0…1
	sure            float64 // of the heat with a known return, above the dew point's middle
	dewLow, dewHigh float64 // °C
	error           float64 // K
	clip            bool
	burnH           float64 // h, with known return, for heating
	hotWaterH       float64
	known, unknown  float64 // h by use
	hotMay          float64 // share of the burning of unknown use that may be for hot water
	byUse           bool    // it would be decided if all burning of unknown use were for heating
	unseen          float64 // share of the burning
	returnC         float64 // mean, by time
	spreadK         float64 // mean flow − return; see spreadSeen
	spreadSeen      bool
}

func (v verdict) mid() float64 { return v.sure }
func (v verdict) dew() float64 { return (v.dewLow + v.dewHigh) / 2 }

// judge weighs the burning against the dew point. The return of firings of unknown use may be that of hot water.
func (h *heat) judge(p *analyse.Pass, dewLow, dewHigh float64) verdict {
	series := decode.Series{Source: h.source, Point: decode.Return}
	v := verdict{source: h.source, by: h.by(), dewLow: dewLow, dewHigh: dewHigh, error: float64(p.SensorOf(series).Error), clip: !isBus(p, h.source),
		hotWaterH: h.hotWater / 3600, known: h.heating.For.total() / 3600, unknown: h.undivided.For.total() / 3600}
	v.burnH = v.known
	parts := []*amount{&h.heating}
	days := p.Facts.To.Sub(p.Facts.From).Hours() / 24
	if v.unknown > 0 {
		v.hotMay = min(1, hotWaterH*days/v.unknown)
	}
	if v.unknown > v.known && v.hotMay <= hotWaterMay { // the heating must be among it
		v.burnH += v.unknown
		parts = append(parts, &h.undivided)
	}
	total, hot, warm, mid, plainHot, plainWarm := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
	clip := 0.0
	if v.clip {
		clip = contactK
	}
	for _, a := range parts {
		w := a.weighed(v.by, least(p))
		t := w.total()
		share := func(c float64) float64 { s, _ := episode.Above(w, c); return s }
		a1, a2, a3 := share(dewHigh+v.error), share(dewLow-v.error-clip), share(v.dew())
		plainHot, plainWarm = plainHot+t*a1, plainWarm+t*a2
		if a == &h.undivided {
			a1, a2 = max(0, (a1-v.hotMay)/(1-v.hotMay)), min(1, a2/(1-v.hotMay))
		}
		total, hot, warm, mid = total+t, hot+t*a1, warm+t*a2, mid+t*a3
	}
	if total <= 0 {
		v.burnH = 0
		return v
	}
	v.byUse = plainHot > mostShare*total || plainWarm < mostShare*total
	seconds, returns, spread, spreadFor := 0.0, 0.0, 0.0, 0.0
	for _, a := range parts {
		seconds, returns = seconds+a.For.total(), returns+a.returnS
		spread, spreadFor = spread+a.spreadS, spreadFor+a.spreadFor
	}
	v.unseen = h.unseen / (h.unseen + seconds)
	v.low, v.high, v.sure = hot/total*(1-v.unseen), warm/total*(1-v.unseen)+v.unseen, mid/total
	v.returnC = returns / seconds
	if spreadFor > 0.5*seconds {
		v.spreadK, v.spreadSeen = spread/spreadFor, true
	}
	return v
}

func isBus(p *analyse.Pass, source string) bool {
	for _, b := range p.Buses {
		if b == source {
			return true
		}
	}
	return false
}

func (v verdict) tell(p *analyse.Pass) {
	by := string(v.by)
	if v.by == episode.HeatUnknown {
		by = "burning time alone"
	}
	if v.burnH == 0 {
		p.Measured("burning for heating by "+v.source, "none with a known return; %.1f h for hot water, %.1f h of unknown use", v.hotWaterH, v.unknown)
		return
	}
	p.Measured("heat above the dew point by "+v.source, "%.0f to %.0f %%, %.0f %% at %.1f °C, weighed by %s over %.1f h of burning; sensor error %.1f K%s",
		100*v.low, 100*v.high, 100*v.sure, v.dew(), by, v.burnH, v.error, clipWords(v.clip))
	p.Measured("return while burning by "+v.source, "mean %.1f °C", v.returnC)
	if v.unknown > v.known {
		p.LeftOpen("hot water", "nobody says what most firings were for; up to %.0f %% of their heat is taken as hot water", 100*v.hotMay)
	}
}

func clipWords(clip bool) string {
	if clip {
		return fmt.Sprintf(", and %.0f K for a clip-on probe that reads low", contactK)
	}
	return ""
}
