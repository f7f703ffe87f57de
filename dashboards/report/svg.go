package report

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// svgSurface writes the inside of an <svg>. Colours are classes, so that the page's style sheet can give them one
// value for a light and one for a dark screen.
type svgSurface struct{ b strings.Builder }

// screenWeight is how much heavier lines are in CSS pixels than in points on paper.
const screenWeight = 1.4

// screenGlyph is the width taken for one letter on a screen, in em: a little more than the mean of common system
// sans-serifs (from memory: 0.50–0.53 em), so that labels keep clear of each other.
const screenGlyph = 0.55

func (s *svgSurface) textWidth(t string, size float64) float64 {
	return float64(utf8.RuneCountInString(t)) * screenGlyph * size
}

func (s *svgSurface) line(a, b point, st stroke) { s.polyline([]point{a, b}, st) }

func (s *svgSurface) polyline(pts []point, st stroke) {
	if len(pts) < 2 {
		return
	}
	s.b.WriteString(`<path class="l ` + inkNames[st.ink] + `" d="`)
	s.path(pts)
	s.b.WriteString(`" stroke-width="` + coord(st.width*screenWeight) + `"`)
	if len(st.dash) > 0 {
		parts := make([]string, len(st.dash))
		for i, d := range st.dash {
			parts[i] = coord(d)
		}
		s.b.WriteString(` stroke-dasharray="` + strings.Join(parts, " ") + `"`)
	}
	s.b.WriteString("/>")
}

func (s *svgSurface) area(pts []point, i ink) {
	if len(pts) < 3 {
		return
	}
	s.b.WriteString(`<path class="a ` + inkNames[i] + `" d="`)
	s.path(pts)
	s.b.WriteString(`Z"/>`)
}

// path writes the corners, dropping those that do not move at the resolution written.
func (s *svgSurface) path(pts []point) {
	last := ""
	for i, p := range pts {
		at := coord(p.x) + " " + coord(p.y)
		if at == last && i != 1 {
			continue
		}
		if i == 0 {
			s.b.WriteByte('M')
		} else {
			s.b.WriteByte('L')
		}
		s.b.WriteString(at)
		last = at
	}
}

func (s *svgSurface) rect(x, y, w, h float64, i ink) {
	s.b.WriteString(`<rect class="f ` + inkNames[i] + `" x="` + coord(x) + `" y="` + coord(y) +
		`" width="` + coord(w) + `" height="` + coord(h) + `"/>`)
}

func (s *svgSurface) hatch(x, y, w, h float64, i ink) {
	lines := hatchLines(x, y, w, h)
	if len(lines) == 0 {
		return
	}
	s.b.WriteString(`<path class="l ` + inkNames[i] + `" stroke-width="0.7" d="`)
	for _, l := range lines {
		s.path(l[:])
	}
	s.b.WriteString(`"/>`)
}

func (s *svgSurface) text(p point, t string, size float64, i ink, a anchor) {
	s.b.WriteString(`<text class="t ` + inkNames[i] + `" x="` + coord(p.x) + `" y="` + coord(p.y) +
		`" font-size="` + coord(size) + `"`)
	switch a {
	case anchorMiddle:
		s.b.WriteString(` text-anchor="middle"`)
	case anchorEnd:
		s.b.WriteString(` text-anchor="end"`)
	}
	s.b.WriteString(">" + escapeXML(t) + "</text>")
}

var xmlEscaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;")

func escapeXML(s string) string { return xmlEscaper.Replace(s) }

// coord prints a length to a tenth of a unit, which is finer than a screen shows.
func coord(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}

// svgFigure is the whole <svg> of a chart, with its text alternative. id must be unique on the page.
func svgFigure(p chart, id string, l layout) string {
	var s svgSurface
	h := p.draw(&s, l)
	return `<svg viewBox="0 0 ` + coord(l.width) + " " + coord(h) + `" width="` + coord(l.width) + `" height="` + coord(h) +
		`" role="img" aria-labelledby="` + id + `-t ` + id + `-d"><title id="` + id + `-t">` + escapeXML(p.heading()) +
		`</title><desc id="` + id + `-d">` + escapeXML(p.describe()) + `</desc>` + s.b.String() + `</svg>`
}
