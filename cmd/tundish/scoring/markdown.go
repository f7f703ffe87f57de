package scoring

import (
	"fmt"
	"strconv"
	"strings"
)

// Markdown writes the table for people. command is the command line that makes it: same command, same bytes.
func (t *Table) Markdown(command string) string {
	var b strings.Builder
	fmt.Fprintf(&b, preface, command, t.seeds(), t.Days, t.Days*len(t.Seeds))
	for _, p := range t.Plants {
		fmt.Fprintf(&b, "* **%s**: %s.\n", p.Name, p.Doc)
	}
	fmt.Fprintf(&b, counting, every(usualBus.Tolerance()), every(usualProbes.Tolerance()), every(edgeOfSight))
	t.bus(&b)
	t.others(&b)
	t.probes(&b)
	t.probesDetail(&b)
	t.both(&b)
	t.limits(&b)
	return b.String()
}

func (t *Table) seeds() string {
	list := make([]string, len(t.Seeds))
	for i, s := range t.Seeds {
		list[i] = strconv.FormatUint(s, 10)
	}
	return strings.Join(list, ", ")
}

var firingColumns = []string{"true", "aside", "found", "precision", "recall", "F1", "count", "start", "stop", "use", "end"}

func firingCells(f *Firings) []string {
	return []string{strconv.Itoa(f.True), strconv.Itoa(f.Aside), strconv.Itoa(f.Found), ratio(f.Precision()), ratio(f.Recall()),
		ratio(f.F1()), percent(f.CountError()), f.Start.String(), f.Stop.String(), of(f.UseRight, f.Matched), of(f.EndRight, f.Ends)}
}

// bus is the table of firings by the flame's own signal.
func (t *Table) bus(b *strings.Builder) {
	b.WriteString(busWords)
	head(b, append([]string{"plant, status every"}, firingColumns...)...)
	for _, p := range t.plants() {
		for _, l := range statusEvery {
			t.busRow(b, p, Listening{Status: l})
		}
	}
	for _, p := range t.Plants {
		if p.group() {
			t.busRow(b, p, usualBus)
		}
	}
	for _, l := range statusEvery {
		row(b, append([]string{"**all**, " + every(l)}, firingCells(&t.pooled(Listening{Status: l}).Firings)...)...)
	}
}

func (t *Table) busRow(b *strings.Builder, p Plant, l Listening) {
	row(b, append([]string{p.Name + ", " + every(l.Status)}, firingCells(&t.score(p, l).Firings)...)...)
}

// others is the table of everything that is no firing.
func (t *Table) others(b *strings.Builder) {
	fmt.Fprintf(b, othersWords, usualBus, usualProbes)
	head(b, "plant, by", "episode", "true", "aside", "found", "precision", "recall", "start", "stop", "right")
	for _, l := range []Listening{usualBus, usualProbes} {
		by := "bus"
		if !l.Bus() {
			by = "probes"
		}
		for _, p := range t.Plants {
			if l.Bus() || !p.group() {
				othersRows(b, p.Name+", "+by, t.score(p, l), l.Bus())
			}
		}
		othersRows(b, "**all**, "+by, t.pooled(l), l.Bus())
	}
}

func othersRows(b *strings.Builder, name string, s *Score, bus bool) {
	line := func(what string, x *Spans, right string) {
		if x.True+x.Found > 0 {
			row(b, name, what, strconv.Itoa(x.True), strconv.Itoa(x.Aside), strconv.Itoa(x.Found), ratio(x.Precision()),
				ratio(x.Recall()), x.Start.String(), x.Stop.String(), right)
		}
	}
	kind := func(x *Spans) string { return of(x.Right, x.Matched) }
	if bus {
		l := &s.Lockouts
		line("lockouts", &Spans{Tally: l.Tally, Start: l.Onset, Stop: l.Reset},
			"cause "+of(l.Cause, l.Matched)+", reset "+of(l.ResetRight, l.Ended))
		line("blocks", &s.Blocks, none)
		line("failed attempts", &s.Attempts, "outcome "+kind(&s.Attempts))
		line("demands", &s.Demands, none)
		reason := "reason " + kind(&s.Silences.Spans)
		if n := s.Silences.LeftOpen; n > 0 {
			reason += fmt.Sprintf(", %d left open", n)
		}
		line("silences", &s.Silences.Spans, reason)
	}
	line("hot water", &s.Draws, "kind "+kind(&s.Draws))
	line("overruns", &s.Overruns, "after "+kind(&s.Overruns))
}

// probes is, for each plant, what the shape of flow and return tells, by sampling and lag.
func (t *Table) probes(b *strings.Builder) {
	b.WriteString(probesWords)
	for _, p := range t.plants() {
		f := &t.score(p, usualProbes).Firings
		fmt.Fprintf(b, "\n**%s** (%d true firings", p.Name, f.True)
		if f.Unseen > 0 {
			fmt.Fprintf(b, "; %d more for hot water, unseen", f.Unseen)
		}
		b.WriteString(")\n\n")
		t.lagHead(b)
		for _, sweep := range sweepEvery {
			t.probesRow(b, p, Listening{Sweep: sweep})
		}
	}
	b.WriteString("\n**all plants**\n\n")
	t.lagHead(b)
	for _, sweep := range sweepEvery {
		cells := []string{every(sweep)}
		for _, lag := range lags {
			cells = append(cells, probesCell(t.pooled(Listening{Sweep: sweep, Tau: lag})))
		}
		row(b, cells...)
	}
}

func (t *Table) lagHead(b *strings.Builder) {
	cells := []string{"read every"}
	for _, lag := range lags {
		cells = append(cells, "lag "+every(lag))
	}
	head(b, cells...)
}

func (t *Table) probesRow(b *strings.Builder, p Plant, l Listening) {
	cells := []string{every(l.Sweep)}
	for _, lag := range lags {
		l.Tau = lag
		cells = append(cells, probesCell(t.score(p, l)))
	}
	row(b, cells...)
}

func probesCell(s *Score) string {
	f := &s.Firings
	return fmt.Sprintf("%s %s %s (%s %s)", short(f.Told.Precision()), short(f.Told.Recall()), short(f.Recall()),
		seconds(f.Start.Median()), seconds(f.Stop.Median()))
}

// probesDetail is what the cells of the probes' tables have no room for, for one lag.
func (t *Table) probesDetail(b *strings.Builder) {
	fmt.Fprintf(b, detailWords, every(usual.Tau))
	head(b, "plant, read every", "true", "unseen", "found", "precision", "recall", "can be told", "rough", "precision as told", "recall as told", "count", "start", "stop", "use")
	for _, p := range t.plants() {
		for _, sweep := range sweepEvery {
			t.detailRow(b, p, Listening{Sweep: sweep, Tau: usual.Tau})
		}
	}
	for _, sweep := range sweepEvery {
		detail(b, "**all**, "+every(sweep), &t.pooled(Listening{Sweep: sweep, Tau: usual.Tau}).Firings)
	}
}

func (t *Table) detailRow(b *strings.Builder, p Plant, l Listening) {
	detail(b, p.Name+", "+every(l.Sweep), &t.score(p, l).Firings)
}

func detail(b *strings.Builder, name string, f *Firings) {
	row(b, name, strconv.Itoa(f.True), strconv.Itoa(f.Unseen), strconv.Itoa(f.Found), ratio(f.Precision()), ratio(f.Recall()),
		strconv.Itoa(f.Told.True), strconv.Itoa(f.Told.Rough), ratio(f.Told.Precision()), ratio(f.Told.Recall()), percent(f.CountError()), f.Start.String(), f.Stop.String(),
		of(f.UseRight, f.Matched))
}

// both is the table of firings where bus and probes listen together.
func (t *Table) both(b *strings.Builder) {
	fmt.Fprintf(b, bothWords, usual)
	head(b, append([]string{"plant"}, firingColumns...)...)
	for _, p := range t.plants() {
		row(b, append([]string{p.Name}, firingCells(&t.score(p, usual).Firings)...)...)
	}
	row(b, append([]string{"**all**"}, firingCells(&t.pooled(usual).Firings)...)...)
}

// limits says what cannot be told and why.
func (t *Table) limits(b *strings.Builder) {
	b.WriteString(limitWords)
	t.lagHead(b)
	for _, sweep := range sweepEvery {
		cells := []string{every(sweep)}
		for _, lag := range lags {
			s := t.pooled(Listening{Sweep: sweep, Tau: lag})
			cell := none
			if d, ok := s.UsualShortest(); ok {
				cell = every(d)
			}
			if s.Sightless > 0 {
				cell += fmt.Sprintf(" (not at all in %.0f %%)", 100*s.Sightless.Seconds()/s.Recorded.Seconds())
			}
			cells = append(cells, cell)
		}
		row(b, cells...)
	}
	b.WriteString(limitReasons)
}
