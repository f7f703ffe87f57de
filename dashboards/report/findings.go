package report

import (
	"fmt"
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
	add("before", "What happened before it", c.before(f)...)
	add("causes", "Causes, most likely first", c.causes(f)...)
	add("hours", "The decisive hours", c.hours(f)...)
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
		p.add(capital(cleanText(label)), withUnit(n.Value, n.Unit))
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

// before lists what went before each lockout; for other kinds nothing is expected, and nothing is said.
func (c *composer) before(f analyse.Finding) []block {
	var out []block
	shown := 0
	for _, e := range f.Evidence {
		if shown == historiesShown {
			break
		}
		if len(e.Before) == 0 {
			if f.Kind == "lockout" {
				out = append(out, para{text: "Before " + c.clock.row(e.From) + ": nothing is known."})
				shown++
			}
			continue
		}
		shown++
		l := list{ordered: true}
		for _, b := range e.Before {
			l.items = append(l.items, item{"", cleanText(b)})
		}
		out = append(out, para{text: "Before " + c.clock.row(e.From) + ", oldest first:"}, l)
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
	slowWindow  = 12 * time.Hour   // of a slow kind, evidence longer than this is shown from first to last
)

// hours are the charts of a finding.
func (c *composer) hours(f analyse.Finding) []block {
	if !c.res.To.After(c.res.From) || len(f.Evidence) == 0 {
		return nil
	}
	var out []block
	for _, w := range c.windows(f) {
		if w.Duration() > c.res.To.Sub(c.res.From)*9/10 && !extraPanels[f.Kind] && c.res.To.Sub(c.res.From) > shortWindow {
			return append(out, para{text: "It shows over the whole record: see the chart of the whole record."})
		}
		title := kindTitle(f.Kind) + ", " + c.clock.format(w.From, "Mon 2 Jan 2006, 15:04")
		out = append(out, figure{c.plots.chart(title, w.From, w.To, f.Kind)})
	}
	if rest := len(f.Evidence) - historiesShown; f.Kind == "lockout" && rest > 0 {
		out = append(out, para{aside, fmt.Sprintf("Charts and what happened before are printed for the first %d.", historiesShown)})
	}
	return out
}

// extraPanels are the kinds whose chart shows more than that of the whole record.
var extraPanels = map[string]bool{"pressure-loss": true, "pressure-swing": true, "cylinder-too-cool": true, "probe-disagreement": true}

// slowKinds are the kinds that show over days rather than hours.
var slowKinds = map[string]bool{"pressure-loss": true, "pressure-swing": true, "oversized": true, "not-condensing": true, "cylinder-too-cool": true}

// windows chooses the stretches to show: one for each of the first lockouts; else the stretch that holds the most
// firings, or, for what takes days, all of it.
func (c *composer) windows(f analyse.Finding) []episode.Span {
	if f.Kind == "lockout" {
		var out []episode.Span
		for _, e := range f.Evidence[:min(len(f.Evidence), historiesShown)] {
			to := min(end(e).Sub(e.From)+30*time.Minute, shortWindow-leadTime)
			out = append(out, c.within(e.From.Add(-leadTime), e.From.Add(max(to, time.Hour))))
		}
		return out
	}
	var best episode.Span
	most := -1
	for _, e := range f.Evidence {
		if slowKinds[f.Kind] && end(e).Sub(e.From) > slowWindow {
			return []episode.Span{c.within(f.From, f.To)}
		}
		w := c.around(e)
		if n := c.firingsIn(w); n > most {
			best, most = w, n
		}
	}
	return []episode.Span{best}
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
