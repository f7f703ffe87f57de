package building

import (
	"fmt"
	"slices"
)

// Construction is a way of building that is named once and used many times.
type Construction struct {
	Name string
	Text string // what it is, for people
	Build
	Source string // of a construction of the library
}

// solid are walls of which measurement finds less than calculation: brick and stone without a cavity.
func solid(layers ...Layer) Build { return Build{Layers: layers, Surface: Wall, SolidWall: true} }

func wall(layers ...Layer) Build { return Build{Layers: layers, Surface: Wall} }

func of(material string, mm float64) Layer { return Layer{Material: material, ThicknessM: mm / 1000} }

func air(mm float64) Layer { return Layer{AirM: mm / 1000} }

func joists(l Layer, material string, share float64) Layer {
	l.Bridge = &Bridge{Name: "timber", Material: material, Share: share}
	return l
}

func resistance(r float64) Layer { return Layer{ResistanceM2KW: r} }

const (
	bySixNineFour = "computed by EN ISO 6946 of its layers"
	// loftSpaceR is the space under tiles on underlay or boards, m²K/W (EN ISO 6946:2017 table 9, from memory).
	loftSpaceR = 0.2
	// joistShare and joistM: timber at 9 % of a ceiling's area, 100 mm deep (usual value of BR 443, from memory).
	joistShare, joistM = 0.09, 0.100
	// studShare is timber in a wall frame (usual value of BR 443, from memory).
	studShare = 0.15
)

// Loft is a pitched roof with mineral wool between and over the joists of the ceiling; wool in mm.
func Loft(woolMM float64) Build {
	layers := []Layer{of("plasterboard", 12.5)}
	if woolMM > 0 {
		layers = append(layers, joists(of("mineral-wool-quilt", min(woolMM, joistM*1000)), "softwood", joistShare))
	}
	if woolMM > joistM*1000 {
		layers = append(layers, of("mineral-wool-quilt", woolMM-joistM*1000))
	}
	return Build{Layers: append(layers, resistance(loftSpaceR)), Surface: Roof}
}

// loftsMM are the thicknesses of wool that the library has.
var loftsMM = [...]float64{0, 25, 50, 75, 100, 150, 200, 250, 270, 300, 400}

// pane is glazing in its middle: gapR is of the space between two panes of 4 mm, m²K/W; 0: a single pane.
func pane(gapR float64) Build {
	layers := []Layer{of("glass", 4)}
	if gapR > 0 {
		layers = append(layers, resistance(gapR), of("glass", 4))
	}
	return Build{Layers: layers, Surface: Wall}
}

// window is a whole window of 1.23 m × 1.48 m, the size of EN ISO 10077-1, with 30 % frame and 4.0 m of pane edge.
func window(paneU, frameU float64) Build {
	u := WindowU(1.23*1.48, 0.30, paneU, frameU, 0.06, 4.0)
	return Build{UWM2K: &u, Surface: Wall}
}

func stated(u float64, s Surface) Build { return Build{UWM2K: &u, Surface: s} }

// Library are common constructions, with their layers.
func Library() []Construction {
	const glass = bySixNineFour + "; gap by EN 673, from memory; middle of the pane, without its frame"
	const whole = "computed by EN ISO 10077-1: 1.23 m × 1.48 m, frame 30 %, edge 0.06 W/mK on 4.0 m"
	brick, inner, plaster := of("brick-outer", 102.5), of("brick-inner", 102.5), of("dense-plaster", 13)
	list := []Construction{
		{"solid-brick-220-bare", "solid brick 220 mm, bare inside", solid(of("brick-outer", 220)), bySixNineFour},
		{"solid-brick-220", "solid brick 220 mm, dense plaster 13 mm", solid(of("brick-outer", 220), plaster), bySixNineFour},
		{"solid-brick-330", "solid brick 330 mm, dense plaster 13 mm", solid(of("brick-outer", 330), plaster), bySixNineFour},
		{"solid-sandstone-500", "sandstone 500 mm, dense plaster 13 mm", solid(of("sandstone", 500), plaster), bySixNineFour},
		{"solid-brick-220-outside-insulated", "solid brick 220 mm, EPS 90 mm outside", wall(of("eps", 90), of("brick-outer", 220), plaster), bySixNineFour},
		{"cavity-unfilled-brick", "brick, open cavity 65 mm, brick, dense plaster", wall(brick, air(65), inner, plaster), bySixNineFour},
		{"cavity-unfilled-dense-block", "brick, open cavity 65 mm, dense block 100 mm, dense plaster", wall(brick, air(65), of("dense-block", 100), plaster), bySixNineFour},
		{"cavity-unfilled-aerated-block", "brick, open cavity 65 mm, aerated block 100 mm, dense plaster", wall(brick, air(65), of("aerated-block", 100), plaster), bySixNineFour},
		{"cavity-filled-65", "brick, cavity 65 mm filled at 0.040 W/mK, brick, dense plaster", wall(brick, Layer{ThicknessM: 0.065, ConductivityWMK: 0.040}, inner, plaster), bySixNineFour},
		{"cavity-filled-65-beads", "brick, cavity 65 mm filled at 0.034 W/mK, brick, dense plaster", wall(brick, Layer{ThicknessM: 0.065, ConductivityWMK: 0.034}, inner, plaster), bySixNineFour},
		{"cavity-filled-50", "brick, cavity 50 mm filled at 0.040 W/mK, brick, dense plaster", wall(brick, Layer{ThicknessM: 0.050, ConductivityWMK: 0.040}, inner, plaster), bySixNineFour},
		{"timber-frame-140", "brick, cavity 50 mm, timber frame 140 mm with mineral wool, plasterboard", wall(brick, air(50), joists(of("mineral-wool-batt", 140), "softwood", studShare), of("plasterboard", 12.5)), bySixNineFour},
		{"flat-roof-uninsulated", "boards 18 mm, air 100 mm, plasterboard", Build{Layers: []Layer{of("softwood", 18), air(100), of("plasterboard", 12.5)}, Surface: Roof}, bySixNineFour},
		{"flat-roof-pir-100", "PIR 100 mm on boards 18 mm, air 100 mm, plasterboard", Build{Layers: []Layer{of("pir", 100), of("softwood", 18), air(100), of("plasterboard", 12.5)}, Surface: Roof}, bySixNineFour},
		{"single-pane", "single glazing 4 mm, middle of the pane", pane(0), glass},
		{"double-pane-6", "double glazing, air 6 mm, uncoated, middle of the pane", pane(0.127), glass},
		{"double-pane-9", "double glazing, air 9 mm, uncoated, middle of the pane", pane(0.154), glass},
		{"double-pane-12", "double glazing, air 12 mm, uncoated, middle of the pane", pane(0.173), glass},
		{"double-pane-16", "double glazing, air 16 mm, uncoated, middle of the pane", pane(0.180), glass},
		{"window-double", "whole window, double glazing 2.8, frame 1.7", window(2.8, 1.7), whole},
		{"window-double-coated", "whole window, coated double glazing 1.2, frame 1.4", window(1.2, 1.4), whole},
		{"door-wood", "outside door of wood", stated(3.0, Wall), "common practice, no source"},
		{"partition-brick", "brick 102.5 mm, dense plaster on both sides", wall(plaster, inner, plaster), bySixNineFour},
		{"partition-stud", "plasterboard, air 75 mm, plasterboard", wall(of("plasterboard", 12.5), air(75), of("plasterboard", 12.5)), bySixNineFour},
		{"ceiling-between-rooms", "plasterboard, air 200 mm, boards 18 mm, to a room above", Build{Layers: []Layer{of("plasterboard", 12.5), air(200), of("softwood", 18)}, Surface: Roof}, bySixNineFour},
		{"floor-between-rooms", "boards 18 mm, air 200 mm, plasterboard, to a room below", Build{Layers: []Layer{of("softwood", 18), air(200), of("plasterboard", 12.5)}, Surface: Floor}, bySixNineFour},
	}
	for _, mm := range loftsMM {
		list = append(list, Construction{fmt.Sprintf("loft-%g", mm), fmt.Sprintf("loft with %g mm of mineral wool, tiles on underlay", mm), Loft(mm), bySixNineFour})
	}
	return list
}

// inLibrary finds a construction of the library.
func inLibrary(name string) (Construction, bool) {
	list := Library()
	i := slices.IndexFunc(list, func(c Construction) bool { return c.Name == name })
	if i < 0 {
		return Construction{}, false
	}
	return list[i], true
}
