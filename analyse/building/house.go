package building

// House is all that the computation takes. A pointer that is nil was not given.
type House struct {
	Name string
	// OutsideC is the design outside temperature, −60 to 25 °C.
	OutsideC *float64
	// AnnualMeanC is the yearly mean outside, °C. Given, floors on the ground lose by EN 12831:2003 6.1.3; else by the full
	// difference to outside.
	AnnualMeanC *float64
	// Built is the year of building; before [oldBefore] outside walls carry [oldShare]. Nil: not known.
	Built *float64
	// BridgeSurchargeWM2K is ΔU for thermal bridges on every element that loses outward, W/m²K. Nil: none is counted.
	BridgeSurchargeWM2K *float64
	// AirWhM3K is c, the heat of a cubic metre of air, Wh/m³K. Nil: [defaultAir].
	AirWhM3K *float64
	// Reheat is the extra output to warm up again after a set-back. Nil: none.
	Reheat *Reheat

	Constructions []Construction
	Unheated      []Space
	Rooms         []Room
}

// Reheat says from what the house warms up again: hours and drop by the table of EN 12831:2003, or W/m² as told.
type Reheat struct {
	Hours float64 // 1 to 4, whole
	DropK float64 // 1 to 3, whole
	WM2   *float64
}

// Room is a heated room.
type Room struct {
	Name string
	// Use fills what is left out: [Uses].
	Use     string
	InsideC *float64
	// VolumeM3, or the three sizes. FloorAreaM2 is wanted for reheat, where length and width are not given.
	VolumeM3, LengthM, WidthM, HeightM *float64
	FloorAreaM2                        *float64
	// AirChangesPerH or FlowM3H: what the room's air is warmed up for.
	AirChangesPerH, FlowM3H *float64
	// InfiltrationPerH is what comes in by wind alone, 1/h. Nil: all of AirChangesPerH.
	InfiltrationPerH *float64
	// MinimumPerH is what hygiene needs, 1/h. Nil: by use, at most AirChangesPerH.
	MinimumPerH *float64
	Elements    []Element
}

// Space is an unheated space beside rooms: by its factor, by its kind, or by its own balance of elements and air.
type Space struct {
	Name string
	// BU is b_u = (inside − space)/(inside − outside), 0 to 1.
	BU *float64
	// Kind is one of [SpaceKinds], for a usual b_u.
	Kind string
	// Elements are what lies between the space and outside, the ground or another space. What lies between a room and the
	// space is told at the room.
	Elements                 []Element
	VolumeM3, AirChangesPerH *float64
}

// Element is a part of what encloses a room.
type Element struct {
	Name string
	// AreaM2 is gross: openings are taken off.
	AreaM2 *float64
	// Construction is a name of [House.Constructions] or of [Library], in place of Build.
	Construction string
	Build
	// The other side: at most one. None: outside, or the ground with Ground.
	OtherSideC *float64
	Neighbour  string // a room or an unheated space
	BU         *float64
	// BridgeWMK × BridgeM is ψ·l of the element's junctions.
	BridgeWMK, BridgeM *float64
	// BridgeSurchargeWM2K stands in for the house's. Nil: the house's.
	BridgeSurchargeWM2K *float64
	// Openings lie in the element and have its other side.
	Openings []Element
}

// Build says how an element is made: by exactly one of U, layers, or a slab on the ground (with layers or without).
type Build struct {
	UWM2K   *float64
	Layers  []Layer
	Surface Surface // wanted with layers, but for a slab
	Ground  *Ground
	// UncertaintyPercent is how far U may be off, ±. Nil: not known, or by age.
	UncertaintyPercent *float64
	// SolidWall: a wall of which measurement finds less than calculation; it carries [oldShare] where nothing else is told.
	SolidWall bool
}

// empty: nothing is said.
func (b Build) empty() bool { return b.UWM2K == nil && len(b.Layers) == 0 && b.Ground == nil }

// UValue computes the U-value towards outside air, or of the slab; the build must hold no problem.
func (b Build) UValue() UValue { return b.uValue(farOutside, false) }

// far is what lies beyond an element, as far as its surface cares.
type far uint8

const (
	farOutside far = iota
	farInside      // a room or a space: still air on both sides
)

// uValue: inward where the other side is the warmer one.
func (b Build) uValue(beyond far, inward bool) UValue {
	switch {
	case b.UWM2K != nil:
		return UValue{UWM2K: *b.UWM2K}
	case b.Ground != nil:
		floor := layersU(b.Layers, insideDown, outsideStill, down)
		u := b.Ground.UWM2K(floor.LowerM2KW - insideDown - outsideStill)
		floor.UWM2K, floor.UpperM2KW, floor.LowerM2KW = u, 1/u, 1/u
		return floor
	}
	d := b.Surface.flow(inward)
	if beyond == farInside {
		return layersU(b.Layers, d.inside(), d.inside(), d)
	}
	return layersU(b.Layers, d.inside(), outsideStill, d)
}

// construction finds the build that a name stands for, the house's own first.
func (h *House) construction(name string) (Build, bool) {
	for _, c := range h.Constructions {
		if c.Name == name {
			return c.Build, true
		}
	}
	c, ok := inLibrary(name)
	return c.Build, ok
}

// build is how an element is made, named or not. What the element says of surface and uncertainty goes before its
// construction: one floor is a ceiling from below.
func (h *House) build(e Element) Build {
	if e.Construction == "" {
		return e.Build
	}
	b, _ := h.construction(e.Construction)
	if e.Surface != "" {
		b.Surface = e.Surface
	}
	if e.UncertaintyPercent != nil {
		b.UncertaintyPercent = e.UncertaintyPercent
	}
	return b
}

func (h *House) room(name string) *Room {
	for i := range h.Rooms {
		if h.Rooms[i].Name == name {
			return &h.Rooms[i]
		}
	}
	return nil
}

func (h *House) space(name string) int {
	for i := range h.Unheated {
		if h.Unheated[i].Name == name {
			return i
		}
	}
	return -1
}

// insideC is the room's design temperature, °C, told or by its use.
func (r *Room) insideC() float64 {
	if r.InsideC != nil {
		return *r.InsideC
	}
	return uses[r.Use].insideC
}

// volumeM3 is told, or length × width × height.
func (r *Room) volumeM3() float64 {
	switch {
	case r.VolumeM3 != nil:
		return *r.VolumeM3
	case r.LengthM != nil && r.WidthM != nil && r.HeightM != nil:
		return *r.LengthM * *r.WidthM * *r.HeightM
	}
	return 0
}

// floorM2 is told, or length × width; 0: not known.
func (r *Room) floorM2() float64 {
	switch {
	case r.FloorAreaM2 != nil:
		return *r.FloorAreaM2
	case r.LengthM != nil && r.WidthM != nil:
		return *r.LengthM * *r.WidthM
	}
	return 0
}

// area of an element, net of its openings; it was checked.
func (e *Element) netM2() float64 {
	a := value(e.AreaM2, 0)
	for _, o := range e.Openings {
		a -= value(o.AreaM2, 0)
	}
	return a
}

func value(p *float64, otherwise float64) float64 {
	if p == nil {
		return otherwise
	}
	return *p
}
