package scoring

import (
	"fmt"
	"slices"
	"strings"
)

// Wrong lists every wrong answer and every wrong first cause, a line each with tabs between its parts.
func (f *Findings) Wrong() string {
	var b strings.Builder
	for i := range f.Told {
		f.Told[i].wrong(&b)
	}
	for _, t := range slices.Concat(f.Variant...) {
		t.wrong(&b)
	}
	return b.String()
}

func (t *Told) wrong(b *strings.Builder) {
	name := t.Case.Name
	if t.Worse != "" {
		name += " (" + t.Worse + ")"
	}
	switch v := t.verdict(); {
	case v.wrong():
		fmt.Fprintf(b, "%s\tseed %d\t%s\twanted %s\tgot %s\t%s\t[truth: %s]\n", name, t.Seed, t.Label.Kind, t.wanted(),
			t.Checked.Outcome, t.Checked.Because, t.Label.Because)
	case v == hit && len(t.Label.Causes) > 0 && !slices.Contains(t.Label.Causes, firstCause(t.Finding)):
		fmt.Fprintf(b, "%s\tseed %d\t%s\twanted cause %s\tgot cause %s\t%s\t[truth: %s]\n", name, t.Seed, t.Label.Kind, strings.Join(t.Label.Causes, " or "),
			firstCause(t.Finding), t.Checked.Because, t.Label.Because)
	}
}
