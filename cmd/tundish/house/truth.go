package house

import (
	"time"

	"tundish/analyse/episode"
)

// Span is a stretch of a scenario, as offsets from its start, resolution 1 s. Open tells that the simulation ended
// before it did.
type Span struct {
	From, To time.Duration
	Open     bool
}

// Duration is To − From.
func (s Span) Duration() time.Duration { return s.To - s.From }

// Firing is a burner run: a flame that was proved. Flames of failed attempts are in [Attempt]. A run of a heat pump's
// compressor is a firing without a flame. Use is hot water only where no water went through the heating.
type Firing struct {
	Span
	Use   episode.Use
	End   episode.End
	MaxK  float64 // hottest water in the exchanger less set-point while it burned and a minute after, K
	Mean  float64 // mean output, kW
	Least float64 // least output, kW
}

// Attempt is one try to light that failed. Flame is how long a flame showed, 0: none.
type Attempt struct {
	At    time.Duration // when the attempt was given up
	Flame time.Duration
	Next  AttemptOutcome
}

// AttemptOutcome is what came of the ignition sequence that a failed attempt belongs to.
type AttemptOutcome uint8

const (
	ThenUnknown AttemptOutcome = iota // the record ended
	ThenLit                           // a later attempt of the same sequence held
	ThenLockout                       //
	ThenGivenUp                       // nobody wanted heat any more
)

// Overrun is a stretch in which the pump ran on with no demand.
type Overrun struct {
	Span
	After episode.Use
}

// Block is a stretch in which the boiler held the burner off by itself and let it go by itself.
type Block struct {
	Span
	Cause string // low-pressure, air-pressure
	Shown bool   // the fault bit was up
}

// Lockout is a stretch in which the boiler was held off until a person acted.
type Lockout struct {
	Span
	Cause    string // one of the words of tundish/analyse/episode
	Attempts int    // failed attempts, or flames lost, that led to it
	Flags    uint8
	Code     uint8
	Reset    episode.Reset
}

// Silence is a stretch in which the bus adapter printed nothing: without mains, or, unexplained, because the adapter
// died. The first frame after mains come back is some seconds later than To.
type Silence struct {
	Span
	Reason episode.SilenceReason
}

// Truth is what happened, known because it was made to happen. Each list is in order of time.
type Truth struct {
	Ended    time.Duration // how much was simulated
	Firings  []Firing
	Demands  []Span // the room unit asked for heat
	Draws    []Span // hot water was being made
	Attempts []Attempt
	Lockouts []Lockout
	Silences []Silence
	Overruns []Overrun
	Blocks   []Block
	Refills  []time.Duration // when water was let in
	Ledger   Ledger
}

// Ledger is the heat since the start, J. Two sums must close: circuit and house.
type Ledger struct {
	Fuel         float64 // burnt, on the gross (higher) heating value; a heat pump's electricity
	Flue         float64 // left with the flue gas, latent heat included
	Ambient      float64 // taken from outside by a heat pump
	CondensateKg float64
	Burner       float64 // into the exchanger's water
	Emitters     float64 // to the rooms
	CasingPipes  float64 // to the rooms
	HotWater     float64 // through coil or plate
	WaterMetal   float64 // change of heat stored in the circuit
	Gains        float64 // people, appliances, sun
	CylinderLoss float64 // to the rooms
	Outside      float64 // lost by the building
	Fabric       float64 // change of heat stored in air and fabric
	Drawn        float64 // left at the taps
	Cylinder     float64 // change of heat stored in the cylinder
}

// Circuit is what the circuit's sum leaves unexplained, as a share of the burner's heat: burner = emitters + losses +
// hot water + change of heat stored. 0 before any firing.
func (l Ledger) Circuit() float64 {
	if l.Burner == 0 {
		return 0
	}
	return (l.Burner - l.Emitters - l.CasingPipes - l.HotWater - l.WaterMetal) / l.Burner
}

// House is the same for the building with its cylinder: emitters, losses, gains and hot water came in; what went
// outside and to the drain left; the rest is stored. As a share of the heat that came in.
func (l Ledger) House() float64 {
	in := l.Emitters + l.CasingPipes + l.Gains + l.HotWater
	if in == 0 {
		return 0
	}
	return (in - l.Outside - l.Fabric - l.Drawn - l.Cylinder) / in
}

// chronicle writes the truth down as the house goes on.
type chronicle struct {
	Truth
	firing, demand, draw, silence bool // the last of the list is still going on
	attempts                      int  // failed since a flame last held
	lockout                       bool
}

// open begins or ends a span kept as the last of list.
func open(list *[]Span, going *bool, is bool, now time.Duration) {
	switch {
	case is && !*going:
		*list = append(*list, Span{From: now})
	case !is && *going:
		(*list)[len(*list)-1].To = now
	}
	*going = is
}

// note takes down one second.
func (c *chronicle) note(now time.Duration, b *boiler, h happened, enable, powered, adapterDead bool) {
	if h.lit {
		use := episode.Heating
		if b.mode == modeHotWater {
			use = episode.HotWater
		}
		c.Firings = append(c.Firings, Firing{Span: Span{From: now}, Use: use})
		c.firing, c.attempts = true, 0
	}
	if (h.out || h.lost) && c.firing {
		f := &c.Firings[len(c.Firings)-1]
		f.To, f.End, c.firing = now, b.why, false
		if h.lost {
			f.End = episode.EndFlameLoss
		}
	}
	if h.failed {
		c.Attempts = append(c.Attempts, Attempt{At: now, Flame: h.flame})
		c.attempts++
	}
	if h.locked {
		n := c.attempts
		if h.lost {
			n = b.burner.losses
		}
		c.Lockouts = append(c.Lockouts, Lockout{Span: Span{From: now}, Cause: b.cause, Attempts: n, Flags: b.flags,
			Code: b.spec.FaultCode, Reset: b.resetHow})
		c.lockout = true
	}
	open(&c.Demands, &c.demand, enable, now)
	open(&c.Draws, &c.draw, powered && b.mode == modeHotWater && !b.locked(), now)
	c.hush(now, powered, adapterDead)
}

func (c *chronicle) hush(now time.Duration, powered, adapterDead bool) {
	reason := episode.SilenceUnexplained // an adapter that dies says nothing of it
	if !powered {
		reason = episode.SilenceNoMains
	}
	is := !powered || adapterDead
	if n := len(c.Silences); c.silence && (!is || c.Silences[n-1].Reason != reason) {
		c.Silences[n-1].To, c.silence = now, false
	}
	if is && !c.silence {
		c.Silences = append(c.Silences, Silence{Span: Span{From: now}, Reason: reason})
		c.silence = true
	}
}

// unlock ends a lockout.
func (c *chronicle) unlock(now time.Duration) {
	if c.lockout {
		c.Lockouts[len(c.Lockouts)-1].To, c.lockout = now, false
		c.attempts = 0
	}
}

// close ends what is still going on at the end of the simulation.
func (c *chronicle) close(now time.Duration) Truth {
	shut := func(s *Span, going bool) {
		if going {
			s.To, s.Open = now, true
		}
	}
	if n := len(c.Firings); n > 0 {
		shut(&c.Firings[n-1].Span, c.firing)
		if c.firing {
			c.Firings[n-1].End = episode.EndRecord
		}
	}
	if n := len(c.Demands); n > 0 {
		shut(&c.Demands[n-1], c.demand)
	}
	if n := len(c.Draws); n > 0 {
		shut(&c.Draws[n-1], c.draw)
	}
	if n := len(c.Silences); n > 0 {
		shut(&c.Silences[n-1].Span, c.silence)
	}
	if n := len(c.Lockouts); n > 0 && c.lockout {
		shut(&c.Lockouts[n-1].Span, true)
		c.Lockouts[n-1].Reset = episode.ResetUnseen
	}
	c.Ended = now
	return c.Truth
}
