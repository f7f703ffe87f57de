package findings

import (
	"fmt"
	"slices"
	"strings"

	"tundish/analyse/emitter"
)

// HeatEmitters is a house's emitters and pipes at design, for the heat loss.
type HeatEmitters struct {
	emitter.Design
	// Liquid names what circulates; empty: water.
	Liquid string
	// NeutralFrom says where Load.NeutralC, at which heating ends, comes from.
	NeutralFrom string
	// ReheatW are the rooms that are to be warmed up after a set-back; empty: the house file asks for none.
	ReheatW []RoomReheat
	// Warnings are what is doubtful in what was told.
	Warnings []string
}

// RoomReheat is what a room asks for beside its need to warm up, W.
type RoomReheat struct {
	Name    string
	ReheatW float64
}

// reheatOf is a room's, W; 0: none.
func (e *HeatEmitters) reheatOf(room string) float64 {
	i := slices.IndexFunc(e.ReheatW, func(r RoomReheat) bool { return r.Name == room })
	if i < 0 {
		return 0
	}
	return e.ReheatW[i].ReheatW
}

// pipeName is how a person finds a pipe.
func (e *HeatEmitters) pipeName(i int) string {
	if n := e.Pipes[i].Name; n != "" {
		return n
	}
	return fmt.Sprint("pipe ", i+1)
}

func (e *HeatEmitters) at() string {
	return fmt.Sprintf("%s/%s °C", plain(e.FlowC, 1), plain(e.ReturnC, 1))
}

// warnings are what a person has to look at.
func (e *HeatEmitters) warnings() (out []string) {
	out = append(out, e.Warnings...)
	for _, r := range e.Without {
		out = append(out, fmt.Sprintf("room %s: needs heat and has no emitter in the house file; no flow temperature makes up for it, and it is left out of the lowest flow, the weather curve and the pipes", r))
	}
	for _, r := range e.Rooms {
		switch {
		case r.NoEmitter:
		case !r.Lowest.Reached:
			out = append(out, fmt.Sprintf("room %s: no flow temperature is enough: %s", r.Name, r.Lowest.Why))
		case !r.Reaches():
			out = append(out, fmt.Sprintf("room %s: its emitters fall short by %s W at %s", r.Name, plain(-r.SurplusW, 0), e.at()))
		}
		if r.SurfaceLimited && r.Lowest.Reached {
			out = append(out, fmt.Sprintf("room %s: at %s the floor's surface, not its water, limits what it gives", r.Name, e.at()))
		}
		if r.NeedW > 0 && len(r.Emitters) > 0 && e.ReturnC <= r.InsideC {
			out = append(out, fmt.Sprintf("room %s: a return of %s °C is not above the room's %s °C: an emitter cannot cool its water so far", r.Name, plain(e.ReturnC, 1), plain(r.InsideC, 1)))
		}
	}
	for i, p := range e.Pipes {
		for _, a := range p.Over {
			if a != emitter.SmallPipeMS { // told by its mark; above noise and wear a person has to look
				out = append(out, fmt.Sprintf("%s: %s m/s, %s Pa/m is more than: %s %s %s (%s)", e.pipeName(i), plain(p.VelocityMS, 2), e.drop(p), a.What, plain(a.Value, 1), a.Unit, a.Source))
			}
		}
	}
	return out
}

// drop is a pipe's pressure drop, Pa/m.
func (e *HeatEmitters) drop(p emitter.PipeFlow) string {
	if !p.DropKnown {
		return "not known"
	}
	return plain(p.PaPerM, 0)
}

// cautions stand with every flow temperature that is told.
func (e *HeatEmitters) cautions() []string {
	out := []string{"Pipes and radiators can burn: let them cool before work, and mind children and frail people near them. Local codes and licensed practice come first."}
	if e.Lowest == nil && len(e.Curve) == 0 {
		return out
	}
	return append([]string{"A lower flow temperature is for the heating alone. Never lower stored hot water with it: below 60 °C in the store Legionella may grow (HSE L8, HSG274 part 2). Where one flow heats both, the store needs its own hotter set-point. " +
		"Water of 60 °C scalds: outlets are kept safe by mixing valves, not by a cooler store."}, out...)
}

// pipeSources are the works that the ceilings of pipes come from, each once, in the order of their marks.
func pipeSources() (out []string) {
	for _, a := range []emitter.Assumption{emitter.SmallPipeMS, emitter.UsualPaM, emitter.DirtMS, emitter.NoiseMS, emitter.ErosionMS} {
		if !slices.Contains(out, a.Source) {
			out = append(out, a.Source)
		}
	}
	return out
}

// ceiling is one of pipes, with the mark of its source.
func ceiling(a emitter.Assumption) string {
	return fmt.Sprintf("%s %s %s [%d]", a.What, plain(a.Value, 1), a.Unit, slices.Index(pipeSources(), a.Source)+1)
}

// logarithmicRooms are those whose output took the logarithmic mean, with the most that the arithmetic one tells too much.
func (e *HeatEmitters) logarithmicRooms() (names []string, most float64) {
	for _, r := range e.Rooms {
		if r.NoEmitter || r.Mean != emitter.Logarithmic {
			continue
		}
		names = append(names, r.Name)
		if r.LogarithmicW > 0 {
			most = max(most, r.ArithmeticW/r.LogarithmicW-1)
		}
	}
	return names, most
}

// meanWords says which mean the outputs took.
func (e *HeatEmitters) meanWords() string {
	names, most := e.logarithmicRooms()
	with := 0
	for _, r := range e.Rooms {
		if !r.NoEmitter {
			with++
		}
	}
	why := fmt.Sprintf("where the return's excess is below %s of the flow's", plain(emitter.LogBelow, 1))
	if e.Mean != emitter.ByRule {
		why = "as the house file asks"
	}
	more := ""
	if most >= 0.0005 {
		more = fmt.Sprintf("; the arithmetic one would tell up to %s %% more", plain(100*most, 1))
	}
	switch {
	case len(names) == 0 && e.Mean == emitter.ByRule:
		return "Mean of flow and return: arithmetic; the lowest flow is solved with the logarithmic mean."
	case len(names) == 0:
		return "Mean of flow and return: arithmetic, " + why + "."
	case len(names) == with:
		return "Mean of flow and return: logarithmic, " + why + more + "."
	}
	return fmt.Sprintf("Mean of flow and return: logarithmic in %s, %s, else arithmetic%s; the lowest flow is solved with the logarithmic mean.", strings.Join(names, ", "), why, more)
}
