package report

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// linesUpTo is the longest stretch drawn as lines; past it a chart shows least, greatest and mean of each column.
const linesUpTo = 7 * dayLength

// rowsFrom is the length above which the chart of the whole record is set in a row for each day: a cycling boiler
// drawn over a week in one row is a solid block.
const rowsFrom = 36 * time.Hour

var (
	flowStroke     = stroke{ink: inkFlow, width: 1.2}
	returnStroke   = stroke{ink: inkReturn, width: 0.7}
	setpointStroke = stroke{inkSetpoint, 0.8, []float64{4, 2.5}}
	otherStroke    = stroke{ink: inkOther, width: 0.8}
	secondStroke   = stroke{inkOther, 0.9, []float64{6, 1.5, 1, 1.5}}
)

// plotter makes plots that share one record.
type plotter struct {
	in   Input
	zone *time.Location
}

// pick gives the best series of a point: of the wanted source if that has it, else the one that covers most.
func pick(cover []analyse.Coverage, p decode.Point, source string) (analyse.Coverage, bool) {
	var best analyse.Coverage
	found := false
	for _, c := range cover {
		if c.Series.Point != p {
			continue
		}
		if c.Series.Source == source {
			return c, true
		}
		if !found || c.Share > best.Share {
			best, found = c, true
		}
	}
	return best, found
}

// flowSource is the source whose flow and return are drawn: one that has both, the one that covers most; "" where
// none has both.
func flowSource(cover []analyse.Coverage) string {
	best, share := "", -1.0
	for _, f := range cover {
		if f.Series.Point != decode.Flow {
			continue
		}
		for _, r := range cover {
			if r.Series.Point == decode.Return && r.Series.Source == f.Series.Source && min(f.Share, r.Share) > share {
				best, share = f.Series.Source, min(f.Share, r.Share)
			}
		}
	}
	return best
}

// chart makes a plot of a window, with the panels that the kind of finding wants.
func (m *plotter) chart(title string, from, to time.Time, kind string) *plot {
	cover := m.in.Result.Coverage
	p := &plot{title: title, from: from, to: to, zone: m.zone, envelope: to.Sub(from) > linesUpTo,
		events: eventsIn(m.in.Result.Facts, from, to)}
	p.events.recorded(cover, m.in.Result.Facts)
	p.main.unit = "°C"
	p.named = newClock(m.in.Result.From, m.in.Result.To, m.zone).named
	for _, c := range cover {
		if c.Series.Point == decode.Flame {
			p.flameSources = append(p.flameSources, c.Series.Source)
		}
	}
	put := func(to *panel, point decode.Point, source, label string, st stroke) {
		if c, ok := pick(cover, point, source); ok {
			to.traces = append(to.traces, newTrace(c, label, st, p.from, p.to))
		}
	}
	source := flowSource(cover)
	put(&p.main, decode.Flow, source, "flow", flowStroke)
	put(&p.main, decode.Return, source, "return", returnStroke)
	put(&p.main, decode.FlowSetpoint, "", "set-point", setpointStroke)
	if kind == "probe-disagreement" {
		m.second(p, source)
	}
	small := func(point decode.Point, label string) {
		if c, ok := pick(cover, point, ""); ok {
			p.extra = append(p.extra, panel{label, point.Unit(), []*trace{newTrace(c, label, otherStroke, p.from, p.to)}})
		}
	}
	switch kind {
	case "pressure-loss", "pressure-swing", "lockout":
		small(decode.Pressure, "pressure")
	case "cylinder-too-cool":
		small(decode.Cylinder, "cylinder")
	}
	small(decode.Outside, "outside")
	return p
}

// second adds the flow of another source, for comparison.
func (m *plotter) second(p *plot, drawn string) {
	for _, c := range m.in.Result.Coverage {
		if c.Series.Point == decode.Flow && c.Series.Source != drawn {
			p.main.traces = append(p.main.traces, newTrace(c, "flow, "+cleanText(c.Series.Source), secondStroke, p.from, p.to))
			return
		}
	}
}

// traces lists all traces of a plot.
func (p *plot) traces() []*trace {
	out := slices.Clone(p.main.traces)
	for _, e := range p.extra {
		out = append(out, e.traces...)
	}
	return out
}

// fill reads the capture once and gives each reading to the traces that want it.
func fill(ctx context.Context, in Input, plots []*plot) error {
	wanted := map[decode.Series][]*trace{}
	for _, p := range plots {
		for _, t := range p.traces() {
			wanted[t.series] = append(wanted[t.series], t)
		}
	}
	if in.Scan == nil || len(wanted) == 0 {
		return nil
	}
	err := in.Scan(ctx, time.Time{}, time.Time{}, func(r decode.Reading) error {
		for _, t := range wanted[r.Series] {
			t.add(r.Time, r.Value)
		}
		return ctx.Err()
	})
	if err != nil {
		return fmt.Errorf("readings for the charts: %w", err)
	}
	return nil
}

// describe is the text alternative: what a person who cannot see the chart needs to know of it.
func (p *plot) describe() string {
	c := newClock(p.from, p.to, p.zone)
	c.named = c.named || p.named
	said := []string{c.format(p.from, "2 Jan 2006 15:04") + " to " + c.format(p.to, "2 Jan 2006 15:04") + "."}
	for _, t := range p.traces() {
		lo, hi, ok := t.bounds()
		unit := "\u00a0" + t.series.Point.Unit()
		if !ok {
			said = append(said, capital(t.label)+": no readings.")
			continue
		}
		places := 1
		if t.series.Point == decode.Pressure {
			places = 2
		}
		values := "steady " + decimal(lo, places)
		if lo != hi {
			values = decimal(lo, places) + " to " + decimal(hi, places)
		}
		said = append(said, fmt.Sprintf("%s %s%s (%s).", capital(t.label), values, unit, cleanText(t.series.Source)))
	}
	if p.events.known {
		said = append(said, p.events.describe())
		if p.envelope {
			said = append(said, p.dutyWords())
		}
	}
	for _, ch := range clockChanges(p.from, p.to, p.zone) {
		said = append(said, "The clocks change, "+changeWords(ch.by)+", on "+ch.at.Format("2 Jan 2006")+" at "+ch.oldClock()+" by the old clock.")
	}
	if n := len(p.events.absent); n > 0 {
		said = append(said, "Hatched: "+plural(uint64(n), "stretch", "stretches")+" without readings, "+p.events.absentWords(c)+".")
	}
	return strings.Join(slices.DeleteFunc(said, func(s string) bool { return s == "" }), " ")
}

func (e events) describe() string {
	var parts []string
	switch n := len(e.heating); {
	case !e.firings:
		parts = append(parts, "firings were not recorded")
	case n > 0:
		parts = append(parts, plural(uint64(n), "heating firing", "heating firings"))
	default:
		parts = append(parts, "no heating firing seen")
	}
	if n := len(e.hotWater); n > 0 {
		parts = append(parts, plural(uint64(n), "hot-water firing", "hot-water firings"))
	}
	if n := len(e.lockouts); n > 0 {
		parts = append(parts, plural(uint64(n), "lockout", "lockouts"))
	}
	return capital(strings.Join(parts, ", ")) + "."
}

// absentWords gives the first stretches without readings with their times, and how long all of them are.
func (e events) absentWords(c clock) string {
	const most = 3
	var total time.Duration
	var parts []string
	for i, s := range e.absent {
		total += s.Duration()
		if i < most {
			who := ""
			if s.source != "" {
				who = cleanText(s.source) + " "
			}
			parts = append(parts, who+c.format(s.From, "2 Jan 15:04")+"–"+c.format(s.To, "15:04"))
		}
	}
	if len(e.absent) > most {
		return spanWords(total) + " together"
	}
	return strings.Join(parts, ", ")
}
