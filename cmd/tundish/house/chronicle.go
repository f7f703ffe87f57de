package house

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tundish/analyse/episode"
)

// afterglow is how long after a firing its hottest water is looked for: what is still in the metal (Firing.MaxK).
const afterglow = time.Minute

// chronicle writes the truth down as the house goes on.
type chronicle struct {
	Truth
	firing, demand, draw, silence, overrun bool // the last of the list is still going on
	attempts                               int  // failed since a flame last held
	open                                   int  // index of the first attempt whose outcome is open
	lockout                                bool

	aim          float64       // set-point of the last firing, °C
	heat         float64       // of the firing under way, kJ
	heated       time.Duration // of it with water through the heating
	served       episode.Use
	block        Block // the present one
	blocked      bool
	flags, code  uint8         // of it
	lastRefilled time.Duration // within the present block; never: not
}

// seen is what the chronicle sees of a second besides the burner.
type seen struct {
	demand, hotWater, overrun bool
	silent                    bool
	reason                    episode.SilenceReason
}

// seen looks round in the second that begins now.
func (h *House) seen(now time.Duration) (s seen) {
	s.demand, s.hotWater = h.asked.heating, h.makesHotWater()
	s.overrun = h.route != routeNone && h.boiler.mode == modeIdle
	dead, noted := h.faults.silent(now)
	s.silent = true
	switch {
	case h.faults.unlogged(now):
		s.reason = episode.SilenceLogger
	case !h.powered:
		s.reason = episode.SilenceNoMains
	case dead && noted:
		s.reason = episode.SilenceAdapter
	case dead: // an adapter that dies says nothing of it
		s.reason = episode.SilenceUnexplained
	default:
		s.silent = false
	}
	return s
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
func (c *chronicle) note(now time.Duration, b *boiler, h happened, s seen) {
	c.noteBurner(now, b, h)
	open(&c.Demands, &c.demand, s.demand, now)
	open(&c.Draws, &c.draw, s.hotWater, now)
	switch {
	case s.overrun && !c.overrun:
		c.Overruns = append(c.Overruns, Overrun{Span: Span{From: now}, After: c.served})
	case !s.overrun && c.overrun:
		c.Overruns[len(c.Overruns)-1].To = now
	}
	c.overrun = s.overrun
	c.noteBlock(now, b)
	c.hush(now, s)
}

func (c *chronicle) noteBurner(now time.Duration, b *boiler, h happened) {
	if h.lit {
		c.Firings = append(c.Firings, Firing{Span: Span{From: now}, Use: episode.HotWater, MaxK: math.Inf(-1)})
		c.firing, c.attempts, c.heat, c.heated = true, 0, 0, 0
		c.settle(ThenLit)
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
	if h.gaveUp {
		c.settle(ThenGivenUp)
		c.attempts = 0
	}
	if h.locked {
		n := c.attempts
		if h.lost {
			n = b.burner.losses
		}
		flags, code := b.fault()
		c.Lockouts = append(c.Lockouts, Lockout{Span: Span{From: now}, Cause: b.cause, Attempts: n, Flags: flags, Code: code})
		c.lockout = true
		c.settle(ThenLockout)
	}
}

// settle says what came of the attempts whose outcome was open.
func (c *chronicle) settle(outcome AttemptOutcome) {
	for ; c.open < len(c.Attempts); c.open++ {
		c.Attempts[c.open].Next = outcome
	}
}

// watch follows the firing after the water of the second has moved. exchanger is its water, °C; heating tells that
// water went through the heating.
func (c *chronicle) watch(now time.Duration, b *boiler, exchanger float64, heating bool) {
	if b.mode != modeIdle {
		c.served = episode.HotWater
		if heating {
			c.served = episode.Heating
		}
	}
	if len(c.Firings) == 0 {
		return
	}
	f := &c.Firings[len(c.Firings)-1]
	if c.firing {
		c.aim = b.setpoint
		c.heat += b.outputKW
		f.Mean = c.heat / (now + time.Second - f.From).Seconds()
		if b.outputKW > 0 && (f.Least == 0 || b.outputKW < f.Least) {
			f.Least = b.outputKW
		}
		if heating {
			c.heated += time.Second
		}
		f.Use = episode.HotWater
		if c.heated > valveTravel || 2*c.heated > now-f.From { // less is what passes while a valve moves
			f.Use = episode.Heating
		}
	}
	if c.firing || now < f.To+afterglow {
		f.MaxK = max(f.MaxK, exchanger-c.aim)
	}
}

// noteBlock follows what the boiler holds the burner off for by itself.
func (c *chronicle) noteBlock(now time.Duration, b *boiler) {
	cause, shown := b.block()
	if c.blocked && cause != c.block.Cause {
		c.block.To, c.blocked = now, false
		c.keep(c.block)
	}
	if cause != "" && !c.blocked {
		c.block, c.blocked, c.lastRefilled = Block{Span: Span{From: now}, Cause: cause, Shown: shown}, true, never
		c.flags, c.code = b.spec.shows(cause)
	}
}

// keep files a block: as a lockout that a person ended where water was let in, else as a block.
func (c *chronicle) keep(k Block) {
	if k.Cause == episode.CauseLowPressure && c.lastRefilled != never {
		c.Lockouts = append(c.Lockouts, Lockout{Span: k.Span, Cause: k.Cause, Flags: c.flags, Code: c.code, Reset: episode.ResetRefill})
		// The one that is under way stays the last: it may have begun earlier than this one.
		if n := len(c.Lockouts); c.lockout && n > 1 {
			c.Lockouts[n-2], c.Lockouts[n-1] = c.Lockouts[n-1], c.Lockouts[n-2]
		}
		return
	}
	c.Blocks = append(c.Blocks, k)
}

// refilled notes that a person lets water in.
func (c *chronicle) refilled(now time.Duration) {
	c.Refills = append(c.Refills, now)
	c.lastRefilled = now
}

func (c *chronicle) hush(now time.Duration, s seen) {
	if n := len(c.Silences); c.silence && (!s.silent || c.Silences[n-1].Reason != s.reason) {
		c.Silences[n-1].To, c.silence = now, false
	}
	if s.silent && !c.silence {
		c.Silences = append(c.Silences, Silence{Span: Span{From: now}, Reason: s.reason})
		c.silence = true
	}
}

// unlock ends a lockout.
func (c *chronicle) unlock(now time.Duration, how episode.Reset) {
	if c.lockout {
		l := &c.Lockouts[len(c.Lockouts)-1]
		l.To, l.Reset, c.lockout = now, how, false
		c.attempts = 0
	}
}

// close gives the truth until now: what is still going on is ended there, as open, and nothing of the chronicle itself
// changes.
func (c chronicle) close(now time.Duration) Truth {
	t := c.Truth
	t.Firings, t.Demands, t.Draws = slices.Clone(t.Firings), slices.Clone(t.Demands), slices.Clone(t.Draws)
	t.Attempts, t.Lockouts, t.Silences = slices.Clone(t.Attempts), slices.Clone(t.Lockouts), slices.Clone(t.Silences)
	t.Overruns, t.Blocks, t.Refills = slices.Clone(t.Overruns), slices.Clone(t.Blocks), slices.Clone(t.Refills)
	shut := func(s *Span) { s.To, s.Open = now, true }
	if c.firing {
		f := &t.Firings[len(t.Firings)-1]
		shut(&f.Span)
		f.End = episode.EndRecord
	}
	if c.demand {
		shut(&t.Demands[len(t.Demands)-1])
	}
	if c.draw {
		shut(&t.Draws[len(t.Draws)-1])
	}
	if c.overrun {
		shut(&t.Overruns[len(t.Overruns)-1].Span)
	}
	if c.silence {
		shut(&t.Silences[len(t.Silences)-1].Span)
	}
	if c.lockout {
		l := &t.Lockouts[len(t.Lockouts)-1]
		shut(&l.Span)
		l.Reset = episode.ResetUnseen
	}
	if c.blocked {
		k := c.block
		shut(&k.Span)
		t.Blocks = append(t.Blocks, k)
	}
	slices.SortStableFunc(t.Lockouts, func(a, b Lockout) int { return cmp.Compare(a.From, b.From) })
	t.Ended = now
	return t
}
