package cases

import (
	"fmt"
	"time"

	"tundish/cmd/tundish/house"
)

// Verdict is whether a home has a kind.
type Verdict string

const (
	Present  Verdict = "present"
	Absent   Verdict = "absent"
	Arguable Verdict = "arguable"
)

// Evidence is when: offsets from the scenario's start. Cause is of a lockout, else "". Open: still so at the end.
type Evidence struct {
	From, To time.Duration
	Cause    string
	Open     bool
}

// Label is the true verdict of one kind for one simulated case.
type Label struct {
	Kind     string
	Verdict  Verdict
	Value    float64 // the criterion's quantity; of the row that decided
	Because  string  // with figures
	Severity Severity
	Cause    string   // what the case does to bring this kind, where there is a word for it; of a lockout the commonest true one
	Causes   []string // the words that may stand first, Cause among them
	Evidence []Evidence
	Visible  bool // the points that would show it are in the capture
}

// Kinds are the sixteen kinds of finding, in the order in which they are told.
func Kinds() []string {
	return []string{"short-cycling", "low-delta-t", "high-delta-t", "oversized", "lockout", "ignition-retries", "demand-not-met",
		"no-circulation", "not-condensing", "flow-overshoot", "pressure-loss", "pressure-swing", "probe-disagreement",
		"sensor-fault", "cylinder-too-cool", "bus-silence"}
}

// judged is all that a verdict is made from.
type judged struct {
	s *house.Scenario
	t *house.Truth
	m *Measures
}

// Labels are the true verdicts of all kinds for a case that was simulated as s.
func Labels(c Case, s house.Scenario, t house.Truth, m Measures) []Label {
	j := judged{&s, &t, &m}
	of := map[string]func([]Criterion) Label{
		"short-cycling": j.shortCycling, "low-delta-t": j.lowDeltaT, "high-delta-t": j.highDeltaT, "oversized": j.oversized,
		"lockout": j.lockout, "ignition-retries": j.retries, "demand-not-met": j.demand, "no-circulation": j.circulation,
		"not-condensing": j.condensing, "flow-overshoot": j.overshoot, "pressure-loss": j.loss, "pressure-swing": j.swing,
		"probe-disagreement": j.disagreement, "sensor-fault": j.sensor, "cylinder-too-cool": j.cylinder, "bus-silence": j.silence,
	}
	rows := map[string][]Criterion{}
	for _, r := range Criteria() {
		rows[r.Kind] = append(rows[r.Kind], r)
	}
	var list []Label
	for _, k := range Kinds() {
		l := of[k](rows[k])
		l.Kind, l.Visible = k, visible(k, &s)
		if k == "cylinder-too-cool" && l.Verdict == Present && misled(&s, rows[k][0], l.Value) {
			l.Visible = false
		}
		switch words := c.Causes[k]; {
		case l.Verdict != Present:
		case l.Cause != "": // told by the events themselves
			l.Causes = []string{l.Cause}
		case len(words) > 0:
			l.Cause, l.Causes = words[0], words
		}
		list = append(list, l)
	}
	return list
}

// by makes a label of a value by a row.
func by(row Criterion, value float64, format string, args ...any) Label {
	v, s := row.judge(value)
	return Label{Verdict: v, Severity: s, Value: value, Because: fmt.Sprintf(format, args...)}
}

// absent is a kind that cannot be.
func absent(because string) Label { return Label{Verdict: Absent, Because: because} }

// arguable is one that the figures leave open.
func arguable(format string, args ...any) Label {
	return Label{Verdict: Arguable, Because: fmt.Sprintf(format, args...)}
}

// doubt turns a verdict of the kind v into arguable.
func (l Label) doubt(v Verdict, why string) Label {
	if l.Verdict == v {
		l.Verdict, l.Severity, l.Because = Arguable, "", l.Because+"; "+why
	}
	return l
}

// worse is the label that counts of two rows of one kind.
func worse(a, b Label) Label {
	rank := map[Verdict]int{Present: 2, Arguable: 1}
	if rank[b.Verdict] > rank[a.Verdict] {
		return b
	}
	return a
}
