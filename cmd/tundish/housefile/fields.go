package housefile

import (
	"fmt"
	"sort"
	"strconv"

	"tundish/analyse/building"
)

type (
	room    = building.Room
	element = building.Element
)

var fileFields = []field[File]{
	text("name", func(f *File) *string { return &f.House.Name }),
	number("outside_c", func(f *File) **float64 { return &f.House.OutsideC }),
	number("annual_mean_c", func(f *File) **float64 { return &f.House.AnnualMeanC }),
	number("built", func(f *File) **float64 { return &f.House.Built }),
	number("bridge_surcharge_w_m2k", func(f *File) **float64 { return &f.House.BridgeSurchargeWM2K }),
	number("air_wh_m3k", func(f *File) **float64 { return &f.House.AirWhM3K }),
	number("design_flow_c", func(f *File) **float64 { return &f.DesignFlowC }),
	number("design_return_c", func(f *File) **float64 { return &f.DesignReturnC }),
	{"excess_mean", takeMean},
	{"glycol", takeGlycol},
	table("reheat", reheatFields, func(f *File) **building.Reheat { return &f.House.Reheat }),
	{"outside_hours", outsideHours},
	list("construction", func(f *File, v any, at here) {
		f.House.Constructions = append(f.House.Constructions, filled(at, v, constructionFields))
	}),
	list("unheated", func(f *File, v any, at here) {
		f.House.Unheated = append(f.House.Unheated, filled(at, v, spaceFields()))
	}),
	list("room", addRoom),
	list("pipe", addPipe),
}

// filled is a new value from a table.
func filled[S any](at here, v any, fields []field[S]) S {
	var s S
	fill(at.r, at.path, at.place, v, &s, fields)
	return s
}

var reheatFields = []field[building.Reheat]{
	above("hours", "h", 24, func(r *building.Reheat) *float64 { return &r.Hours }),
	above("drop_k", "K", 20, func(r *building.Reheat) *float64 { return &r.DropK }),
	number("w_m2", func(r *building.Reheat) **float64 { return &r.WM2 }),
}

// buildFields say how something is made.
func buildFields[T any](of func(*T) *building.Build) []field[T] {
	return []field[T]{
		number("u_w_m2k", func(t *T) **float64 { return &of(t).UWM2K }),
		number("u_uncertainty_percent", func(t *T) **float64 { return &of(t).UncertaintyPercent }),
		text("surface", func(t *T) *string { return (*string)(&of(t).Surface) }),
		list("layers", func(t *T, v any, at here) {
			of(t).Layers = append(of(t).Layers, filled(at, v, layerFields))
		}),
		table("ground", groundFields, func(t *T) **building.Ground { return &of(t).Ground }),
	}
}

var constructionFields = append(buildFields(func(c *building.Construction) *building.Build { return &c.Build }),
	text("name", func(c *building.Construction) *string { return &c.Name }),
	text("text", func(c *building.Construction) *string { return &c.Text }))

// The highest values are far beyond what can be built, so that the building's own check speaks first.
const anything = 1e9

var layerFields = []field[building.Layer]{
	text("material", func(l *building.Layer) *string { return &l.Material }),
	above("thickness_m", "m", anything, func(l *building.Layer) *float64 { return &l.ThicknessM }),
	above("conductivity_w_mk", "W/mK", anything, func(l *building.Layer) *float64 { return &l.ConductivityWMK }),
	above("resistance_m2k_w", "m²K/W", anything, func(l *building.Layer) *float64 { return &l.ResistanceM2KW }),
	above("air_m", "m", anything, func(l *building.Layer) *float64 { return &l.AirM }),
	table("bridge", bridgeFields, func(l *building.Layer) **building.Bridge { return &l.Bridge }),
}

var bridgeFields = []field[building.Bridge]{
	text("name", func(b *building.Bridge) *string { return &b.Name }),
	text("material", func(b *building.Bridge) *string { return &b.Material }),
	above("conductivity_w_mk", "W/mK", anything, func(b *building.Bridge) *float64 { return &b.ConductivityWMK }),
	above("share", "", 1, func(b *building.Bridge) *float64 { return &b.Share }),
}

var groundFields = []field[building.Ground]{
	above("area_m2", "m²", anything, func(g *building.Ground) *float64 { return &g.AreaM2 }),
	above("perimeter_m", "m", anything, func(g *building.Ground) *float64 { return &g.PerimeterM }),
	above("wall_m", "m", anything, func(g *building.Ground) *float64 { return &g.WallM }),
	above("soil_w_mk", "W/mK", anything, func(g *building.Ground) *float64 { return &g.SoilWMK }),
}

// sized is an element whose area may be told by width and height.
type sized struct {
	element
	width, height *float64
}

// elementFields are a function because openings are elements in elements.
func elementFields() []field[sized] {
	return append(buildFields(func(e *sized) *building.Build { return &e.Build }),
		text("name", func(e *sized) *string { return &e.Name }),
		number("area_m2", func(e *sized) **float64 { return &e.AreaM2 }),
		number("width_m", func(e *sized) **float64 { return &e.width }),
		number("height_m", func(e *sized) **float64 { return &e.height }),
		text("construction", func(e *sized) *string { return &e.Construction }),
		number("other_side_c", func(e *sized) **float64 { return &e.OtherSideC }),
		text("neighbour", func(e *sized) *string { return &e.Neighbour }),
		number("b_u", func(e *sized) **float64 { return &e.BU }),
		number("bridge_w_mk", func(e *sized) **float64 { return &e.BridgeWMK }),
		number("bridge_m", func(e *sized) **float64 { return &e.BridgeM }),
		number("bridge_surcharge_w_m2k", func(e *sized) **float64 { return &e.BridgeSurchargeWM2K }),
		list("opening", func(e *sized, v any, at here) {
			e.Openings = append(e.Openings, takeElement(v, at))
		}))
}

func takeElement(v any, at here) element {
	e := filled(at, v, elementFields())
	switch {
	case e.width == nil && e.height == nil:
	case e.AreaM2 != nil:
		at.r.fail(at.path+".area_m2", at.place, "area_m2", "give either area_m2 or width_m and height_m, not both")
	case e.width == nil || e.height == nil:
		at.r.fail(at.path, at.place, "", "width_m and height_m belong together")
	case *e.width <= 0 || *e.height <= 0:
		at.r.fail(at.path+".width_m", at.place, "width_m", "%v m × %v m is no area", *e.width, *e.height)
	default:
		e.AreaM2 = new(*e.width * *e.height)
	}
	return e.element
}

func spaceFields() []field[building.Space] {
	return []field[building.Space]{
		text("name", func(s *building.Space) *string { return &s.Name }),
		text("kind", func(s *building.Space) *string { return &s.Kind }),
		number("b_u", func(s *building.Space) **float64 { return &s.BU }),
		number("volume_m3", func(s *building.Space) **float64 { return &s.VolumeM3 }),
		number("air_changes_per_h", func(s *building.Space) **float64 { return &s.AirChangesPerH }),
		list("element", func(s *building.Space, v any, at here) {
			s.Elements = append(s.Elements, takeElement(v, at))
		}),
	}
}

// outsideHours reads [outside_hours]: "-3" = 41.5 says that −3 °C is there for 41.5 h of a typical year.
func outsideHours(f *File, v any, at here) error {
	t, ok := v.(map[string]any)
	if !ok {
		return fmt.Errorf("must be a table of temperatures and hours: [outside_hours]")
	}
	sum, named := 0.0, map[float64]string{}
	at.place = "outside_hours"
	for _, k := range sortedKeys(t) {
		c, err := strconv.ParseFloat(k, 64)
		h, err2 := asNumber(t[k])
		switch {
		case err != nil || !(c >= -60 && c <= 60):
			at.r.fail(at.path+"."+k, at.place, k, "is no outside temperature in °C")
		case err2 != nil:
			at.r.fail(at.path+"."+k, at.place, k, "%v", err2)
		case named[c] != "":
			at.r.fail(at.path+"."+k, at.place, k, "is the temperature of %q again", named[c])
		case h < 0:
			at.r.fail(at.path+"."+k, at.place, k, "%v h are less than none", h)
		default:
			named[c] = k
			f.Year = append(f.Year, building.HoursAt{OutsideC: c, Hours: h})
			sum += h
		}
	}
	sort.SliceStable(f.Year, func(i, j int) bool { return f.Year[i].OutsideC < f.Year[j].OutsideC })
	const year, most = 8760, 8784 + 1
	if sum > most {
		return fmt.Errorf("%.0f h in all, but a year has %d", sum, year)
	}
	return nil
}
