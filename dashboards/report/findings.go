package report

import (
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// occurrencesShown is how many occurrences of one finding are printed; the rest is counted, and in the JSON.
const occurrencesShown = 40

// historiesShown is how many "what happened before" lists and charts are printed for one finding.
const historiesShown = 3

// findings are the chapters on what was found.
func (c *composer) findings() []section {
	out := []section{{level: 2, id: "findings", title: "What was found"}}
	if len(c.res.Findings) == 0 {
		out[0].blocks = []block{para{text: "Nothing. What was looked for, and what could not be looked for, stands below."}}
		return out
	}
	for i, f := range c.res.Findings {
		out = append(out, c.finding(i+1, f)...)
	}
	return out
}

func (c *composer) finding(number int, f analyse.Finding) []section {
	id := fmt.Sprintf("finding-%d", number)
	head := section{level: 3, id: id, title: fmt.Sprintf("%d. %s", number, kindTitle(f.Kind))}
	head.blocks = append(head.blocks, para{lead, cleanText(f.Summary)}, c.keyNumbers(f))
	out := []section{head}
	add := func(part, title string, blocks ...block) {
		if len(blocks) > 0 {
			out = append(out, section{4, id + "-" + part, title, blocks})
		}
	}
	add("occurrences", "When it happened", c.occurrences(f)...)
	if hasHistory(f) {
		add("before", "What happened before it, and the hours around it", c.histories(f)...)
	}
	add("causes", "Causes, most likely first", c.causes(f)...)
	if !hasHistory(f) {
		add("hours", "The decisive hours", c.hours(f)...)
	}
	return out
}

func (c *composer) keyNumbers(f analyse.Finding) pairs {
	var p pairs
	p.add("Severity", severityWord(f.Severity)+": "+severityMeaning(f.Severity))
	if !f.From.IsZero() {
		p.add("First and last seen", c.clock.row(f.From)+" – "+c.clock.row(f.To))
	}
	if f.Cause != "" {
		p.add("Commonest cause", causeText(f.Cause))
	}
	for _, n := range f.Numbers {
		label := n.Label
		if cleanText(label) == "" {
			label = n.Name
		}
		p.add(capital(cleanText(label)), numberText(n.Value, n.Unit))
	}
	return p
}

func (c *composer) occurrences(f analyse.Finding) []block {
	if len(f.Evidence) == 0 {
		return []block{para{text: "Single occurrences are not listed for this finding."}}
	}
	t := table{head: []string{"From", "Lasted", "Cause", "What was seen"}, numeric: []bool{false, true, false, false}}
	for i, e := range f.Evidence {
		if i == occurrencesShown {
			break
		}
		cause := ""
		if e.Cause != "" {
			cause = causeText(e.Cause)
		}
		t.rows = append(t.rows, []string{c.clock.row(e.From), c.lasted(e), cleanText(cause), cleanText(e.Note)})
	}
	out := []block{t.dropEmptyColumns()}
	if rest := len(f.Evidence) - occurrencesShown; rest > 0 {
		out = append(out, para{aside, fmt.Sprintf("And %s, printed by “tundish analyse CAPTURE --json”.", plural(uint64(rest), "more occurrence", "more occurrences"))})
	}
	return out
}

// lasted says how long an occurrence was; one that was still going on when the record ended says so.
func (c *composer) lasted(e analyse.Evidence) string {
	if e.To.IsZero() {
		return "end not seen"
	}
	if c.res.Facts != nil {
		for _, l := range c.res.Facts.Lockouts {
			if l.Open && l.From.Equal(e.From) {
				return "to the end of the record"
			}
		}
	}
	return spanWords(e.To.Sub(e.From))
}

// hasHistory tells whether what happened before each occurrence is part of a finding.
func hasHistory(f analyse.Finding) bool {
	return f.Kind == "lockout" || slices.ContainsFunc(f.Evidence, func(e analyse.Evidence) bool { return len(e.Before) > 0 })
}

// histories tell, for each of the first occurrences, what went before it, with the chart of those hours below.
func (c *composer) histories(f analyse.Finding) []block {
	var out []block
	for _, e := range f.Evidence[:min(len(f.Evidence), historiesShown)] {
		if len(e.Before) == 0 {
			out = append(out, para{text: "Before " + c.clock.row(e.From) + ": nothing is known."})
		} else {
			l := list{ordered: true}
			for _, b := range e.Before {
				l.items = append(l.items, item{"", capital(cleanText(b))})
			}
			out = append(out, para{text: "Before " + c.clock.row(e.From) + ", oldest first:"}, l)
		}
		if c.res.To.After(c.res.From) {
			to := min(end(e).Sub(e.From)+30*time.Minute, shortWindow-leadTime)
			w := c.within(e.From.Add(-leadTime), e.From.Add(max(to, time.Hour)))
			title := kindTitle(f.Kind) + " of " + c.clock.format(e.From, "Mon 2 Jan 2006, 15:04:05")
			out = append(out, figure{c.plots.chart(title, w.From, w.To, f.Kind)})
		}
	}
	if rest := len(f.Evidence) - historiesShown; rest > 0 {
		out = append(out, para{aside, fmt.Sprintf("What happened before, and charts, are printed for the first %d.", historiesShown)})
	}
	return out
}

func (c *composer) causes(f analyse.Finding) []block {
	if len(f.Causes) == 0 {
		return nil
	}
	l := list{ordered: true}
	for _, k := range f.Causes {
		text := fmt.Sprintf("Support by the record: %s (%s of 1).", supportWord(k.Support), decimal(k.Support, 2))
		if b := cleanText(k.Because); b != "" {
			text += " Because: " + b + sentenceEnd(b)
		}
		if s := cleanText(k.Settle); s != "" {
			text += " What would settle it: " + s + sentenceEnd(s)
		}
		l.items = append(l.items, item{capital(cleanText(causeText(k.Cause))) + ".", text})
	}
	return []block{l, para{aside, "Causes are inferred from the record; they are to be confirmed on site."}}
}

// sentenceEnd is the full stop that a sentence lacks.
func sentenceEnd(s string) string {
	if s == "" || s[len(s)-1] == '.' || s[len(s)-1] == '!' || s[len(s)-1] == '?' {
		return ""
	}
	return "."
}

// Windows of the charts of findings. Own proposal.
const (
	shortWindow = 6 * time.Hour    // of things that happen within minutes
	leadTime    = 90 * time.Minute // shown before a lockout
	cycleWindow = 3 * time.Hour    // in which single cycles can still be told apart
	slowWindow  = 12 * time.Hour   // of a slow kind, evidence longer than this is shown from first to last
)

// hours are the charts of a finding.
func (c *composer) hours(f analyse.Finding) []block {
	if !c.res.To.After(c.res.From) || len(f.Evidence) == 0 {
		return nil
	}
	w := c.window(f)
	whole := c.res.To.Sub(c.res.From)
	if w.Duration() > whole*9/10 && !extraPanels[f.Kind] && whole > shortWindow {
		return []block{para{text: "It shows over the whole record: see the chart of the whole record."}}
	}
	title := kindTitle(f.Kind) + ", " + c.clock.format(w.From, "Mon 2 Jan 2006, 15:04") + " to " + c.until(w)
	return []block{figure{c.plots.chart(title, w.From, w.To, f.Kind)}}
}

// until is the end of a window, with its day only where that is another one.
func (c *composer) until(w episode.Span) string {
	const day = "Mon 2 Jan 2006"
	if zone := c.in.zone(); w.From.In(zone).Format(day) != w.To.In(zone).Format(day) {
		return c.clock.format(w.To, day+", 15:04")
	}
	return c.clock.format(w.To, "15:04")
}

// extraPanels are the kinds whose chart shows more than that of the whole record.
var extraPanels = map[string]bool{"pressure-loss": true, "pressure-swing": true, "cylinder-too-cool": true, "probe-disagreement": true}

// slowKinds are the kinds that show over days rather than hours.
var slowKinds = map[string]bool{"pressure-loss": true, "pressure-swing": true, "oversized": true, "not-condensing": true, "cylinder-too-cool": true}

// window chooses the stretch to show: the one that holds the most firings, or, for what takes days, all of it.
func (c *composer) window(f analyse.Finding) episode.Span {
	var best episode.Span
	most := -1
	for _, e := range f.Evidence {
		if slowKinds[f.Kind] && end(e).Sub(e.From) > slowWindow {
			return c.within(f.From, f.To)
		}
		w := c.around(e)
		if f.Kind == "short-cycling" {
			w = c.densest(e)
		}
		if n := c.firingsIn(w); n > most {
			best, most = w, n
		}
	}
	return best
}

// densest is the stretch of an occurrence, no longer than single cycles can be told apart in, that holds the most
// firings; the first of equals.
func (c *composer) densest(e analyse.Evidence) episode.Span {
	best := c.around(e)
	if best.Duration() <= cycleWindow || c.res.Facts == nil {
		return best
	}
	var starts []time.Time
	for _, x := range c.res.Facts.Firings {
		if !x.From.Before(e.From) && !x.From.After(end(e)) {
			starts = append(starts, x.From)
		}
	}
	const before = 10 * time.Minute // shown before the first of them
	first, most := 0, 0
	for i, t := range starts {
		for t.Sub(starts[first]) > cycleWindow-before {
			first++
		}
		if n := i - first + 1; n > most {
			most = n
			best = c.within(starts[first].Add(-before), starts[first].Add(cycleWindow-before))
		}
	}
	return best
}

// end is the end of an occurrence; one without an end, or with one before its beginning, is a moment.
func end(e analyse.Evidence) time.Time {
	if e.To.Before(e.From) {
		return e.From
	}
	return e.To
}

// around is a window that shows an occurrence with something before and after it.
func (c *composer) around(e analyse.Evidence) episode.Span {
	length := end(e).Sub(e.From)
	margin := min(max(length/6, 15*time.Minute), time.Hour)
	to := end(e).Add(margin)
	if length > slowWindow {
		to = e.From.Add(shortWindow)
	}
	return c.within(e.From.Add(-margin), to)
}

// within keeps a window inside the record.
func (c *composer) within(from, to time.Time) episode.Span {
	if from.Before(c.res.From) {
		from = c.res.From
	}
	if to.After(c.res.To) {
		to = c.res.To
	}
	if !to.After(from) { // evidence outside the record, or at its edge
		from, to = c.res.From, c.res.To
	}
	return episode.Span{From: from, To: to}
}

func (c *composer) firingsIn(w episode.Span) int {
	n := 0
	if c.res.Facts != nil {
		for _, x := range c.res.Facts.Firings {
			if w.Contains(x.From) {
				n++
			}
		}
	}
	return n
}
