package housefile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tundish/analyse/building"
	"tundish/analyse/emitter"
	"tundish/cmd/tundish/jobsheet"
)

// heated is a room with what heats it.
type heated struct {
	room
	radiators  []emitter.Radiator
	underfloor []emitter.Underfloor
}

func addRoom(f *File, v any, at here) {
	h := filled(at, v, roomFields())
	f.House.Rooms = append(f.House.Rooms, h.room)
	if len(h.radiators)+len(h.underfloor) > 0 {
		f.Rooms = append(f.Rooms, emitter.Room{Name: h.Name, Radiators: h.radiators, Underfloor: h.underfloor})
	}
}

func roomFields() []field[heated] {
	return []field[heated]{
		text("name", func(r *heated) *string { return &r.Name }),
		text("use", func(r *heated) *string { return &r.Use }),
		number("inside_c", func(r *heated) **float64 { return &r.InsideC }),
		number("volume_m3", func(r *heated) **float64 { return &r.VolumeM3 }),
		number("length_m", func(r *heated) **float64 { return &r.LengthM }),
		number("width_m", func(r *heated) **float64 { return &r.WidthM }),
		number("height_m", func(r *heated) **float64 { return &r.HeightM }),
		number("floor_area_m2", func(r *heated) **float64 { return &r.FloorAreaM2 }),
		number("air_changes_per_h", func(r *heated) **float64 { return &r.AirChangesPerH }),
		number("flow_m3_h", func(r *heated) **float64 { return &r.FlowM3H }),
		number("infiltration_per_h", func(r *heated) **float64 { return &r.InfiltrationPerH }),
		number("minimum_per_h", func(r *heated) **float64 { return &r.MinimumPerH }),
		list("element", func(r *heated, v any, at here) { r.Elements = append(r.Elements, takeElement(v, at)) }),
		list("radiator", func(r *heated, v any, at here) { r.radiators = append(r.radiators, takeRadiator(v, at)) }),
		list("underfloor", func(r *heated, v any, at here) { r.underfloor = append(r.underfloor, takeUnderfloor(v, at)) }),
	}
}

// catalogued is a radiator as a catalogue tells it.
type catalogued struct {
	emitter.Radiator
	at     string
	excess float64
}

var radiatorFields = []field[catalogued]{
	text("name", func(r *catalogued) *string { return &r.Name }),
	above("rated_w", "W", 1e5, func(r *catalogued) *float64 { return &r.RatedW }),
	text("rated_at", func(r *catalogued) *string { return &r.at }),
	above("rated_excess_k", "K", 90, func(r *catalogued) *float64 { return &r.excess }),
	{"exponent", func(r *catalogued, v any, _ here) (err error) { r.Exponent, err = exponent(v); return err }},
}

// exponent is n of output = K · excessⁿ.
func exponent(v any) (float64, error) {
	n, err := asNumber(v)
	if err == nil && (n < 1 || n > 1.6) {
		err = fmt.Errorf("%v is outside 1.0 to 1.6; panel radiators have 1.2 to 1.35", n)
	}
	return n, err
}

func takeRadiator(v any, at here) emitter.Radiator {
	before := len(at.r.errs)
	r := filled(at, v, radiatorFields)
	if r.RatedW == 0 && !at.r.failedAt(at.path+".rated_w") {
		at.r.fail(at.path, at.place, "rated_w", "is missing: the output by the catalogue, W")
	}
	switch {
	case r.at != "" && r.excess != 0:
		at.r.fail(at.path+".rated_at", at.place, "rated_at", "give either rated_at or rated_excess_k, not both")
	case r.excess != 0:
		r.RatedAt = emitter.RatedAtExcess(r.excess)
	case r.at != "":
		c, ok := condition(r.at)
		if !ok {
			at.r.fail(at.path+".rated_at", at.place, "rated_at", "%q is not flow/return/room in °C, such as \"75/65/20\"", r.at)
		}
		r.RatedAt = c
	}
	at.sound(before, r.Radiator.Check())
	return r.Radiator
}

// sound reports what the emitters' own check finds, where nothing was wrong with the single values.
func (h here) sound(before int, err error) {
	if err != nil && len(h.r.errs) == before {
		h.r.fail(h.path, h.place, "", "%v", err)
	}
}

// condition reads "75/65/20": water cools and stays warmer than the room.
func condition(text string) (c emitter.Condition, ok bool) {
	parts := strings.Split(text, "/")
	into := []*float64{&c.FlowC, &c.ReturnC, &c.RoomC}
	if len(parts) != len(into) {
		return c, false
	}
	for i, part := range parts {
		v, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		if err != nil {
			return c, false
		}
		*into[i] = v
	}
	return c, c.ReturnC < c.FlowC && c.RoomC < c.ReturnC
}

var underfloorFields = []field[emitter.Underfloor]{
	text("name", func(u *emitter.Underfloor) *string { return &u.Name }),
	above("area_m2", "m²", 1000, func(u *emitter.Underfloor) *float64 { return &u.AreaM2 }),
	above("kh_w_m2k", "W/m²K", 15, func(u *emitter.Underfloor) *float64 { return &u.KH }),
	above("rated_w", "W", 1e5, func(u *emitter.Underfloor) *float64 { return &u.RatedW }),
	above("rated_excess_k", "K", 60, func(u *emitter.Underfloor) *float64 { return &u.RatedExcessK }),
	above("surface_excess_k", "K", 15, func(u *emitter.Underfloor) *float64 { return &u.SurfaceExcessK }),
	{"exponent", func(u *emitter.Underfloor, v any, _ here) (err error) { u.Exponent, err = exponent(v); return err }},
}

func takeUnderfloor(v any, at here) emitter.Underfloor {
	before := len(at.r.errs)
	u := filled(at, v, underfloorFields)
	if len(at.r.errs) > before {
		return u
	}
	if u.AreaM2 == 0 {
		at.r.fail(at.path, at.place, "area_m2", "is missing: the floor that is heated, m²")
	}
	switch rated := u.RatedW != 0 && u.RatedExcessK != 0; {
	case u.KH != 0 && (u.RatedW != 0 || u.RatedExcessK != 0):
		at.r.fail(at.path+".kh_w_m2k", at.place, "kh_w_m2k", "give either kh_w_m2k or rated_w and rated_excess_k, not both")
	case u.KH == 0 && !rated:
		at.r.fail(at.path, at.place, "kh_w_m2k", "is missing: give it, or rated_w and rated_excess_k")
	}
	at.sound(before, u.Check())
	return u
}

// failedAt tells whether an error stands in the line of a key that is there.
func (r *reader) failedAt(path string) bool {
	line, there := r.at[path]
	return there && slices.ContainsFunc(r.errs, func(e jobsheet.Error) bool { return e.Line == line })
}

var pipeFields = []field[emitter.Pipe]{
	text("name", func(p *emitter.Pipe) *string { return &p.Name }),
	above("outside_mm", "mm", 200, func(p *emitter.Pipe) *float64 { return &p.OutsideMM }),
	above("bore_mm", "mm", 200, func(p *emitter.Pipe) *float64 { return &p.BoreMM }),
	above("roughness_mm", "mm", 5, func(p *emitter.Pipe) *float64 { return &p.RoughnessMM }),
	above("length_m", "m", 5000, func(p *emitter.Pipe) *float64 { return &p.LengthM }),
	{"rooms", func(p *emitter.Pipe, v any, _ here) error {
		all, ok := v.([]any)
		for _, x := range all {
			s, err := jobsheet.Text(x)
			ok = ok && err == nil
			p.Rooms = append(p.Rooms, s)
		}
		if !ok || len(all) == 0 {
			return fmt.Errorf("must be a list of rooms' names; leave it out for a pipe to all of them")
		}
		return nil
	}},
}

// copperMM are the outside diameters of EN 1057 that homes have, mm.
var copperMM = []float64{8, 10, 12, 15, 22, 28, 35}

func addPipe(f *File, v any, at here) {
	before := len(at.r.errs)
	p := filled(at, v, pipeFields)
	f.Pipes = append(f.Pipes, p)
	switch {
	case len(at.r.errs) > before:
	case p.OutsideMM != 0 && p.BoreMM != 0:
		at.r.fail(at.path+".bore_mm", at.place, "bore_mm", "give either outside_mm, of copper tube, or bore_mm, not both")
	case p.OutsideMM == 0 && p.BoreMM == 0:
		at.r.fail(at.path, at.place, "outside_mm", "is missing: give it for copper tube, or bore_mm")
	case p.OutsideMM != 0 && !slices.Contains(copperMM, p.OutsideMM):
		at.r.fail(at.path+".outside_mm", at.place, "outside_mm", "%v mm is no copper tube of EN 1057 that is known (%v); give bore_mm", p.OutsideMM, copperMM)
	}
	at.sound(before, p.Check(p.Rooms)) // whether there are such rooms is looked at when all of them are known
}

// emitters checks what rooms, pipes and water say together.
func (r *reader) emitters(f *File) {
	if flow, ret := f.DesignFlowC, f.DesignReturnC; flow != nil && (*flow < 20 || *flow > 110) {
		r.fail("design_flow_c", "", "design_flow_c", "%v is outside 20 to 110 °C; is the unit right?", *flow)
	} else if flow != nil && ret != nil && *ret >= *flow {
		r.fail("design_return_c", "", "design_return_c", "%v is not below design_flow_c, %v", *ret, *flow)
	} else if flow != nil && ret != nil {
		if err := (emitter.Circulation{SpreadK: *flow - *ret}).Check(); err != nil {
			r.fail("design_return_c", "", "design_return_c", "%v", err)
		}
	}
	if ret := f.DesignReturnC; ret != nil && (*ret < 15 || *ret > 105) {
		r.fail("design_return_c", "", "design_return_c", "%v is outside 15 to 105 °C; is the unit right?", *ret)
	}
	var names []string
	for i := range f.House.Rooms {
		names = append(names, f.House.Rooms[i].Name)
	}
	for i, p := range f.Pipes {
		for _, n := range p.Rooms {
			if !slices.Contains(names, n) {
				r.fail(fmt.Sprintf("pipe[%d].rooms", i), "pipe "+p.Name, "rooms", "%q is no room of this house%s", n, jobsheet.Suggestion(n, names))
			}
		}
	}
}

// System gives what heats the house, with the needs of its rooms by the computation.
func (f *File) System(loss *building.Result) emitter.System {
	out := emitter.System{OutsideC: loss.OutsideC, Pipes: f.Pipes, Liquid: f.Liquid}
	for _, m := range loss.Rooms {
		r := emitter.Room{Name: m.Name}
		if i := slices.IndexFunc(f.Rooms, func(x emitter.Room) bool { return x.Name == m.Name }); i >= 0 {
			r = f.Rooms[i]
		}
		r.InsideC, r.NeedW = m.InsideC, max(0, m.TotalW)
		out.Rooms = append(out.Rooms, r)
	}
	return out
}
