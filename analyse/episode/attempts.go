package episode

import "time"

// tries are all attempts to light that failed. What came of one shows itself later: those from open on wait for it.
type tries struct {
	list []Attempt
	open int
}

func (x *tries) add(a Attempt) { x.list = append(x.list, a) }

// settle says what came of the attempts that wait for it.
func (x *tries) settle(then AttemptEnd) {
	for ; x.open < len(x.list); x.open++ {
		x.list[x.open].Then = then
	}
}

// counted takes attempts that only the appliance's own counter tells, at the time t when it was read: the count rose
// by n since before, and attempts whose flame was seen meanwhile are part of it. Where they belong is known as far as
// what followed is, a firing that began meanwhile, or a fault: they were before it, and its beginning dates them.
func (b *Builder) counted(n int, before, t time.Time) {
	for _, a := range b.tries.list {
		if a.Flame > 0 && a.At.After(before.Add(-endSlack)) && !a.At.After(t) {
			n--
		}
	}
	if b.brief != nil && b.brief.From.After(before.Add(-endSlack)) { // it is settled by itself
		n--
	}
	if n <= 0 || n > countedMost || b.cfg.HeatPump {
		return
	}
	a := Attempt{At: t, Start: b.startState(t)}
	fault, last := b.lastFault(), b.lastFiring()
	switch {
	case fault.After(before) || b.onset != nil:
		a.At, a.Then = fault, ThenLockout
	case last.From.After(before):
		a.At, a.Then, a.Start = last.From, ThenLit, b.lastStart()
	case b.gaveUp.After(before) && !b.askedFor():
		a.At, a.Then = b.gaveUp, ThenGivenUp
	}
	for range n {
		b.tries.add(a)
	}
	if a.Then != ThenUnknown {
		b.tries.settle(a.Then)
	}
}

// lastFault is the onset of the fault that stands, or of the last one; zero where there was none.
func (b *Builder) lastFault() time.Time {
	switch {
	case b.onset != nil:
		return b.onset.From
	case len(b.lockouts) > 0:
		return b.lockouts[len(b.lockouts)-1].From
	}
	return time.Time{}
}

// lastFiring is the firing under way or the last one that ended, empty where there was none. A flame that has yet to
// show whether it holds is none.
func (b *Builder) lastFiring() Span {
	switch {
	case b.firing != nil && (b.firing.Cut || b.now.Sub(b.firing.From) >= attemptBelow):
		return b.firing.Span
	case len(b.firings) > 0:
		return b.firings[len(b.firings)-1].Span
	}
	return Span{}
}

// lastStart is what was known at the start of the last firing.
func (b *Builder) lastStart() Start {
	if b.firing != nil && b.firing.From.Equal(b.lastFiring().From) {
		return b.firing.Start
	}
	return b.firings[len(b.firings)-1].Start
}

// countedMost is the largest rise of the counter between two readings that is taken for attempts: more is a counter
// that was set. Own proposal.
const countedMost = 50

// attempts are all that failed. A fault that cleared by itself was no lockout.
func (b *Builder) allAttempts(lockouts []Lockout) []Attempt {
	for i := range b.tries.list {
		a := &b.tries.list[i]
		if a.Then != ThenLockout {
			continue
		}
		for _, l := range lockouts {
			if !l.To.Before(a.At) {
				if !l.Locked {
					a.Then = ThenUnknown
				}
				break
			}
		}
	}
	return b.tries.list
}

// giveUp ends an ignition sequence whose purpose has gone, or gave way to another: what failed for one says nothing of
// the next. A flame that burns, or went out just now, says itself what came of its sequence; so does a fault.
func (b *Builder) giveUp(t time.Time) {
	if b.firing != nil || b.brief != nil || b.onset != nil {
		return
	}
	b.gaveUp = t
	b.tries.settle(ThenGivenUp)
	b.attempts = b.attempts[:0]
}
