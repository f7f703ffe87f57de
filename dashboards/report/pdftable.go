package report

import (
	"cmp"
	"slices"
	"strings"
)

const cellGap = 9.0 // between columns

// grade is how a table is set: the size of its type, the distance of its lines, and what stands above and below the
// text of a row.
type grade struct{ size, step, above float64 }

var (
	usual  = grade{size: 8.6, step: 8.6 * 1.3, above: 2.6}
	closer = grade{size: 7.6, step: 7.6 * 1.22, above: 0.9}
)

func (t table) grade() grade {
	if t.dense {
		return closer
	}
	return usual
}

// table sets rows that are not torn apart unless one is longer than a page; the head is repeated on each page.
func (p *pdf) table(t table) {
	widths, g := p.columns(t), t.grade()
	width := cellGap * float64(len(widths)-1)
	for _, w := range widths {
		width += w
	}
	p.need(p.tableStart(t))
	head := p.cells(t.head, widths, "B", g)
	p.row(t, head, widths, "B", inkMuted)
	p.rule(p.y, width, 0.7, inkMuted)
	room := pageHeight - bottomMargin - topMargin - g.height(head)
	most := int((room - 2*g.above) / g.step)
	for i, r := range t.rows {
		for k, part := range splitRow(p.cells(r, widths, "", g), most) {
			wanted := g.height(part)
			if i > 0 && i == len(t.rows)-2 && k == 0 { // so that the last row does not stand alone on a page
				wanted = min(wanted+g.height(p.cells(t.rows[i+1], widths, "", g)), room)
			}
			if p.y+wanted > pageHeight-bottomMargin {
				p.newPage()
				p.row(t, head, widths, "B", inkMuted)
				p.rule(p.y, width, 0.7, inkMuted)
			}
			p.row(t, part, widths, "", inkText)
			p.rule(p.y, width, 0.4, inkGrid)
		}
	}
	p.y += 8
}

// tableStart is the height of a table's head and its first rows: all of a short table, since a single row on the
// next page would be lost there.
func (p *pdf) tableStart(t table) float64 {
	const few, first = 6, 3
	widths, g := p.columns(t), t.grade()
	h := g.height(p.cells(t.head, widths, "B", g))
	n := len(t.rows)
	if n > few {
		n = first
	}
	for _, r := range t.rows[:n] {
		h += g.height(p.cells(r, widths, "", g))
	}
	return min(h, (pageHeight-topMargin-bottomMargin)/3)
}

// cells wraps each cell of a row to its column.
func (p *pdf) cells(texts []string, widths []float64, weight string, g grade) [][]string {
	p.style(weight, g.size, inkText)
	out := make([][]string, len(texts))
	for i, s := range texts {
		out[i] = p.wrap(s, widths[i])
	}
	return out
}

// height is that of a row.
func (g grade) height(cells [][]string) float64 {
	n := 1
	for _, c := range cells {
		n = max(n, len(c))
	}
	return float64(n)*g.step + 2*g.above
}

// splitRow cuts a row that is longer than a page into parts.
func splitRow(cells [][]string, most int) [][][]string {
	var out [][][]string
	for from := 0; ; from += most {
		part := make([][]string, len(cells))
		more := false
		for i, c := range cells {
			part[i] = c[min(from, len(c)):min(from+most, len(c))]
			more = more || len(c) > from+most
		}
		out = append(out, part)
		if !more {
			return out
		}
	}
}

func (p *pdf) row(t table, cells [][]string, widths []float64, weight string, i ink) {
	g := t.grade()
	p.style(weight, g.size, i)
	x := sideMargin
	for c, lines := range cells {
		for k, l := range lines {
			at := x
			if c < len(t.numeric) && t.numeric[c] {
				at += widths[c] - p.f.GetStringWidth(l)
			}
			p.f.Text(at, p.y+g.above+float64(k)*g.step+g.size*0.92, l)
		}
		x += widths[c] + cellGap
	}
	p.y += g.height(cells)
}

// columns shares the width out: each column first gets room for its longest word, then for its longest cell, as far
// as the page goes; where it does not reach, columns that are content with less leave more to the others. A last
// column of words takes what is left over.
func (p *pdf) columns(t table) []float64 {
	natural, least := p.naturalWidths(t)
	room := textWidth - cellGap*float64(len(t.head)-1)
	for i := range least { // a word longer than a third of the page is broken
		least[i] = min(least[i], room/3)
	}
	widths := share(least, room)
	more := make([]float64, len(widths))
	for i, w := range widths {
		room -= w
		more[i] = natural[i] - w
	}
	for i, w := range share(more, room) {
		widths[i] += w
		room -= w
	}
	if last := len(widths) - 1; last >= 0 && room > 0 && !(last < len(t.numeric) && t.numeric[last]) {
		widths[last] += room
	}
	return widths
}

// share deals out room so that nobody gets more than wanted, and whoever gets less gets as much as any other.
func share(wants []float64, room float64) []float64 {
	order := make([]int, len(wants))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(wants[a], wants[b]) })
	out := make([]float64, len(wants))
	for k, i := range order {
		out[i] = max(0, min(wants[i], room/float64(len(order)-k)))
		room -= out[i]
	}
	return out
}

// naturalWidths measures, for each column, its widest cell and its widest word.
func (p *pdf) naturalWidths(t table) (natural, least []float64) {
	natural, least = make([]float64, len(t.head)), make([]float64, len(t.head))
	measure := func(cells []string) {
		for i, s := range cells {
			s = p.face.printable(s)
			natural[i] = max(natural[i], p.f.GetStringWidth(s)+0.5)
			for _, word := range strings.Split(s, " ") {
				least[i] = max(least[i], p.f.GetStringWidth(word)+0.5)
			}
		}
	}
	p.style("B", t.grade().size, inkText)
	measure(t.head)
	p.style("", t.grade().size, inkText)
	for _, r := range t.rows {
		measure(r)
	}
	return natural, least
}
