package episode

import (
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
	// Stood is how long the water stood although it was to move for heating: flow stayed far above return with the burner
	// off. What flow and return show is not the system's then, and none of the Spans has it.
	Stood time.Duration
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
	stands    bool      // it is to move, and does not
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
	if w.last.seen && w.owner != src.name && t.Sub(w.last.t) <= waterChange {
		return
	}
	if w.owner != src.name {
		w.owner, w.last, w.recent, w.fresh = src.name, pressed{}, w.recent[:0], true
	}
	w.pressure(b, t, v)
}

func (w *pressureWatch) pressure(b *Builder, t time.Time, v float64) {
	d := &w.day
	now := pressed{t: t, p: v, seen: true}
	water, spread, source, flowOnly, seen := w.mean(b, t)
	now.water, now.wet = water, seen
	now.burns = !w.burnt.IsZero() && t.Sub(w.burnt) <= burnShows && t.Sub(w.lit) <= burnMixes
	if !w.halved && t.Sub(b.days.from) >= 12*time.Hour {
		w.halved, w.fresh = true, true
	}
	gap := time.Duration(0)
	if w.last.seen {
		gap = t.Sub(w.last.t)
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
	if !flowOnly {
		w.standing(b, t, water, spread)
	}
	if w.stands {
		d.Stood += min(gap, pressureStands)
		return
	}
	at := t.Sub(b.days.from).Seconds()
	quiet := w.hotWater.IsZero() || t.Sub(w.hotWater) > mixedAfter
	switch stands := t.Sub(w.since); {
	case w.heating && stands >= mixedAfter && quiet:
		s := w.span(source, flowOnly, !w.known, v)
		s.Moving = put(s.Moving, s.Base, water, v, weight, at)
	case !w.heating && stands >= stoodFor && (w.hotWater.IsZero() || t.Sub(w.hotWater) > stoodFor):
		s := w.span(source, flowOnly, !w.known, v)
		s.Rest = put(s.Rest, s.Base, water, v, weight, at)
	}
}

func (w *pressureWatch) cut() {
	w.last, w.recent, w.fresh, w.afterCut = pressed{}, w.recent[:0], true, true
	w.since, w.switched, w.hotWater, w.burning, w.stands = time.Time{}, time.Time{}, time.Time{}, false, false
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
