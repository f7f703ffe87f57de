package findings

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"tundish/analyse"
	"tundish/decode"
)

// whyEvidence is how many stretches of evidence are told of a kind that was asked for; the rest is counted. Own
// choice: a page of a phone.
const whyEvidence = 12

// why writes the reasoning behind one answer, for whoever has to stand by it.
func (p *page) why(r *analyse.Result, check *analyse.Check) {
	p.title("why: " + check.Kind)
	p.para(2, "", capital(check.Doc)+".")
	c, ok := answerOf(r, check.Kind)
	if !ok {
		p.para(2, "", "The check was not asked.")
		return
	}
	p.para(2, "", fmt.Sprintf("Answer: %s. %s", c.Outcome, capital(sentence(c.Because))))
	f := findingOf(r, check.Kind)
	if f != nil {
		p.para(2, "", "Severity: "+f.Severity.String()+".")
	}
	p.steps("measured", c.Steps, analyse.Measured)
	p.steps("ruled out", c.Steps, analyse.Excluded)
	p.steps("left open", c.Steps, analyse.Open)
	if len(c.Steps) == 0 {
		p.title("measured")
		p.para(4, "–", "nothing beyond what the answer says")
	}
	if f != nil {
		p.finding(f)
	}
	p.title("data used")
	p.data(r, check)
	p.title("criteria")
	p.criteria(check, f != nil)
}

// weightOf marks a criterion that weighs a cause and decides nothing else.
const weightOf = "weight, "

// criteria writes the limits of a check, and after them the weights of its causes; where nothing was found those played
// no part and are only counted.
func (p *page) criteria(check *analyse.Check, weights bool) {
	var of []analyse.Criterion
	limits := 0
	for _, k := range check.Criteria {
		if strings.HasPrefix(k.Name, weightOf) {
			of = append(of, k)
			continue
		}
		p.para(4, "–", criterionWords(k))
		limits++
	}
	switch {
	case len(of) == 0 && limits == 0:
		p.para(4, "–", "none")
	case len(of) == 0:
	case !weights:
		p.para(4, "–", analyse.Count(len(of), "weight")+" of causes, which play no part where nothing was found: tundish criteria tells them")
	default:
		for _, k := range of {
			p.para(4, "–", fmt.Sprintf("%s: %+g (%s)", k.Name, k.Value, sourceOf(k)))
		}
	}
}

// finding writes figures, weighed causes and evidence.
func (p *page) finding(f *analyse.Finding) {
	if len(f.Numbers) > 0 {
		p.title("figures")
	}
	for _, n := range f.Numbers {
		p.para(4, "·", strings.TrimSpace(fmt.Sprintf("%s: %v %s", n.Label, n.Value, n.Unit)))
	}
	if len(f.Causes) > 0 {
		p.title("causes, most likely first")
	}
	for i, c := range f.Causes {
		p.para(5, strconv.Itoa(i+1)+".", fmt.Sprintf("%s, support %.2f of 1", c.Cause, c.Support))
		if c.Because != "" {
			p.para(7, "", "because: "+sentence(c.Because))
		}
		if c.Settle != "" {
			p.para(7, "", "to settle it: "+sentence(c.Settle))
		}
	}
	if len(f.Evidence) > 0 {
		p.title("evidence")
	}
	for i, e := range f.Evidence {
		if i == whyEvidence {
			p.para(4, "–", fmt.Sprintf("and %d more, with --json", len(f.Evidence)-i))
			break
		}
		p.para(4, "–", p.span(e.From, e.To)+": "+e.Note)
		for _, b := range e.Before {
			p.para(8, "·", b)
		}
	}
}

// data says what of the record the check could use, need by need.
func (p *page) data(r *analyse.Result, check *analyse.Check) {
	if len(check.Needs) == 0 {
		p.para(4, "–", "this check asks for no point above all others: what it used stands under measured")
	}
	for _, n := range check.Needs {
		names := make([]string, len(n.Points))
		for i, x := range n.Points {
			names[i] = x.String()
		}
		used := usable(r, n.Points)
		if len(used) == 0 {
			p.para(4, "–", strings.Join(names, " or ")+": missing. "+capital(sentence(n.Say)))
			continue
		}
		p.para(4, "–", strings.Join(names, " or ")+":")
		for _, c := range used {
			p.para(6, "", coverageWords(c))
		}
	}
}

// steps writes the steps of one topic.
func (p *page) steps(title string, steps []analyse.Step, topic analyse.Topic) {
	first := true
	for _, s := range steps {
		if s.Topic != topic {
			continue
		}
		if first {
			p.title(title)
			first = false
		}
		p.para(4, "–", s.What+": "+s.Text)
	}
}

// usable are the series of the points that have readings.
func usable(r *analyse.Result, points []decode.Point) []analyse.Coverage {
	var out []analyse.Coverage
	for _, c := range r.Coverage {
		if c.Readings > 0 && slices.Contains(points, c.Series.Point) {
			out = append(out, c)
		}
	}
	return out
}

func coverageWords(c analyse.Coverage) string {
	text := fmt.Sprintf("%s covers %.1f %% of the record, %d readings", c.Series, c.Share*100, c.Readings)
	switch {
	case c.OnChange:
		text += ", told when it changes"
	case c.Interval > 0:
		text += ", usually every " + analyse.Span(c.Interval)
	}
	text += fmt.Sprintf(", from %.4g to %s", c.Min, valueWords(c.Max, c.Series.Point.Unit()))
	if c.Doubtful > 0 {
		text += fmt.Sprintf(", %d of them doubtful", c.Doubtful)
	}
	return text
}

// valueWords prints a value with its unit; a signal that is on or off has none.
func valueWords(v float64, unit string) string {
	text := fmt.Sprintf("%.4g", v)
	if unit == "" || unit == "0/1" {
		return text
	}
	return text + " " + unit
}

// criterionWords prints a limit; a share or a ratio, whose unit is 1, has none.
func criterionWords(k analyse.Criterion) string {
	unit := k.Unit
	if unit == "1" {
		unit = ""
	}
	return fmt.Sprintf("%s: %s (%s)", k.Name, strings.TrimSpace(fmt.Sprintf("%v %s", k.Value, unit)), sourceOf(k))
}

func sourceOf(k analyse.Criterion) string {
	if k.Source == "" {
		return "source not stated"
	}
	return k.Source
}

func answerOf(r *analyse.Result, kind string) (analyse.Checked, bool) {
	for _, c := range r.Checked {
		if c.Kind == kind {
			return c, true
		}
	}
	return analyse.Checked{}, false
}

func findingOf(r *analyse.Result, kind string) *analyse.Finding {
	for i := range r.Findings {
		if r.Findings[i].Kind == kind {
			return &r.Findings[i]
		}
	}
	return nil
}

// capital begins a text with a capital letter.
func capital(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	if n == 0 {
		return text
	}
	return string(unicode.ToUpper(r)) + text[n:]
}

// sentence ends a text with a full stop where it has no end.
func sentence(text string) string {
	if text == "" || strings.ContainsAny(text[len(text)-1:], ".!?") {
		return text
	}
	return text + "."
}
