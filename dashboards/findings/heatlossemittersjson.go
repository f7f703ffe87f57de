package findings

import "tundish/analyse/emitter"

type jsonEmitters struct {
	FlowC       float64           `json:"flow_c"`
	ReturnC     float64           `json:"return_c"`
	Liquid      string            `json:"liquid"`
	Rooms       []jsonRoomEmitter `json:"rooms"`
	Without     []string          `json:"rooms_without_emitter"`
	Lowest      *jsonLowest       `json:"lowest_flow,omitempty"`
	Curve       *jsonHeatCurve    `json:"weather_curve,omitempty"`
	Pipes       []jsonPipe        `json:"pipes"`
	Ceilings    []jsonAssumption  `json:"pipe_ceilings"`
	Assumptions []jsonAssumption  `json:"assumptions"`
	Cautions    []string          `json:"cautions"`
}

// jsonRoomEmitter is a room; what is not known is left out.
type jsonRoomEmitter struct {
	Name           string          `json:"name"`
	InsideC        float64         `json:"inside_c"`
	NeedW          float64         `json:"need_w"`
	OutputW        float64         `json:"output_w"`
	SurplusW       float64         `json:"surplus_w"` // a shortfall is below 0
	SurplusPercent *float64        `json:"surplus_percent,omitempty"`
	Reaches        bool            `json:"reaches"`
	Mean           string          `json:"mean"`
	ArithmeticW    float64         `json:"output_arithmetic_w"`
	LogarithmicW   float64         `json:"output_logarithmic_w"`
	LowestFlowC    *float64        `json:"lowest_flow_c,omitempty"`
	Why            string          `json:"why_not,omitempty"`
	WaterLPH       float64         `json:"water_l_h"`
	ReheatW        float64         `json:"reheat_w,omitempty"`
	WithReheatW    *float64        `json:"surplus_with_reheat_w,omitempty"`
	SurfaceLimited bool            `json:"surface_limited,omitempty"`
	NoEmitter      bool            `json:"no_emitter,omitempty"`
	Emitters       []jsonOneOutput `json:"emitters"`
}

type jsonOneOutput struct {
	Name     string  `json:"name,omitempty"`
	Kind     string  `json:"kind"` // radiator or underfloor
	OutputW  float64 `json:"output_w"`
	WaterLPH float64 `json:"water_l_h"`
}

type jsonLowest struct {
	Reached  bool     `json:"reached"`
	FlowC    *float64 `json:"flow_c,omitempty"`
	ReturnC  *float64 `json:"return_c,omitempty"`
	SpreadK  float64  `json:"spread_k"`
	Mean     string   `json:"mean"`
	Limiting []string `json:"limiting"`
}

type jsonHeatCurve struct {
	NeutralC    float64          `json:"neutral_c"`
	NeutralFrom string           `json:"neutral_from"`
	Fixed       string           `json:"fixed"` // water or spread
	Missing     string           `json:"missing,omitempty"`
	Points      []jsonHeatAtTemp `json:"points"`
}

type jsonHeatAtTemp struct {
	OutsideC float64  `json:"outside_c"`
	Heating  bool     `json:"heating"`
	FlowC    *float64 `json:"flow_c,omitempty"`
	ReturnC  *float64 `json:"return_c,omitempty"`
	Limiting []string `json:"limiting,omitempty"`
}

type jsonPipe struct {
	Name       string   `json:"name"`
	BoreMM     float64  `json:"bore_mm"`
	WaterLPH   float64  `json:"water_l_h"`
	VelocityMS float64  `json:"velocity_m_s"`
	PaPerM     *float64 `json:"pa_per_m,omitempty"` // left out: not known
	PaAll      *float64 `json:"pa,omitempty"`       // over its length, where that is known
	Over       []string `json:"over"`
	Slow       bool     `json:"slow,omitempty"`
}

func jsonEmittersOf(e *HeatEmitters) *jsonEmitters {
	out := &jsonEmitters{FlowC: e.FlowC, ReturnC: e.ReturnC, Liquid: "water", Rooms: []jsonRoomEmitter{}, Without: append([]string{}, e.Without...), Pipes: []jsonPipe{},
		Ceilings: []jsonAssumption{}, Assumptions: []jsonAssumption{}, Cautions: e.cautions()}
	if e.Liquid != "" {
		out.Liquid = e.Liquid
	}
	for _, r := range e.Rooms {
		out.Rooms = append(out.Rooms, jsonRoomEmitterOf(e, r))
	}
	if l := e.Lowest; l != nil {
		mean := e.Mean
		if mean == emitter.ByRule {
			mean = emitter.Logarithmic
		}
		j := &jsonLowest{Reached: l.Reached, SpreadK: e.Circulation.SpreadK, Mean: mean.Word(), Limiting: append([]string{}, l.Limiting...)}
		if l.Reached {
			j.FlowC, j.ReturnC = new(exactly(l.FlowC)), new(exactly(l.ReturnC))
		}
		out.Lowest = j
		out.Curve = jsonHeatCurveOf(e)
	}
	for _, p := range e.Pipes {
		j := jsonPipe{Name: p.Name, BoreMM: p.BoreMM, WaterLPH: exactly(p.WaterLPH), VelocityMS: exactly(p.VelocityMS), Over: []string{}, Slow: p.Slow}
		if p.DropKnown {
			j.PaPerM = new(exactly(p.PaPerM))
			if p.PaAll > 0 {
				j.PaAll = new(exactly(p.PaAll))
			}
		}
		for _, a := range p.Over {
			j.Over = append(j.Over, a.What)
		}
		out.Pipes = append(out.Pipes, j)
	}
	if len(e.Pipes) > 0 {
		for _, a := range []emitter.Assumption{emitter.DirtMS, emitter.SmallPipeMS, emitter.NoiseMS, emitter.ErosionMS, emitter.UsualPaM} {
			out.Ceilings = append(out.Ceilings, jsonAssumption{a.What, a.Value, a.Unit, a.Source})
		}
	}
	for _, a := range e.Assumptions {
		out.Assumptions = append(out.Assumptions, jsonAssumption{a.What, exactly(a.Value), a.Unit, a.Source})
	}
	return out
}

func jsonRoomEmitterOf(e *HeatEmitters, r emitter.RoomDesign) jsonRoomEmitter {
	j := jsonRoomEmitter{Name: r.Name, InsideC: r.InsideC, NeedW: exactly(r.NeedW), OutputW: exactly(r.OutputW), SurplusW: exactly(r.SurplusW), Reaches: r.Reaches(),
		Mean: r.Mean.Word(), ArithmeticW: exactly(r.ArithmeticW), LogarithmicW: exactly(r.LogarithmicW), Why: r.Lowest.Why, WaterLPH: exactly(r.WaterLPH),
		ReheatW: exactly(e.reheatOf(r.Name)), SurfaceLimited: r.SurfaceLimited, NoEmitter: r.NoEmitter, Emitters: []jsonOneOutput{}}
	if r.NeedW > 0 {
		j.SurplusPercent = new(exactly(100 * r.SurplusW / r.NeedW))
		if r.Lowest.Reached {
			j.LowestFlowC = new(exactly(r.Lowest.FlowC))
		}
	}
	if j.ReheatW > 0 {
		j.WithReheatW = new(exactly(r.SurplusW - e.reheatOf(r.Name)))
	}
	for _, x := range r.Emitters {
		kind := "radiator"
		if x.Floor {
			kind = "underfloor"
		}
		j.Emitters = append(j.Emitters, jsonOneOutput{x.Name, kind, exactly(x.OutputW), exactly(x.WaterLPH)})
	}
	return j
}

func jsonHeatCurveOf(e *HeatEmitters) *jsonHeatCurve {
	out := &jsonHeatCurve{NeutralC: exactly(e.Load.NeutralC), NeutralFrom: e.NeutralFrom, Fixed: "water", Missing: e.CurveMissing, Points: []jsonHeatAtTemp{}}
	if e.Circulation.Fixed == emitter.Spread {
		out.Fixed = "spread"
	}
	for _, p := range e.Curve {
		j := jsonHeatAtTemp{OutsideC: exactly(p.OutsideC), Heating: p.Heating}
		if p.Heating {
			j.Limiting = p.Limiting
			if p.Reached {
				j.FlowC, j.ReturnC = new(exactly(p.FlowC)), new(exactly(p.ReturnC))
			}
		}
		out.Points = append(out.Points, j)
	}
	return out
}
