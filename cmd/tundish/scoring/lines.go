package scoring

import (
	"strings"
	"unicode/utf8"
)

// lines is a Markdown table whose columns stand under each other in plain text too; the first line is its head.
type lines [][]string

// write writes the table with more lines at its end: the first column to the left, the rest to the right.
func (t lines) write(b *strings.Builder, more ...[]string) {
	t = append(t, more...)
	wide := make([]int, len(t[0]))
	for _, line := range t {
		for i, cell := range line {
			wide[i] = max(wide[i], utf8.RuneCountInString(cell), 4)
		}
	}
	for n, line := range t {
		b.WriteByte('|')
		for i, cell := range line {
			pad := strings.Repeat(" ", wide[i]-utf8.RuneCountInString(cell))
			if i == 0 {
				cell += pad
			} else {
				cell = pad + cell
			}
			b.WriteString(" " + cell + " |")
		}
		b.WriteByte('\n')
		if n > 0 {
			continue
		}
		b.WriteByte('|')
		for i, w := range wide {
			if i == 0 {
				b.WriteString(" " + strings.Repeat("-", w) + " |")
			} else {
				b.WriteString(" " + strings.Repeat("-", w-1) + ": |")
			}
		}
		b.WriteByte('\n')
	}
}
