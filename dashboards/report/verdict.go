package report

import (
	"fmt"
	"slices"
	"strings"

	"tundish/analyse"
)

// verdict is the report in a few lines, with whatever limits its worth said first.
func (c *composer) verdict() section {
	s := section{level: 2, id: "verdict", title: "Verdict"}
	warn := func(text string) { s.blocks = append(s.blocks, para{warning, text}) }
	if a := cleanText(c.in.Amended); a != "" {
		warn("The job sheet was amended after recording: " + a + ". The analysis below uses the amended sheet, not the one sealed into the capture.")
	}
	if c.simulated() {
		warn(simulatedWarning + " Nothing below says anything of a real place.")
	}
	if p := cleanText(c.in.Proof.Problem); p != "" || !c.in.Proof.Intact {
		if p == "" {
			p = "it was not checked, or no reason is given"
		}
		warn("The seal of the capture is not shown to be whole: " + strings.TrimSuffix(p, ".") + ". Do not use this report as evidence before that is explained. " +
			"What cannot be read is missing from the analysis, and its absence may itself look like a fault.")
	}
	if c.in.Proof.Recording {
		warn("The capture was still being recorded when this report was made: it says nothing of what came after.")
	}
	if len(c.res.Findings) == 0 {
		s.blocks = append(s.blocks, c.nothingFound()...)
		return s
	}
	s.blocks = append(s.blocks, para{lead, c.found()})
	l := list{}
	for _, f := range c.res.Findings {
		l.items = append(l.items, item{
			severityWord(f.Severity) + " – " + kindTitle(f.Kind) + ".",
			cleanText(f.Summary),
		})
	}
	s.blocks = append(s.blocks, l, para{plain, c.tally()})
	if words := c.severities(); words != "" {
		s.blocks = append(s.blocks, para{aside, words})
	}
	return s
}

// simulatedWarning stands on every page of a report on a simulation, which is made like any other.
const simulatedWarning = "This record is a simulation: a program made it up, and no real plant was measured."

// simulated tells whether any source of the record was simulated.
func (c *composer) simulated() bool {
	return slices.ContainsFunc(c.in.Sources, func(s Source) bool { return s.Kind == "simulated" })
}

// found counts the findings. What is only worth knowing is no fault.
func (c *composer) found() string {
	var faults, notes uint64
	for _, f := range c.res.Findings {
		if f.Severity == analyse.Note {
			notes++
		} else {
			faults++
		}
	}
	switch {
	case notes == 0:
		return plural(faults, "fault was found.", "faults were found.")
	case faults == 0:
		return "No fault was found; " + plural(notes, "thing is worth knowing.", "things are worth knowing.")
	}
	return plural(faults, "fault was found", "faults were found") + ", and " + plural(notes, "thing worth knowing.", "things worth knowing.")
}

// severities explains the words of severity that were used.
func (c *composer) severities() string {
	var parts []string
	for _, s := range []analyse.Severity{analyse.Act, analyse.Advise, analyse.Note} {
		for _, f := range c.res.Findings {
			if f.Severity == s {
				parts = append(parts, severityWord(s)+": "+severityMeaning(s)+".")
				break
			}
		}
	}
	return strings.Join(parts, " ")
}

// notApplicable begins the reason of a check that the plant gives no occasion for.
const notApplicable = "does not apply"

// nothingFound says what stands behind an empty list of findings.
func (c *composer) nothingFound() []block {
	if len(c.res.Checked) == 0 {
		return []block{para{lead, "Nothing was checked, so nothing can be said of this plant."}}
	}
	clear, not := c.kinds(analyse.Clear), c.kinds(analyse.NotAssessable)
	for _, k := range c.res.Checked { // what cannot apply was not checked either
		if k.Outcome == analyse.Clear && strings.HasPrefix(k.Because, notApplicable) {
			clear = slices.DeleteFunc(clear, func(title string) bool { return title == kindTitle(k.Kind) })
		}
	}
	var out []block
	switch n := len(c.res.Checked); {
	case len(clear) == 0:
		out = append(out, para{lead, fmt.Sprintf("Nothing can be said of this plant: of %s none that applies could be made.", plural(uint64(n), "check", "checks"))})
	case len(not) > len(clear):
		out = append(out, para{lead, fmt.Sprintf("Nothing was found, but little could be looked for: only %d of %s could be made. This is no clean bill of health.",
			len(clear), plural(uint64(n), "check", "checks"))})
	default:
		out = append(out, para{lead, "Nothing was found."})
	}
	if len(clear) > 0 {
		out = append(out, para{plain, "Checked and clear of: " + strings.Join(clear, "; ") + "."})
	}
	if len(not) > 0 {
		out = append(out, para{plain, "Not assessable, so neither found nor cleared: " + strings.Join(not, "; ") + "."})
	}
	return out
}

// tally counts the answers.
func (c *composer) tally() string {
	n := len(c.res.Checked)
	if n == 0 {
		return "Which other faults were looked for is not known."
	}
	return fmt.Sprintf("Looked for: %s. Found: %d. Clear: %d. Not assessable, so neither found nor cleared: %d.",
		plural(uint64(n), "kind of fault", "kinds of fault"),
		len(c.kinds(analyse.Found)), len(c.kinds(analyse.Clear)), len(c.kinds(analyse.NotAssessable)))
}

// kinds are the headings of the checks with one outcome, in order.
func (c *composer) kinds(o analyse.Outcome) []string {
	var out []string
	for _, k := range c.res.Checked {
		if k.Outcome == o {
			out = append(out, kindTitle(k.Kind))
		}
	}
	return out
}

// clear lists what was checked and not found, with the because.
func (c *composer) clear() section {
	return c.answers(section{level: 2, id: "clear", title: "Checked and clear"}, analyse.Clear, "Looked for", "Why it is clear",
		"No check ended with “clear”.")
}

// notAssessable lists what could not be judged.
func (c *composer) notAssessable() section {
	return c.answers(section{level: 2, id: "not-assessable", title: "Not assessable"}, analyse.NotAssessable, "Looked for", "Why it cannot be said",
		"Every check could be made.")
}

func (c *composer) answers(s section, o analyse.Outcome, first, second, none string) section {
	t := table{head: []string{first, second}}
	row := map[string]int{} // by reason: one reason that holds for many kinds is told once
	for _, k := range c.res.Checked {
		if k.Outcome != o {
			continue
		}
		because := cleanText(k.Because)
		if because == "" {
			because = "no reason is given"
		}
		if at, ok := row[because]; ok {
			t.rows[at][0] += "; " + lowerFirst(kindTitle(k.Kind))
			continue
		}
		row[because] = len(t.rows)
		t.rows = append(t.rows, []string{kindTitle(k.Kind), capital(because)})
	}
	switch {
	case len(t.rows) > 0:
		s.blocks = append(s.blocks, t)
	case len(c.res.Checked) == 0:
		s.blocks = append(s.blocks, para{text: "No answers of checks are at hand."})
	default:
		s.blocks = append(s.blocks, para{text: none})
	}
	return s
}
