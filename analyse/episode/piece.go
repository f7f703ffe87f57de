package episode

import (
	"slices"
	"time"
)

// A long record is analysed in pieces, one a local day, each by a Builder of its own that starts cold some hours before
// the day and goes on some hours after it. What a piece says depends on the records of that stretch alone: a day added
// to a record changes nothing before it, and days can be worked on in any order and at the same time.
const (
	// Lead is how long before its day a piece begins. Own proposal: the longest look back of any fact is that for frost
	// ([FrostSeen]); counters and powers stand for 3 h, outside temperatures for 2 h, set-points for 1 h.
	Lead = 6 * time.Hour
	// LeadByShape is the same where no bus tells of the flame: the probes' lag, and how far the burner drives flow and
	// return apart, show in the course of a day. Own proposal.
	LeadByShape = 30 * time.Hour
	// Tail is how long after its day a piece goes on, so that what begins in the day is mostly seen to its end. Own
	// proposal: longer than a reheat; what lasts longer is joined with what the next piece saw of it.
	Tail = 2 * time.Hour
)

// Piece is a stretch from midnight to midnight, one day, or several in which no record came. The zero Piece is a whole
// record in one go.
type Piece struct {
	From, To time.Time
	Lead     time.Duration // how long before From it begins to look
}

// Day is the piece of the day of t.
func (c *Config) Day(t time.Time) Piece {
	p := dayOf(t, c.Zone)
	p.Lead = Lead
	if len(c.Buses) == 0 {
		p.Lead = LeadByShape
	}
	return p
}

// dayOf is the day of t in a zone; nil: UTC.
func dayOf(t time.Time, zone *time.Location) Piece {
	if zone == nil {
		zone = time.UTC
	}
	y, m, d := t.In(zone).Date()
	return Piece{From: dayStart(y, m, d, zone).UTC(), To: dayStart(y, m, d+1, zone).UTC()}
}

// dayStart is the first moment of a local day. In some zones clocks are put forward at midnight, so that 00:00 is missing.
func dayStart(y int, m time.Month, d int, zone *time.Location) time.Time {
	t := time.Date(y, m, d, 0, 0, 0, 0, zone)
	if t.Day() != time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Day() {
		if _, end := t.ZoneBounds(); !end.IsZero() {
			return end
		}
	}
	return t
}

// Next is the day after.
func (p Piece) Next(zone *time.Location) Piece {
	next := dayOf(p.To, zone)
	next.From, next.Lead = p.To, p.Lead
	return next
}

// Begins and Ends bound the records that a piece looks at: from Begins on, before Ends.
func (p Piece) Begins() time.Time { return p.From.Add(-p.Lead) }

// Ends is when a piece stops looking.
func (p Piece) Ends() time.Time { return p.To.Add(Tail) }

func (p Piece) whole() bool { return p.From.IsZero() && p.To.IsZero() }

// owns tells whether what began at t is for this piece to tell.
func (p Piece) owns(t time.Time) bool { return p.whole() || !t.Before(p.From) && t.Before(p.To) }

// meets tells whether a span has a moment in the piece.
func (p Piece) meets(s Span) bool { return p.whole() || !s.To.Before(p.From) && s.From.Before(p.To) }

// runs are those of the stretch that the piece looks at, cut to it.
func (p Piece) runs(all []Run) []Run {
	if p.whole() {
		return all
	}
	var out []Run
	for _, r := range all {
		from, to := later(r.From, p.Begins()), earlier(r.To, p.Ends())
		if from.After(to) {
			continue
		}
		r.From, r.To = from, to
		out = append(out, r)
	}
	return out
}

// clipped is a stretch of a span that lies in a piece. before and after tell that the span goes on beyond the piece's
// borders.
type clipped struct {
	Span
	Before, After bool
}

// clip cuts spans to the piece.
func (p Piece) clip(spans []Span) []clipped {
	var out []clipped
	for _, s := range spans {
		if !p.meets(s) {
			continue
		}
		x := clipped{Span: s}
		if !p.whole() {
			x.Before, x.After = s.From.Before(p.From), !s.To.Before(p.To)
			x.From, x.To = later(s.From, p.From), earlier(s.To, p.To)
			if x.Before {
				x.Cut = false
			}
		}
		out = append(out, x)
	}
	return out
}

// appendBits goes on with the spans of the next piece.
func appendBits(spans []Span, open bool, next []clipped) ([]Span, bool) {
	for _, x := range next {
		if n := len(spans) - 1; x.Before && open && n >= 0 {
			spans[n].To, spans[n].Open = x.To, x.Open
		} else {
			spans = append(spans, x.Span)
		}
		open = x.After
	}
	return spans, open && len(next) > 0
}

// Part is what one piece found: small, whatever the number of readings. Nobody but [Join] reads it; fields are
// exported, here and in what they hold, so that a part can be kept in a file until the record has grown.
type Part struct {
	Piece                               Piece
	Flame, Demand, HeatActive, HotWater levelPart
	Draw, Supply, Pump, Fault           levelPart
	FlameCadence                        []CadenceBin
	Firings                             []Firing
	Sights                              []Sight // those by shape
	Attempts                            []Attempt
	Lockouts                            []Lockout
	Overruns                            []Overrun
	Unmet                               []unmetFound
	Reheats                             []clipped
	Cylinder, OutputFlame, OutputPower  bool
	Days                                []Day
	Buses                               []busPart
	Starts                              []startsAcross
	Disputes                            []Dispute
}

// levelPart is what a piece keeps of a level.
type levelPart struct {
	Seen         bool
	Owner        string
	Spans, Sight []clipped
}

// busPart is what a piece keeps of a bus.
type busPart struct {
	Source      string
	Ever        bool
	First, Last time.Time // lines
	Found       []foundSilence
}

func (p Piece) level(l *level) levelPart {
	return levelPart{l.seen, l.owner, p.clip(l.spans), p.clip(l.sight)}
}

// NewPiece starts a pass over the records of a piece.
func NewPiece(cfg Config, p Piece) *Builder {
	cfg.Runs = p.runs(cfg.Runs)
	b := NewBuilder(cfg)
	b.piece = p
	if !p.whole() {
		b.edge = p.From
		b.disputes.from, b.disputes.to = p.From, p.To
		b.days.last = momentOf(p.To)
	}
	return b
}

// sawBegin tells whether a piece saw a firing from its beginning on, and not only since the piece itself began to look.
func (p Piece) sawBegin(f Firing) bool {
	return p.whole() || !f.Cut || f.From.Sub(p.Begins()) > firstHold
}

// nearBorder is how far a start may lie before midnight by the later of two pieces and after it by the earlier. Own
// proposal: more than an edge told by shape moves by what else the piece saw.
const nearBorder = 10 * time.Minute

// Part ends the pass over a piece, whose record ends at to at the latest.
func (b *Builder) Part(to time.Time) *Part {
	p := b.piece
	b.settleBrief(to, true)
	b.settlePending(to, true)
	b.endFiring(b.flame.last, EndRecord)
	out := &Part{Piece: p, Buses: b.busParts(to)}
	for _, s := range b.byShape() {
		if s.Basis == ByShape || s.Basis == "" {
			for _, x := range p.clip([]Span{s.Span}) {
				s.Span = x.Span
				out.Sights = append(out.Sights, s)
			}
		}
	}
	for _, l := range b.finishLockouts() {
		if p.meets(l.Span) {
			out.Lockouts = append(out.Lockouts, l)
		}
	}
	for _, f := range b.firings {
		if p.whole() || f.To.After(p.From.Add(-nearBorder)) && f.From.Before(p.To) {
			out.Firings = append(out.Firings, f)
		}
	}
	for _, a := range b.tries.list {
		if p.owns(a.At) {
			out.Attempts = append(out.Attempts, a)
		}
	}
	b.overrun.stop()
	for _, o := range b.overrun.found {
		if p.owns(o.From) {
			out.Overruns = append(out.Overruns, o)
		}
	}
	b.unmet.stop(true)
	for _, u := range b.unmet.found {
		if p.owns(u.From) {
			out.Unmet = append(out.Unmet, u)
		}
	}
	for _, d := range b.days.finish(to, b.usesInPiece()) {
		if p.owns(d.From) {
			out.Days = append(out.Days, d)
		}
	}
	for _, c := range b.starts {
		across := slices.DeleteFunc(slices.Clone(c.across), func(x countedSilence) bool { return !p.owns(x.To) })
		if len(across) > 0 {
			out.Starts = append(out.Starts, startsAcross{c.source, across})
		}
	}
	out.Disputes = b.disputes.found()
	b.reheats.end()
	out.Reheats, out.Cylinder = p.clip(b.reheats.found), b.reheats.seen
	out.OutputFlame, out.OutputPower = b.output.flame, b.output.power.seen
	out.Flame, out.Demand, out.HeatActive, out.HotWater = p.level(&b.flame), p.level(&b.demand), p.level(&b.heatActive), p.level(&b.hotWater)
	out.Draw, out.Supply, out.Pump = p.level(&b.draw), p.level(&b.supply), p.level(&b.pump)
	out.Fault = p.level(&b.fault)
	out.Flame.Spans = nil // firings tell them
	out.FlameCadence = b.flame.cadence.Bins()
	return out
}

// usesInPiece are the firings with the use that the piece itself tells: some sums of a day are parted by it. What is
// told in the end may rest on more days than the piece saw.
func (b *Builder) usesInPiece() []Firing {
	kept := slices.Clone(b.firings)
	b.useByWord()
	b.useByReheat()
	b.useByWater()
	told := b.firings
	b.firings = kept
	return told
}

// busParts closes the sessions, and drops what is no longer than the source's usual interval of the day allows.
func (b *Builder) busParts(to time.Time) []busPart {
	var out []busPart
	for _, w := range b.buses {
		if len(b.sessions) == 0 { // nothing is known of runs: the record as it came
			if w.ever && to.Sub(w.last) >= holdAtLeast {
				s := w.silence(w.last, to)
				s.Open = true
				w.found = append(w.found, s)
			}
		} else {
			w.enter(b.sessions, len(b.sessions)-1)
			w.leave()
		}
		length := b.piece.Ends().Sub(b.piece.Begins())
		if b.piece.whole() {
			length = to.Sub(b.began)
		}
		x := busPart{Source: w.source, Ever: w.ever, First: w.first}
		if w.ever {
			x.Last = w.last
		}
		least := max(holdIntervals*w.cadence.Median(), habit(w.found, length))
		for _, s := range w.found {
			if s.Duration() >= least && b.piece.meets(s.Span) {
				x.Found = append(x.Found, s)
			}
		}
		out = append(out, x)
	}
	return out
}

// cross takes the pass over a border of its piece: what is summed up over a stretch without end is parted there.
func (b *Builder) cross() {
	switch p := b.piece; {
	case b.edge.Equal(p.From):
		b.unmet.cross(b.edge, b.now, true)
		b.edge = p.From.Add(Tail)
	case b.edge.Equal(p.To):
		b.unmet.cross(b.edge, b.now, false)
		b.edge = time.Time{}
	default: // the piece before ends here: of a firing from before, what follows is told to go on with what that saw
		if f := b.firing; f != nil && f.From.Before(p.From) && !p.sawBegin(f.Firing) {
			f.modSum, f.modFor = 0, 0
			for _, s := range b.sources {
				s.pair.begin()
			}
		}
		b.edge = p.To
	}
}

// sourcesListened are the buses that a run listened to at all.
func (b *Builder) sourcesListened() []string {
	var out []string
	for _, w := range b.buses {
		if slices.ContainsFunc(b.sessions, func(s session) bool { return slices.Contains(s.sources, w.source) }) {
			out = append(out, w.source)
		}
	}
	return out
}
