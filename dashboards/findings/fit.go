package findings

import (
	"fmt"
	"io"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/analyse/fit"
)

// FitText writes whether a set-up is fit to be left: first what to do now. No line is longer than width.
func FitText(w io.Writer, s *fit.Summary, zone *time.Location, width int, warnings []string) error {
	p := &page{width: min(widest, max(narrowest, width)), zone: zone}
	p.para(0, "", s.Job)
	if s.From.IsZero() {
		p.para(0, "", "No record yet.")
	} else {
		p.para(0, "", fmt.Sprintf("%s – %s, %s (%s)", p.date(s.From), p.date(s.To), analyse.Span(s.To.Sub(s.From)), p.zone))
	}
	for _, x := range warnings {
		p.para(2, "!", x)
	}
	for _, r := range []struct {
		rank  fit.Rank
		title string
		none  string
	}{{fit.Now, "do now", "nothing that shows so far"}, {fit.Soon, "worth doing while you are here", ""}, {fit.Know, "good to know", ""}} {
		p.items(s, r.rank, r.title, r.none)
	}
	p.lines("too early to tell", s.Early)
	p.lines("looked at and right", s.Good)
	p.states(s)
	_, err := io.WriteString(w, p.b.String())
	return err
}

func (p *page) items(s *fit.Summary, rank fit.Rank, title, none string) {
	first := true
	for _, i := range s.Items {
		if i.Rank != rank {
			continue
		}
		if first {
			p.title(title)
			first = false
		}
		p.para(4, "–", i.About+": "+sentence(i.What))
		if i.How != "" {
			p.para(6, "", "→ "+sentence(i.How))
		}
	}
	if first && none != "" {
		p.title(title)
		p.para(4, "–", none)
	}
}

func (p *page) lines(title string, lines []string) {
	if len(lines) > 0 {
		p.title(title)
	}
	for _, l := range lines {
		p.para(4, "–", l)
	}
}

// states writes the kinds by what can be said of them; those with the same because stand together.
func (p *page) states(s *fit.Summary) {
	for _, state := range []fit.State{fit.CanTell, fit.TooEarly, fit.Open, fit.CannotDo, fit.NotMade} {
		var order []string
		kinds := map[string][]string{}
		for _, k := range s.Kinds {
			if k.State != state {
				continue
			}
			if kinds[k.Because] == nil {
				order = append(order, k.Because)
			}
			kinds[k.Because] = append(kinds[k.Because], k.Kind)
		}
		if len(order) > 0 {
			p.title("checks: " + string(state))
		}
		for _, because := range order {
			p.para(4, "–", strings.Join(kinds[because], ", ")+": "+because)
		}
	}
}

type jsonFit struct {
	Job      string      `json:"job"`
	From     string      `json:"from"`
	To       string      `json:"to"`
	Warnings []string    `json:"warnings,omitempty"`
	Do       []jsonItem  `json:"do"`
	Early    []string    `json:"too_early"`
	Good     []string    `json:"right"`
	Checks   []jsonState `json:"checks"`
	DaysLeft *float64    `json:"disk_days_left"` // null: not known
}

type jsonItem struct {
	Rank  string `json:"rank"` // now, soon, know
	About string `json:"about"`
	What  string `json:"what"`
	How   string `json:"how,omitempty"`
}

type jsonState struct {
	Kind    string `json:"kind"`
	State   string `json:"state"`
	Because string `json:"because"`
}

// FitJSON writes the same for programs.
func FitJSON(w io.Writer, s *fit.Summary, warnings []string) error {
	out := jsonFit{Job: s.Job, From: stamp(s.From), To: stamp(s.To), Warnings: warnings,
		Do: []jsonItem{}, Early: append([]string{}, s.Early...), Good: append([]string{}, s.Good...), Checks: []jsonState{}}
	for _, i := range s.Items {
		out.Do = append(out.Do, jsonItem{i.Rank.String(), i.About, i.What, i.How})
	}
	for _, k := range s.Kinds {
		out.Checks = append(out.Checks, jsonState{k.Kind, string(k.State), k.Because})
	}
	if s.DaysLeft.Known {
		days := round(s.DaysLeft.Value, 1)
		out.DaysLeft = &days
	}
	return writeJSON(w, out)
}
