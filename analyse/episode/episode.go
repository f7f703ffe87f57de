// Package episode says what happened: firings, heat demands, hot-water draws, lockouts, silences. It judges
// nothing; checks do that. Facts are small even for a year, so that what reads samples is one pass with bounded
// memory ([Builder]) and everything after it works on facts alone.
//
// Where the flame's own signal is known, it decides. Where it is not, firings are told from the shape of flow and
// return ([ByShape]), as far as sampling and the probes' lag allow; [Facts.Sights] say how far, and where nothing can
// be told.
package episode

import "time"

// Span is a stretch of time, UTC. Open tells that its end was not seen (the record ends there, or a gap begins);
// Cut that its beginning was not (the record begins there, or a gap ends).
type Span struct {
	From, To time.Time
	Cut      bool
	Open     bool
}

// Duration is To − From.
func (s Span) Duration() time.Duration { return s.To.Sub(s.From) }

// Overlap is the time that both spans share, never negative.
func (s Span) Overlap(o Span) time.Duration {
	from, to := s.From, s.To
	if o.From.After(from) {
		from = o.From
	}
	if o.To.Before(to) {
		to = o.To
	}
	return max(0, to.Sub(from))
}

// Contains tells whether t lies in the span, ends included.
func (s Span) Contains(t time.Time) bool { return !t.Before(s.From) && !t.After(s.To) }

// Use is what a firing was for.
type Use string

const (
	Heating  Use = "heating"
	HotWater Use = "hot-water"
)

// End is why a firing ended.
type End string

const (
	EndUnknown   End = ""
	EndSetpoint  End = "set-point"             // the water had reached its set-point, heat was still asked for
	EndDemand    End = "demand gone"           //
	EndHotWater  End = "hot water took over"   //
	EndFault     End = "fault"                 //
	EndLimit     End = "limit"                 // flow at its upper limit
	EndFlameLoss End = "flame lost"            // out within seconds, heat still asked for, set-point not reached
	EndRecord    End = "the record stops here" // cut by a gap or the end of the record
)

// Basis is what a firing was told from.
type Basis string

const (
	ByFlame  Basis = "flame"  // the flame's own signal
	ByOutput Basis = "output" // a heat pump's modulation or electric power, with flow and return
	ByShape  Basis = "shape"  // flow and return alone: how they warm and cool, the probes' lag taken out
)

// Firing is one burner run, from lighting to going out.
type Firing struct {
	Span
	Basis Basis
	// Rough: told by shape, wholly or in part, and not sharp: as short as can be told, beside such a pause, ended with
	// the pump, or with a stretch in it that may hide a rest.
	Rough          bool
	Use            Use
	UseKnown       bool // false: the bus does not say, Use is what the job sheet makes most likely
	End            End
	MeanModulation float64 // %, NaN-free: see ModulationSeen
	MinModulation  float64
	ModulationSeen bool
	FlowStart      float64 // °C at lighting, see FlowSeen
	FlowEnd        float64 // °C at the end
	FlowMax        float64
	FlowSeen       bool
	DeltaEnd       float64 // K, flow minus return of one source at the end, see DeltaSeen
	DeltaSeen      bool
	SetpointEnd    float64 // °C at the end, see SetpointSeen
	SetpointSeen   bool
	Rise           Rise           // how flow and return answered; not of a firing told by shape
	Settled        []SettledDelta // one for each source that gives both flow and return
	Start          Start          // what was known at lighting; of a firing told by the flame
	Excess         Excess         // the flow against its set-point
}

// SettledDelta is the settled flow–return difference of one firing by one source.
type SettledDelta struct {
	Source     string
	Mean       float64       // K
	MeanFlow   float64       // °C
	Modulation float64       // % while settled; see ModulationSeen
	ModSeen    bool          //
	For        time.Duration // how long it was settled
	From, To   time.Time
}

// Demand is a stretch in which heat was asked for.
type Demand struct{ Span }

// DrawKind is what hot water was made for.
type DrawKind string

const (
	DrawUnknown DrawKind = ""
	Reheat      DrawKind = "reheat" // of a cylinder
	Tap         DrawKind = "tap"    // at an instantaneous appliance
)

// Draw is a stretch of hot-water making.
type Draw struct {
	Span
	Kind  DrawKind
	Basis Basis // ByFlame: the bus or a flow meter says so; ByShape: from the shape of flow and return
}

// Overrun is a stretch in which water was kept moving after the burner's last work was done and nothing was asked for.
// Told by shape it is open: it lasted until To at the least.
type Overrun struct {
	Span
	After Use
	Basis Basis
}

// Sight says how well firings can be told over a stretch of the record, and why not better: what is told from the
// shape of flow and return has limits that sampling and the probes' lag set.
type Sight struct {
	Span
	Basis    Basis         // "" where firings cannot be told at all
	Source   string        // whose flame, or flow and return
	Interval time.Duration // usual time between readings
	Lag      time.Duration // time constant of the probes as found; ByShape only
	Shortest time.Duration // burns shorter than this, or pauses, can be missed or run together
	Because  string        // in words, for people
}

// Reset is how a lockout came to its end.
type Reset string

const (
	ResetUnseen  Reset = ""             // still locked out when the record ended
	ResetCommand Reset = "over the bus" // a reset command was seen
	ResetByHand  Reset = "by hand"      // ended without a command: at the appliance
	ResetPower   Reset = "by cutting the supply"
	ResetRefill  Reset = "by refilling"
	ResetItself  Reset = "by itself" // cleared unaided: it was a block, not a lockout
)

// Lockout is a stretch in which the appliance said it was in fault. Locked tells lockouts, which needed a person,
// from blocks that cleared by themselves.
type Lockout struct {
	Span
	Locked   bool
	Why      string // why it is taken for a lockout or a block
	Cause    string // ignition, flame-loss, overheat, low-pressure, sensor, air-pressure, unknown
	CauseWhy string
	Flags    int // fault flags, −1 unknown
	Code     int // fault code, −1 unknown
	// Diagnostic is the maker's diagnostic code as read while the fault stood, −1 unknown.
	Diagnostic int
	// Sign is what the appliance's indicator light showed, where a light told of the fault, else −1.
	Sign  int
	Reset Reset
	// GoneBy is when the appliance was next seen without the fault, where its end was not seen itself; else zero.
	GoneBy    time.Time
	Preceding Preceding
}

// Preceding is what was known just before a lockout. A value that was not known is absent.
type Preceding struct {
	DemandSince  time.Time // zero: heat was not asked for, or not known
	LastFiring   Span      // zero: none seen before
	Attempts     []Attempt // ignition attempts since the last firing that held, oldest first
	FailedStarts int       // by the appliance's own counter over the same time, −1 unknown
	Flow         *float64
	Return       *float64
	Pressure     *float64
	Outside      *float64
	Setpoint     *float64
	Frost        time.Duration // see [Start]
}

// AttemptEnd is what came of the ignition sequence that a failed attempt belongs to.
type AttemptEnd string

const (
	ThenUnknown AttemptEnd = ""
	ThenLit     AttemptEnd = "lit"      // a later attempt held
	ThenLockout AttemptEnd = "lockout"  //
	ThenGivenUp AttemptEnd = "given up" // nobody asked for heat any more
)

// Attempt is one try to light that did not hold.
type Attempt struct {
	At    time.Time     // without a flame: no later than this
	Flame time.Duration // how long a flame was seen; 0: none, told by the appliance's counter
	Then  AttemptEnd
	Start Start // what was known at the try; of one that only the counter tells, at the start it belongs to
	// Uncounted tells that the appliance's own count of failed starts, read before and after, did not rise with it.
	Uncounted bool
}

// SilenceReason says why a source was silent, as far as known.
type SilenceReason string

const (
	SilenceUnexplained SilenceReason = "unexplained"
	SilenceNoMains     SilenceReason = "no mains"           // the appliance's supply was off
	SilenceAdapter     SilenceReason = "adapter lost"       // the logger itself noted it
	SilenceLogger      SilenceReason = "logger not running" // a gap, not a silence
)

// Meanwhile is what another source saw of the burner while a bus was silent.
type Meanwhile uint8

const (
	NotSeen Meanwhile = iota
	Fired             // the flow warmed as only a burner warms it
	Idle              // the flow did not
)

// Silence is a stretch without a record from a source.
type Silence struct {
	Span
	Source    string
	Reason    SilenceReason
	Meanwhile Meanwhile
	Fell      bool // the flow by another source fell from the first minutes on
	Never     bool // no line ever came from this source
	Because   string
}

// Facts is all that happened in a record, each kind in order of time.
type Facts struct {
	From, To time.Time
	Firings  []Firing
	Demands  []Demand
	Unmet    []Unmet // stretches of demand that were not met, in order of time
	Draws    []Draw
	Overruns []Overrun
	Attempts []Attempt // all that failed
	Sights   []Sight   // how well firings could be told, in order of time
	Lockouts []Lockout
	Silences []Silence
	Disputes []Dispute // two sources of one 0/1 point, or a supply that is off beside a bus that answers
	Gaps     []Span    // stretches in which no logger ran
	Days     []Day     // what is summed up by day, in order; days without a reading are left out
	// Listened are the buses that a run listened to at all.
	Listened []string
}
