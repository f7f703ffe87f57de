package episode

import (
	"math"
	"time"

	"tundish/decode"
)

// PressureDay is what the pressure did over a day: what goes with what temperature of the water, and the steps.
type PressureDay struct {
	Readings int
	// Seldom is the longest usual time between two readings of pressure: the mean over the day. 0: none.
	Seldom time.Duration
	// Step is the smallest difference between two readings in sequence, bar; 0: pressure never changed.
	Step float64
	// Low and High are the lowest and highest pressure that at least two readings in sequence showed, bar.
	Low, High     float64
	LowAt, HighAt time.Time
	// Spans are the stretches between steps, in order of time; a day's halves are apart, too.
	Spans []PressureSpan
	// Steps are changes within minutes that no warming or cooling explains: water let in or out. What comes while the
	// water is being heated is none, however steep: such a change shows by the pressure of the next cold water.
	Steps []PressureStep
}

// PressureSpan is a stretch of a day in which nobody let water in or out, as far as can be seen.
type PressureSpan struct {
	Source   string  // that gave the temperature
	FlowOnly bool    // its mean water temperature is the flow's alone
	Unsure   bool    // nobody says whether the water moved, or for what; flow and return stand in
	Base     float64 // bar, of its first reading
	AfterCut bool    // nobody looked just before
	Moving   []PressureCell
	Rest     []PressureCell // of water that stood for hours
}

// PressureCell is pressure and temperature, averaged over readings at much the same temperature of water.
type PressureCell struct {
	Bin      int     // of five kelvin: 8 is 40 to 45 °C
	Level    int     // of a quarter of a bar from the span's Base, so that two levels at one temperature do not blur
	For      float64 // s, the time that the readings stand for
	Water    float64 // °C, mean of flow and return
	Pressure float64 // bar
	At       float64 // s after the day's begin, mean
}

// PressureStep is a change of pressure within minutes.
type PressureStep struct {
	At       time.Time
	From, To float64 // bar
	Water    float64 // °C, mean then
}

// Up tells whether water came in.
func (s PressureStep) Up() bool { return s.To > s.From }

const (
	// mixedAfter is how long water must move before what flow and return show is the system's. Own proposal: the
	// time in which a heating's content goes round (90 l at 15 l/min: 6 min), and some more.
	mixedAfter = 10 * time.Minute
	// stoodFor is how long water must stand before the sensors at the appliance show what the house does. Own proposal.
	stoodFor = 3 * time.Hour
	// pressureStands is the longest time that one reading of pressure stands for. Own proposal.
	pressureStands = 10 * time.Minute
	// waterFresh is how old flow and return may be when pressure comes. Own proposal.
	waterFresh = 3 * time.Minute
	// waterChange is the silence of one source after which another one's temperature is taken. Own proposal.
	waterChange = 30 * time.Minute
	// movingDelta is the difference of flow and return, K, from which water is being heated and moves. Own proposal.
	movingDelta = 3.0
	// mostSpans bounds a day's stretches. Own proposal.
	mostSpans = 12
)

// pressed is one reading of pressure, with the hottest and coolest water at that time.
type pressed struct {
	t     time.Time
	p     float64
	water float64
	wet   bool // the water's temperature was known
	seen  bool
	burns bool // heat is being put in that flow and return need not show yet
}

type pressureWatch struct {
	owner     string
	last      pressed
	recent    []pressed // the last minutes
	heating   bool      // water moves for heating
	known     bool
	since     time.Time // of heating's present state
	hotWater  time.Time // when it was last on
	switched  time.Time // when something began or stopped that moves water
	switches  uint8
	burning   bool
	lit       time.Time // when the burner began to burn
	burnt     time.Time // when it was last seen on
	halved    bool      // the day's second half has begun
	resolving float64   // the smallest difference yet, bar
	changes   uint8     // of how many, up to three
	fresh     bool      // a span must begin
	afterCut  bool

	day      PressureDay
	total    time.Duration
	counted  int
	anything bool
}

func (w *pressureWatch) take(b *Builder, p decode.Point, src *sourceValues, t time.Time, v float64) {
	switch p {
	case decode.Flow, decode.Return, decode.Pressure:
	default:
		return
	}
	w.state(b, t, src)
	if !b.flame.stale(t) && b.flame.on {
		if !w.burning {
			w.lit = t
		}
		w.burning, w.burnt = true, t
	} else {
		w.burning = false
	}
	if p != decode.Pressure {
		return
	}
	if w.last.seen && w.owner != src.name && since(t, w.last.t) <= waterChange {
		return
	}
	if w.owner != src.name {
		w.owner, w.last, w.recent, w.fresh = src.name, pressed{}, w.recent[:0], true
	}
	w.pressure(b, t, v)
}

// state follows whether the heating's water moves.
func (w *pressureWatch) state(b *Builder, t time.Time, src *sourceValues) {
	var bits uint8
	hot := !b.hotWater.stale(t) && b.hotWater.on || !b.draw.stale(t) && b.draw.on
	heating, known := false, true
	switch {
	case !b.pump.stale(t):
		heating = b.pump.on && !hot
	case !b.heatActive.stale(t):
		heating = b.heatActive.on && !hot
	case !b.demand.stale(t) && !b.flame.stale(t):
		heating = b.demand.on && !hot
	case !b.flame.stale(t) && (!b.hotWater.stale(t) || !b.cfg.HotWaterMade):
		heating = b.flame.on && !hot
	default:
		known = false
		f, r := src.values[decode.Flow], src.values[decode.Return]
		switch {
		case !f.seen || !r.seen || f.age(t) > waterFresh || r.age(t) > waterFresh:
			heating = w.heating // this source cannot tell
		default:
			heating = f.v-r.v >= movingDelta && !hot
		}
	}
	if heating {
		bits |= 1
	}
	if hot {
		bits |= 2
		w.hotWater = t
	}
	if !b.pump.stale(t) && b.pump.on {
		bits |= 4
	}
	if bits != w.switches {
		w.switches, w.switched = bits, t
	}
	if heating != w.heating || w.since.IsZero() {
		w.heating, w.since = heating, t
	}
	w.known = known
}

func (w *pressureWatch) pressure(b *Builder, t time.Time, v float64) {
	d := &w.day
	now := pressed{t: t, p: v, seen: true}
	water, source, flowOnly, seen := w.mean(b, t)
	now.water, now.wet = water, seen
	now.burns = !w.burnt.IsZero() && since(t, w.burnt) <= burnShows && since(t, w.lit) <= burnMixes
	if !w.halved && since(t, b.days.from) >= 12*time.Hour {
		w.halved, w.fresh = true, true
	}
	gap := time.Duration(0)
	if w.last.seen {
		gap = since(t, w.last.t)
		w.total += gap
		w.counted++
		if x := abs(v - w.last.p); x > 1e-6 {
			if d.Step == 0 || x < d.Step {
				d.Step = x
			}
			w.changes = min(w.changes+1, 3)
			if w.resolving == 0 || x < w.resolving {
				w.resolving = x
			}
		}
		if gap <= waterChange {
			low, high := max(v, w.last.p), min(v, w.last.p)
			if !w.anything || low < d.Low {
				d.Low, d.LowAt = low, t
			}
			if !w.anything || high > d.High {
				d.High, d.HighAt = high, t
			}
			w.anything = true
		}
	}
	d.Readings++
	if gap > time.Hour {
		w.fresh, w.afterCut = true, true // water may have been let in meanwhile
		w.recent = w.recent[:0]
	}
	if seen {
		w.steps(now)
	}
	w.last = now
	if !seen {
		return
	}
	weight := min(gap, pressureStands).Seconds()
	if weight <= 0 {
		return
	}
	at := since(t, b.days.from).Seconds()
	quiet := w.hotWater.IsZero() || since(t, w.hotWater) > mixedAfter
	switch stands := since(t, w.since); {
	case w.heating && stands >= mixedAfter && quiet:
		s := w.span(source, flowOnly, !w.known, v)
		s.Moving = put(s.Moving, s.Base, water, v, weight, at)
	case !w.heating && stands >= stoodFor && (w.hotWater.IsZero() || since(t, w.hotWater) > stoodFor):
		s := w.span(source, flowOnly, !w.known, v)
		s.Rest = put(s.Rest, s.Base, water, v, weight, at)
	}
}

// span is the stretch under way.
func (w *pressureWatch) span(source string, flowOnly, unsure bool, p float64) *PressureSpan {
	n := len(w.day.Spans)
	if n > 0 && !w.fresh {
		if s := &w.day.Spans[n-1]; s.Source == source && s.FlowOnly == flowOnly && s.Unsure == unsure {
			return s
		}
	}
	if n >= mostSpans { // a day of steps: what follows is left out of none, but put together
		w.fresh = false
		return &w.day.Spans[n-1]
	}
	w.day.Spans = append(w.day.Spans, PressureSpan{Source: source, FlowOnly: flowOnly, Unsure: unsure, Base: p, AfterCut: w.afterCut})
	w.fresh, w.afterCut = false, false
	return &w.day.Spans[n]
}

func put(cells []PressureCell, base, water, p, weight, at float64) []PressureCell {
	bin, level := int(math.Floor(water/5)), int(math.Floor((p-base)*4+1e-6))
	i := 0
	for i < len(cells) && (cells[i].Bin < bin || cells[i].Bin == bin && cells[i].Level < level) {
		i++
	}
	if i == len(cells) || cells[i].Bin != bin || cells[i].Level != level {
		cells = append(cells, PressureCell{})
		copy(cells[i+1:], cells[i:])
		cells[i] = PressureCell{Bin: bin, Level: level}
	}
	c := &cells[i]
	c.For += weight
	share := weight / c.For
	c.Water += share * (water - c.Water)
	c.Pressure += share * (p - c.Pressure)
	c.At += share * (at - c.At)
	return cells
}

// mean is the temperature of the water: of flow and return by one source, else of a flow alone.
func (w *pressureWatch) mean(b *Builder, t time.Time) (water float64, source string, flowOnly, ok bool) {
	good := func(v value) bool { return v.seen && v.age(t) <= waterFresh }
	rank, best := 0, -1
	for i, s := range b.sources {
		r := 0
		if good(s.values[decode.Flow]) {
			r = 2
			if good(s.values[decode.Return]) {
				r = 4
			}
			if s.name == w.owner {
				r++
			}
		}
		if r > rank || r == rank && r > 0 && s.name < b.sources[best].name {
			rank, best = r, i
		}
	}
	if best < 0 {
		return 0, "", false, false
	}
	s := b.sources[best]
	f := s.values[decode.Flow].v
	if rank < 4 {
		return f, s.name, true, true
	}
	return (f + s.values[decode.Return].v) / 2, s.name, false, true
}

func (w *pressureWatch) cut() {
	w.last, w.recent, w.fresh, w.afterCut = pressed{}, w.recent[:0], true, true
	w.since, w.switched, w.hotWater, w.burning = time.Time{}, time.Time{}, time.Time{}, false
}

func (w *pressureWatch) end(at time.Time) PressureDay {
	d := w.day
	if w.counted > 0 {
		d.Seldom = w.total / time.Duration(w.counted)
	}
	w.day, w.total, w.counted, w.anything = PressureDay{}, 0, 0, false
	w.fresh, w.halved = true, false
	return d
}

func abs(x float64) float64 { return max(x, -x) }
