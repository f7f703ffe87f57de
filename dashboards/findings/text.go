package findings

import (
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/charmbracelet/x/ansi"

	"tundish/analyse"
	"tundish/analyse/episode"
)

// Width bounds: a phone held upright in a terminal program shows about 40 characters, and longer lines than 76
// are hard to read.
const (
	narrowest = 32
	widest    = 76
)

// WriteText writes the result for a person, no line longer than width (which is kept between 32 and 76).
func WriteText(w io.Writer, r *analyse.Result, zone *time.Location, width int, o Options) error {
	p := &page{width: min(widest, max(narrowest, width)), zone: zone}
	if r.To.Sub(r.From) >= withYear {
		p.year = " 2006"
	}
	p.head(r, o)
	if o.Why != nil {
		p.why(r, o.Why)
	} else {
		p.findings(r)
		p.answers(r)
		p.sensors(o.Sensors)
		p.marks(r)
	}
	if o.Episodes {
		p.episodes(r)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// sensors says of each sensor that was compared with another when, and what came of it.
func (p *page) sensors(list []analyse.Sensor) {
	first := true
	for _, s := range list {
		words := s.PairedWords()
		if words == "" {
			continue
		}
		if first {
			p.title("sensors compared in the same water")
			first = false
		}
		p.para(4, "–", s.Series.String()+": "+words)
	}
}

// minus is a hyphen before a figure, which people write as a longer stroke.
var minus = regexp.MustCompile(`(^|[\s(])-(\d)`)

// hyphen and space are those at which no line is broken.
const hyphen, space = "\u2011", "\u00a0"

// valued is a figure before its unit: the two stand on one line.
var valued = regexp.MustCompile(`(\d) (°C|kWh?|W|W/K|K|bar|min|h|s|d|%|l|l/min|MJ/m³|m³|µA)([\s.,;:)]|$)`)

// page is the text so far.
type page struct {
	b     strings.Builder
	width int
	zone  *time.Location
	year  string // in the layout of a date, where a record is so long that a day and month do not tell it
}

// withYear is how long a record is whose dates name the year.
const withYear = 360 * 24 * time.Hour

// para writes one paragraph, wrapped, every line indented; the first line may hang out by a mark.
func (p *page) para(indent int, mark, text string) {
	room := p.width - indent
	text = minus.ReplaceAllString(Printable(text), "$1−$2")
	text = strings.ReplaceAll(text, "-", hyphen) // a kind's name is one word
	text = valued.ReplaceAllString(text, "$1"+space+"$2$3")
	for i, line := range strings.Split(strings.NewReplacer(hyphen, "-", space, " ").Replace(ansi.Wrap(text, room, "")), "\n") {
		lead := strings.Repeat(" ", indent)
		if i == 0 && mark != "" {
			lead = strings.Repeat(" ", max(0, indent-len([]rune(mark))-1)) + mark + " "
		}
		p.b.WriteString(strings.TrimRight(lead+line, " ") + "\n")
	}
}

func (p *page) blank() { p.b.WriteByte('\n') }

func (p *page) title(text string) {
	p.blank()
	p.b.WriteString(strings.ToUpper(text) + "\n")
}

func (p *page) day(t time.Time) string {
	return analyse.LocalTime(t, p.zone, "Mon 2 Jan"+p.year+" 15:04")
}
func (p *page) hour(t time.Time) string { return analyse.LocalTime(t, p.zone, "15:04") }

func (p *page) date(t time.Time) string { return analyse.LocalTime(t, p.zone, "Mon 2 Jan 2006 15:04") }

func (p *page) span(from, to time.Time) string {
	if from.In(p.zone).YearDay() == to.In(p.zone).YearDay() && to.Sub(from) < 24*time.Hour {
		return p.day(from) + "–" + p.hour(to)
	}
	return p.day(from) + " – " + p.day(to)
}

// mostOffsets is how many are named.
const mostOffsets = 3

// offsets says how far the zone's clocks are from UTC in a stretch of time: "UTC+0", "UTC+0, then UTC+1".
func offsets(from, to time.Time, zone *time.Location) string {
	var all []string
	for t := from.In(zone); ; {
		_, sec := t.Zone()
		sign := "+"
		if sec < 0 {
			sign, sec = "−", -sec
		}
		word := fmt.Sprintf("UTC%s%d", sign, sec/3600)
		if m := sec % 3600 / 60; m > 0 {
			word += fmt.Sprintf(":%02d", m)
		}
		if len(all) == mostOffsets {
			return strings.Join(all, ", then ") + ", then …"
		}
		if len(all) == 0 || all[len(all)-1] != word {
			all = append(all, word)
		}
		_, end := t.ZoneBounds()
		if end.IsZero() || end.After(to) {
			return strings.Join(all, ", then ")
		}
		t = end
	}
}

// Printable is text that cannot steer a terminal: where it holds anything but characters to be seen, as what a device
// sent may, those are written as in a quoted text.
func Printable(text string) string {
	if utf8.ValidString(text) && !strings.ContainsFunc(text, func(c rune) bool { return !unicode.IsGraphic(c) }) {
		return text
	}
	q := strconv.QuoteToGraphic(text)
	return q[1 : len(q)-1]
}

func (p *page) head(r *analyse.Result, o Options) {
	p.para(0, "", r.Job)
	if r.From.IsZero() {
		p.para(0, "", "No record yet.")
	} else {
		p.para(0, "", fmt.Sprintf("%s – %s, %s (%s, %s)", p.date(r.From), p.date(r.To), analyse.Span(r.To.Sub(r.From)), p.zone, offsets(r.From, r.To, p.zone)))
	}
	if o.Amended != "" {
		p.para(0, "", "The job sheet was amended after recording: "+o.Amended+".")
	}
	for _, w := range o.Warnings {
		p.para(2, "!", w)
	}
}

func (p *page) findings(r *analyse.Result) {
	p.title("found")
	if len(r.Findings) == 0 {
		p.para(2, "", "Nothing. See below what was checked, and what could not be assessed.")
	}
	for i, f := range r.Findings {
		if i > 0 {
			p.blank()
		}
		head := f.Kind
		if f.Cause != "" {
			head += ", " + f.Cause
		}
		p.para(2, "", fmt.Sprintf("%s (%s)", head, f.Severity))
		p.para(2, "", f.Summary)
		for _, n := range f.Numbers {
			p.para(4, "·", strings.TrimSpace(fmt.Sprintf("%s: %v %s", n.Label, n.Value, n.Unit)))
		}
		for _, e := range f.Evidence {
			p.para(4, "–", p.span(e.From, e.To)+": "+e.Note)
			for _, b := range e.Before {
				p.para(8, "·", b)
			}
		}
		for _, c := range f.Causes {
			p.para(4, "?", fmt.Sprintf("%s (%.0f %%): %s. To settle it: %s.", c.Cause, c.Support*100, c.Because, c.Settle))
		}
	}
}

func (p *page) answers(r *analyse.Result) {
	for _, o := range []struct {
		outcome analyse.Outcome
		title   string
	}{{analyse.Clear, "checked and clear"}, {analyse.NotAssessable, "not assessable"}} {
		// Kinds with the same because stand together: a page of equal sentences hides the one that differs.
		var order []string
		kinds := map[string][]string{}
		for _, c := range r.Checked {
			if c.Outcome != o.outcome {
				continue
			}
			if kinds[c.Because] == nil {
				order = append(order, c.Because)
			}
			kinds[c.Because] = append(kinds[c.Because], c.Kind)
		}
		if len(order) > 0 {
			p.title(o.title)
		}
		for _, because := range order {
			p.para(4, "–", strings.Join(kinds[because], ", ")+": "+because)
		}
	}
}

func (p *page) marks(r *analyse.Result) {
	if len(r.Marks) == 0 {
		return
	}
	p.title("what people noted")
	for _, m := range r.Marks {
		p.para(4, "–", p.day(m.At)+": "+m.Text)
	}
}

func (p *page) episodes(r *analyse.Result) {
	p.title("what happened")
	for _, e := range happenings(r.Facts) {
		text := fmt.Sprintf("%s %s, %s", analyse.LocalTime(e.From, p.zone, "2 Jan"+p.year+" 15:04:05"), e.kind, analyse.Span(e.Duration()))
		for _, more := range []string{e.use, e.end, e.cause, e.reset, e.source, e.reason} {
			if more != "" {
				text += ", " + more
			}
		}
		if e.basis == string(episode.ByShape) {
			text += ", told by the shape of flow and return"
		}
		if e.unsure != "" {
			text += ", not sure of its " + e.unsure
		}
		p.para(2, "", text)
	}
	for _, x := range r.Facts.Sights {
		text := fmt.Sprintf("%s to %s: ", analyse.LocalTime(x.From, p.zone, "2 Jan"+p.year+" 15:04"), analyse.LocalTime(x.To, p.zone, "2 Jan"+p.year+" 15:04"))
		switch {
		case x.Basis == "":
			text += "firings could not be told: " + x.Because
		case x.Basis == episode.ByShape:
			text += fmt.Sprintf("firings are %s, of %s; shorter burns or pauses than %s can be missed or run together", x.Because, x.Source, analyse.Span(x.Shortest))
		default:
			continue
		}
		p.para(2, "", text)
	}
}
