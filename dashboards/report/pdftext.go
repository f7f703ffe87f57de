package report

import (
	"fmt"
	"strings"
)

// wrap breaks text into lines of the current font. A word wider than a line is broken where it must be.
func (p *pdf) wrap(text string, width float64) []string {
	text = p.face.printable(text)
	var lines []string
	line := ""
	space := p.f.GetStringWidth(" ")
	used := 0.0
	flush := func() {
		lines, line, used = append(lines, line), "", 0
	}
	for _, word := range strings.Split(text, " ") {
		if word == "" {
			continue
		}
		w := p.f.GetStringWidth(word)
		if line != "" && used+space+w > width {
			flush()
		}
		for w > width {
			head := p.fitting(word, width)
			lines = append(lines, head)
			word = word[len(head):]
			w = p.f.GetStringWidth(word)
		}
		if line != "" {
			line += " "
			used += space
		}
		line += word
		used += w
	}
	if line != "" || len(lines) == 0 {
		flush()
	}
	return lines
}

// fitting is the longest beginning of a word that fits, at least one character.
func (p *pdf) fitting(word string, width float64) string {
	used := 0.0
	for i, r := range word {
		used += p.f.GetStringWidth(string(r))
		if used > width && i > 0 {
			return word[:i]
		}
	}
	return word
}

// clipped shortens text to a width, with an ellipsis.
func (p *pdf) clipped(text string, width float64) string {
	text = p.face.printable(text)
	if p.f.GetStringWidth(text) <= width {
		return text
	}
	return p.fitting(text, width-p.f.GetStringWidth("…")) + "…"
}

// set wraps a paragraph in its own style, which stays in force.
func (p *pdf) set(b para) (lines []string, x, step float64) {
	size, x, width := bodySize, sideMargin, textWidth
	switch b.tone {
	case lead:
		size = 10.6
		p.style("", size, inkText)
	case aside:
		size = smallSize
		p.style("", size, inkMuted)
	case warning:
		p.style("B", size, inkFault)
		x, width = x+10, width-10
	default:
		p.style("", size, inkText)
	}
	return p.wrap(b.text, width), x, size * leading
}

// below a paragraph, points.
const paragraphGap = 4.0

func (p *pdf) paragraphHeight(b para) float64 {
	lines, _, step := p.set(b)
	return float64(len(lines))*step + paragraphGap
}

func (p *pdf) paragraph(b para) {
	lines, x, step := p.set(b)
	if len(lines) <= 3 { // no widows in short ones
		p.need(float64(len(lines)) * step)
	} else {
		p.need(2 * step)
	}
	top, page := p.y, p.f.PageNo()
	p.lines(lines, x, step)
	if b.tone == warning && p.f.PageNo() == page {
		c := inkPrint[inkFault]
		p.f.SetFillColor(c[0], c[1], c[2])
		p.f.Rect(sideMargin, top, 2.4, p.y-top-1, "F")
	}
	if b.tone == warning {
		p.y += paragraphGap
	}
	p.y += paragraphGap
}

// listIndent is how far the text of a list stands in, points.
const listIndent = 13.0

// listStart is the height of a list's first item, or of its first lines where that is long.
func (p *pdf) listStart(b list) float64 {
	if len(b.items) == 0 {
		return 0
	}
	return float64(min(len(p.itemLines(b.items[0], textWidth-listIndent)), 3)) * bodySize * leading
}

// list sets items with a hanging indent, each beginning with its strong words.
func (p *pdf) list(b list) {
	const indent = listIndent
	step := bodySize * leading
	for i, it := range b.items {
		runs := p.itemLines(it, textWidth-indent)
		p.need(float64(min(len(runs), 3)) * step)
		p.style("", bodySize, inkMuted)
		mark := "–"
		if b.ordered {
			mark = fmt.Sprintf("%d.", i+1)
		}
		p.f.Text(sideMargin, p.y+bodySize*0.95, mark)
		for _, r := range runs {
			p.need(step)
			p.style("B", bodySize, inkText)
			p.f.Text(sideMargin+indent, p.y+bodySize*0.95, r.strong)
			x := sideMargin + indent
			if r.strong != "" {
				x += p.f.GetStringWidth(r.strong + " ")
			}
			p.style("", bodySize, inkText)
			p.f.Text(x, p.y+bodySize*0.95, r.text)
			p.y += step
		}
		p.y += 2
	}
	p.y += 3
}

// itemLines breaks an item into lines; the one on which strong words end and plain words begin has both.
func (p *pdf) itemLines(it item, width float64) []item {
	var out []item
	first := 0.0
	if it.strong != "" {
		p.style("B", bodySize, inkText)
		lines := p.wrap(it.strong, width)
		for _, l := range lines {
			out = append(out, item{strong: l})
		}
		first = p.f.GetStringWidth(lines[len(lines)-1] + " ")
	}
	p.style("", bodySize, inkText)
	if it.text == "" {
		return out
	}
	if len(out) == 0 {
		for _, l := range p.wrap(it.text, width) {
			out = append(out, item{text: l})
		}
		return out
	}
	// Fill up the line of the last strong words, then go on at full width.
	words := strings.Split(p.face.printable(it.text), " ")
	n := 0
	for n < len(words) && first+p.f.GetStringWidth(strings.Join(words[:n+1], " ")) <= width {
		n++
	}
	out[len(out)-1].text = strings.Join(words[:n], " ")
	if rest := strings.Join(words[n:], " "); rest != "" {
		for _, l := range p.wrap(rest, width) {
			out = append(out, item{text: l})
		}
	}
	return out
}

// The columns of labels and values and what is left below each, points.
const pairLabel, pairGap, pairBelow = 148.0, 10.0, 0.8

// pair wraps a label and its value to their columns.
func (p *pdf) pair(it pair) (label, value []string) {
	p.style("", bodySize, inkMuted)
	label = p.wrap(it.label, pairLabel)
	p.style("", bodySize, inkText)
	return label, p.wrap(it.value, textWidth-pairLabel-pairGap)
}

// pairsStart is the height of a short list of pairs, or of the first few of a long one.
func (p *pdf) pairsStart(b pairs) float64 {
	const few, first = 8, 3
	if len(b) > few {
		b = b[:first]
	}
	h := 0.0
	for _, it := range b {
		label, value := p.pair(it)
		h += float64(min(max(len(label), len(value)), 4))*bodySize*leading + pairBelow
	}
	return h
}

// pairs sets labels in a narrow column and values beside them.
func (p *pdf) pairs(b pairs) {
	step := bodySize * leading
	for _, it := range b {
		left, right := p.pair(it)
		p.need(float64(min(max(len(left), len(right)), 4)) * step)
		for i := range max(len(left), len(right)) {
			p.need(step)
			if i < len(left) {
				p.style("", bodySize, inkMuted)
				p.f.Text(sideMargin, p.y+bodySize*0.95, left[i])
			}
			if i < len(right) {
				p.style("", bodySize, inkText)
				p.f.Text(sideMargin+pairLabel+pairGap, p.y+bodySize*0.95, right[i])
			}
			p.y += step
		}
		p.y += pairBelow
	}
	p.y += 5
}

// figureHeight measures a chart with its title and caption by drawing it on a surface that keeps nothing.
func (p *pdf) figureHeight(b figure) float64 {
	var s svgSurface
	h := b.chart.draw(&s, pdfChart)
	p.style("", smallSize, inkMuted)
	return h + bodySize*leading + float64(len(p.wrap(b.chart.describe(), textWidth)))*smallSize*leading + 8
}

// figure sets a chart. Where it is too high for what is left of the page by no more than it can be drawn lower, it
// is drawn lower, and never asks for room again: height and decision worked out twice can differ in the last bit,
// and would then part a heading from its chart.
func (p *pdf) figure(b figure) {
	const bit = 0.5 // far more than rounding, far less than an eye sees
	l := pdfChart
	over := p.y + p.figureHeight(b) - (pageHeight - bottomMargin)
	switch {
	case over <= bit:
	case over <= flexible+bit && !b.chart.fixed():
		l.height -= over
	default:
		p.need(p.figureHeight(b))
	}
	p.style("B", smallSize, inkText)
	p.f.Text(sideMargin, p.y+smallSize*0.95, p.wrap(b.chart.heading(), textWidth)[0])
	p.y += bodySize * leading
	s := pdfSurface{p.f, p.face, point{sideMargin, p.y}}
	p.y += b.chart.draw(&s, l)
	p.style("", smallSize, inkMuted)
	p.y += 2
	for _, line := range p.wrap(b.chart.describe(), textWidth) {
		p.f.Text(sideMargin, p.y+smallSize*0.95, line)
		p.y += smallSize * leading
	}
	p.y += 6
}
