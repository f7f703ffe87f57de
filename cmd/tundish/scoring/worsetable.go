package scoring

import (
	"fmt"
	"strconv"
	"strings"
)

// worse is the table of how far the score falls with each worse set-up.
func (f *Findings) worse(b *strings.Builder) {
	b.WriteString(worseWords)
	for _, v := range f.Worse {
		fmt.Fprintf(b, "* **%s**: %s.\n", v.Name, v.Doc)
	}
	b.WriteString("\n")
	head := []string{"F1", "as fitted"}
	sets := [][]Told{f.Told}
	for i, v := range f.Worse {
		head = append(head, v.Name)
		sets = append(sets, f.Variant[i])
	}
	t := lines{head}
	for _, k := range f.kinds() {
		line := []string{k}
		for _, s := range sets {
			c := countBy(s, kindOf)[k]
			if c == nil {
				c = &Counts{}
			}
			line = append(line, short(c.F1()))
		}
		t = append(t, line)
	}
	for _, x := range []struct {
		name string
		of   func(*Counts) string
	}{
		{"**all**", func(c *Counts) string { return ratio(c.F1()) }},
		{"precision, all", func(c *Counts) string { return ratio(c.Precision()) }},
		{"recall, all", func(c *Counts) string { return ratio(c.Recall()) }},
		{"missed as clear", func(c *Counts) string { return strconv.Itoa(c[missedClear]) }},
		{"missed as n/a", func(c *Counts) string { return strconv.Itoa(c[missedOpen]) }},
		{"wrongly found", func(c *Counts) string { return strconv.Itoa(c[falseAlarm]) }},
		{"unseen clear", func(c *Counts) string { return strconv.Itoa(c[unseenClear]) }},
	} {
		line := []string{x.name}
		for _, s := range sets {
			c := total(s)
			line = append(line, x.of(&c))
		}
		t = append(t, line)
	}
	t.write(b)
}
