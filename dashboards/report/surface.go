package report

// An ink is what a mark on a chart stands for; each surface has its own colour for it, a screen two (light, dark).
// No two inks are told apart by colour alone: weight, dash, place or a label differ too.
type ink uint8

const (
	inkText ink = iota
	inkMuted
	inkGrid
	inkFlow
	inkReturn
	inkSetpoint
	inkOther
	inkFiring
	inkDemand
	inkFault
	inkAbsent // silence or gap
	inkCount
)

// inkNames are the class names in SVG.
var inkNames = [inkCount]string{"text", "muted", "grid", "flow", "return", "setpoint", "other", "firing", "demand", "fault", "absent"}

// inkPrint are the colours on white paper. Each that carries text has a contrast of at least 4.5 : 1 to white
// (WCAG 2.2, 1.4.3), each that carries only lines at least 3 : 1 (1.4.11); the grid carries nothing.
var inkPrint = [inkCount][3]int{
	inkText:     {0x1c, 0x1b, 0x19},
	inkMuted:    {0x5a, 0x57, 0x52},
	inkGrid:     {0xdd, 0xd9, 0xd2},
	inkFlow:     {0xa8, 0x2c, 0x1c},
	inkReturn:   {0x1f, 0x5a, 0x96},
	inkSetpoint: {0x4d, 0x4a, 0x46},
	inkOther:    {0x2c, 0x66, 0x4c},
	inkFiring:   {0xa6, 0x52, 0x0a},
	inkDemand:   {0x6b, 0x67, 0x61},
	inkFault:    {0x7d, 0x1d, 0x5f},
	inkAbsent:   {0x8a, 0x85, 0x7d},
}

// anchor says which end of a text stands at its place.
type anchor uint8

const (
	anchorStart anchor = iota
	anchorMiddle
	anchorEnd
)

// stroke is how a line is drawn: width and dash lengths in the surface's units (points in PDF, pixels in SVG).
type stroke struct {
	ink   ink
	width float64
	dash  []float64
}

type point struct{ x, y float64 }

// surface is what charts draw on. x runs right, y down, from the chart's own top left corner. Two implementations:
// svgSurface and pdfSurface.
type surface interface {
	line(a, b point, s stroke)
	polyline(pts []point, s stroke)
	// area fills a closed outline in a tint of the ink that leaves lines above it readable.
	area(pts []point, i ink)
	rect(x, y, w, h float64, i ink)
	hatch(x, y, w, h float64, i ink)
	// text puts s on the base line at p. It never wraps.
	text(p point, s string, size float64, i ink, a anchor)
	// textWidth is how wide s will be; on a screen, whose font is not known, a generous estimate.
	textWidth(s string, size float64) float64
}

// hatchStep is the distance of hatching lines along x, in the surface's units.
const hatchStep = 4.0

// hatchLines gives the strokes of a 45° hatching inside a rectangle. Lines lie on one grid for the whole surface,
// so that two hatched stretches that touch look like one.
func hatchLines(x, y, w, h float64) [][2]point {
	if w <= 0 || h <= 0 {
		return nil
	}
	var out [][2]point
	first := float64(int((x+y)/hatchStep)) * hatchStep
	for c := first; c <= x+w+y+h; c += hatchStep { // the line px + py = c
		x0, x1 := max(x, c-(y+h)), min(x+w, c-y)
		if x1 > x0 {
			out = append(out, [2]point{{x0, c - x0}, {x1, c - x1}})
		}
	}
	return out
}
