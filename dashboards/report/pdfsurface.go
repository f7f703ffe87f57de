package report

import "codeberg.org/go-pdf/fpdf"

// pdfSurface draws at a place on the current page.
type pdfSurface struct {
	f     *fpdf.Fpdf
	face  *typeface
	place point // of the chart's top left corner on the page, points
}

func (s *pdfSurface) pen(st stroke) {
	c := inkPrint[st.ink]
	s.f.SetDrawColor(c[0], c[1], c[2])
	s.f.SetLineWidth(st.width)
	s.f.SetDashPattern(st.dash, 0)
}

func (s *pdfSurface) line(a, b point, st stroke) { s.polyline([]point{a, b}, st) }

func (s *pdfSurface) polyline(pts []point, st stroke) {
	if len(pts) < 2 {
		return
	}
	s.pen(st)
	s.f.MoveTo(pts[0].x+s.place.x, pts[0].y+s.place.y)
	for _, p := range pts[1:] {
		s.f.LineTo(p.x+s.place.x, p.y+s.place.y)
	}
	s.f.DrawPath("D")
	s.f.SetDashPattern(nil, 0)
}

// areaTint is how much a filled area covers, 0…1; the style sheet has the same figure.
const areaTint = 0.22

func (s *pdfSurface) area(pts []point, i ink) {
	if len(pts) < 3 {
		return
	}
	c := inkPrint[i]
	s.f.SetFillColor(c[0], c[1], c[2])
	s.f.SetAlpha(areaTint, "Normal") // so that bands that overlap are both seen
	moved := make([]fpdf.PointType, len(pts))
	for k, p := range pts {
		moved[k] = fpdf.PointType{X: p.x + s.place.x, Y: p.y + s.place.y}
	}
	s.f.Polygon(moved, "F")
	s.f.SetAlpha(1, "Normal")
}

func (s *pdfSurface) rect(x, y, w, h float64, i ink) {
	c := inkPrint[i]
	s.f.SetFillColor(c[0], c[1], c[2])
	s.f.Rect(x+s.place.x, y+s.place.y, w, h, "F")
}

func (s *pdfSurface) hatch(x, y, w, h float64, i ink) {
	for _, l := range hatchLines(x, y, w, h) {
		s.line(l[0], l[1], stroke{ink: i, width: 0.4})
	}
}

func (s *pdfSurface) text(p point, t string, size float64, i ink, a anchor) {
	t = s.face.printable(t)
	c := inkPrint[i]
	s.f.SetTextColor(c[0], c[1], c[2])
	s.f.SetFont(fontFamily, "", size)
	x := p.x + s.place.x
	switch a {
	case anchorMiddle:
		x -= s.f.GetStringWidth(t) / 2
	case anchorEnd:
		x -= s.f.GetStringWidth(t)
	}
	s.f.Text(x, p.y+s.place.y, t)
}

func (s *pdfSurface) textWidth(t string, size float64) float64 {
	s.f.SetFont(fontFamily, "", size)
	return s.f.GetStringWidth(s.face.printable(t))
}
