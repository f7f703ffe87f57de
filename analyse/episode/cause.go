package episode

import (
	"fmt"
	"strings"
	"time"
)

// causeOf says what held the burner off: by the flags where the bus gave them, else by what was seen around it.
func (b *Builder) causeOf(w *faultWatch) (cause, because string) {
	if s, ok := b.cfg.Signs[w.Sign]; ok && s.Cause != "" {
		return s.Cause, "the appliance's indicator light says so by the job sheet: " + s.Words
	}
	if w.Flags >= 0 {
		switch {
		case w.Flags&flagLowPressure != 0:
			return CauseLowPressure, "the appliance's fault flags say low water pressure"
		case w.Flags&flagOverheat != 0:
			return CauseOverheat, "the appliance's fault flags say water over-temperature"
		case w.Flags&flagAirPressure != 0:
			return CauseAirPressure, "the appliance's fault flags say air-pressure fault"
		case w.Flags&flagGasFlame != 0:
			if lost, why := flameLost(w, b.firings); lost {
				return CauseFlameLoss, "the fault flags say gas or flame fault, and " + why
			}
			return CauseIgnition, "the fault flags say gas or flame fault, and no flame held before it"
		}
	}
	return b.causeByContext(w)
}

func (b *Builder) causeByContext(w *faultWatch) (cause, because string) {
	p := w.Preceding
	least := b.cfg.MinimumPressure
	if least == 0 {
		least = emptyPressure
	}
	switch {
	case w.rail != nil:
		return CauseSensor, fmt.Sprintf("a water sensor read %.0f °C, which water here cannot have", *w.rail)
	case w.lowestSeen && w.lowest < least:
		return CauseLowPressure, fmt.Sprintf("the pressure was %.2f bar, below %.1f bar", w.lowest, least)
	case p.Flow != nil && *p.Flow >= hotLimit:
		return CauseOverheat, fmt.Sprintf("the flow was at %.0f °C", *p.Flow)
	case len(p.Attempts) > 0 || p.FailedStarts > 0:
		return CauseIgnition, "attempts to light had failed just before"
	}
	if w.Flags >= 0 {
		return CauseUnknown, "the appliance's fault flags name no cause, and nothing seen before the fault says why"
	}
	if lost, why := flameLost(w, b.firings); lost {
		return CauseFlameLoss, why
	}
	return inVain(&w.Lockout)
}

const (
	inferredIgnition = "heat was asked for and no flame came before the fault; the appliance gave no flags, so this is inferred"
	noWordOfCause    = "the appliance gave no flags, and nothing seen before the fault says why"
)

// inVain is the cause where nothing else tells it: at best an inference.
func inVain(l *Lockout) (cause, because string) {
	if calledInVain(l) {
		return CauseIgnition, inferredIgnition
	}
	return CauseUnknown, noWordOfCause
}

// inferred tells whether the cause is no more than an inference.
func (l *Lockout) inferred() bool { return l.CauseWhy == inferredIgnition }

// retold tells the cause anew, once more is known of what was before the fault than the piece had seen that judged it.
func (l *Lockout) retold(seen Preceding) {
	switch {
	case l.Cause == CauseFlameLoss:
		l.CauseWhy = strings.Replace(l.CauseWhy, heldFor(l.From, seen.LastFiring), heldFor(l.From, l.Preceding.LastFiring), 1)
	case l.CauseWhy == inferredIgnition || l.CauseWhy == noWordOfCause:
		l.Cause, l.CauseWhy = inVain(l)
	}
}

// calledInVain tells whether the burner should have burned and did not: heat was asked for, and either the call was
// new or the water was well below its set-point; a burner may rest in a call.
func calledInVain(w *Lockout) bool {
	p := w.Preceding
	if p.DemandSince.IsZero() || w.From.Sub(p.DemandSince) < triedFor || w.From.Sub(p.LastFiring.To) < triedFor {
		return false
	}
	if p.Flow != nil && p.Setpoint != nil {
		return *p.Flow < *p.Setpoint-lossShort
	}
	return p.DemandSince.After(p.LastFiring.To)
}

// flameLost tells whether the last firing had held, and went out shortly before the fault without having done its work.
func flameLost(w *faultWatch, firings []Firing) (bool, string) {
	last := w.Preceding.LastFiring
	if last.From.IsZero() || w.From.Sub(last.To) > flameLossBefore || len(w.Preceding.Attempts) > 0 || w.Preceding.FailedStarts > 0 {
		return false, ""
	}
	for i := len(firings) - 1; i >= 0 && i >= len(firings)-2; i-- {
		if f := firings[i]; f.From.Equal(last.From) && f.End.byControl() {
			return false, ""
		}
	}
	return true, heldFor(w.From, last)
}

// heldFor says for how long a flame had held that went out before a fault at t.
func heldFor(t time.Time, last Span) string {
	return fmt.Sprintf("a flame that had held for %s went out %s before it", words(last.Duration()), words(max(0, t.Sub(last.To))))
}

// byControl tells whether the burner was stopped as it should be.
func (e End) byControl() bool {
	return e == EndSetpoint || e == EndDemand || e == EndHotWater || e == EndLimit
}
