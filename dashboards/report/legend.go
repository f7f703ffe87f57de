package report

// mark is how a key of a chart is drawn: never by colour alone.
type mark uint8

const (
	markFill mark = iota
	markHatch
	markTint
	markLine
	markDot
	markDiamond
)

// key names one kind of mark on a chart.
type key struct {
	text   string
	mark   mark
	stroke stroke
}

// dotSize is the side of a dot, in text sizes.
const dotSize = 0.38

// keys sets the names of what is drawn in lines from top on, and gives the height used.
func keys(s surface, l layout, left, top float64, all []key) float64 {
	if len(all) == 0 {
		return 0
	}
	em := l.size
	const swatch, gap, between, line = 1.7, 0.5, 1.5, 1.45
	x, y := left, top
	for _, k := range all {
		w := (swatch+gap)*em + s.textWidth(k.text, em)
		if x > left && x+w > l.width {
			x, y = left, y+line*em
		}
		drawMark(s, k.mark, k.stroke, x, y+0.12*em, swatch*em, 0.85*em, em)
		s.text(point{x + (swatch+gap)*em, y + 0.88*em}, k.text, em, inkText, anchorStart)
		x += w + between*em
	}
	return y - top + line*em
}

// drawMark draws a mark into a box.
func drawMark(s surface, m mark, st stroke, x, y, w, h, em float64) {
	switch m {
	case markFill:
		s.rect(x, y, w, h, st.ink)
	case markHatch:
		hatched(s, x, y, w, h, st.ink)
	case markTint:
		tinted(s, x, y, w, h, st.ink)
	case markLine:
		s.line(point{x, y + h/2}, point{x + w, y + h/2}, st)
	case markDot:
		dot(s, point{x + w/2, y + h/2}, dotSize*em, st.ink)
	case markDiamond:
		diamond(s, point{x + w/2, y + h/2}, 0.45*em, st.ink)
	}
}

func dot(s surface, at point, side float64, i ink) {
	s.rect(at.x-side/2, at.y-side/2, side, side, i)
}

// diamond is an outline about a point.
func diamond(s surface, at point, r float64, i ink) {
	s.polyline([]point{{at.x, at.y - r}, {at.x + r, at.y}, {at.x, at.y + r}, {at.x - r, at.y}, {at.x, at.y - r}}, stroke{ink: i, width: 1.3})
}

func hatched(s surface, x, y, w, h float64, i ink) {
	s.hatch(x, y, w, h, i)
	outline(s, x, y, w, h, i)
}

func tinted(s surface, x, y, w, h float64, i ink) {
	s.area([]point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, i)
	outline(s, x, y, w, h, i)
}

func outline(s surface, x, y, w, h float64, i ink) {
	s.polyline([]point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}, {x, y}}, stroke{ink: i, width: 0.6})
}

// clippedTo shortens a text to a width, with an ellipsis.
func clippedTo(s surface, t string, size, width float64) string {
	if s.textWidth(t, size) <= width {
		return t
	}
	r := []rune(t)
	for len(r) > 1 && s.textWidth(string(r)+"…", size) > width {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}
