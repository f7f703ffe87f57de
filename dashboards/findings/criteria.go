package findings

import (
	"io"
	"strings"

	"tundish/analyse"
)

// CriteriaText writes the table of all criteria of the checks, kind by kind, no line longer than width.
func CriteriaText(w io.Writer, checks []analyse.Check, width int) error {
	p := &page{width: min(widest, max(narrowest, width))}
	var without []string
	for _, c := range checks {
		if len(c.Criteria) == 0 {
			without = append(without, c.Kind)
			continue
		}
		if p.b.Len() > 0 {
			p.blank()
		}
		p.para(0, "", c.Kind+": "+c.Doc)
		p.criteria(&c, true)
	}
	if len(without) > 0 {
		if p.b.Len() > 0 {
			p.blank()
		}
		p.para(0, "", "No criteria: "+strings.Join(without, ", ")+". This version does not make these checks.")
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}
