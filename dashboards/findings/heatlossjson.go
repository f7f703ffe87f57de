package findings

import (
	"io"

	"tundish/analyse/building"
)

// HeatLossOptions say what goes out besides the heat loss.
type HeatLossOptions struct {
	// Warnings are what is doubtful in the house file, each with its place.
	Warnings []string
	// Emitters are what radiators, floors and pipes do at design; nil: the house file tells none.
	Emitters *HeatEmitters
}

type jsonHeatLoss struct {
	House        string           `json:"house,omitempty"`
	OutsideC     float64          `json:"outside_c"`
	TotalW       float64          `json:"total_w"`
	FabricW      float64          `json:"fabric_w"`
	VentilationW float64          `json:"ventilation_w"`
	WPerK        float64          `json:"w_per_k"`
	BuildingW    float64          `json:"building_w"`
	BridgesW     float64          `json:"bridges_w,omitempty"` // within fabric_w
	ReheatW      float64          `json:"reheat_w,omitempty"`  // beside total_w
	Building     jsonWhole        `json:"building"`
	Uncertainty  *jsonDoubt       `json:"uncertainty,omitempty"`
	Rooms        []jsonRoom       `json:"rooms"`
	Unheated     []jsonSpace      `json:"unheated,omitempty"`
	Assumptions  []jsonAssumption `json:"assumptions"`
	Warnings     []string         `json:"warnings"`
	Emitters     *jsonEmitters    `json:"emitters,omitempty"`
}

// jsonWhole says what building_w is made of.
type jsonWhole struct {
	FabricW       float64 `json:"fabric_w"`
	VentilationW  float64 `json:"ventilation_w"`
	WithinW       float64 `json:"within_house_w"`
	InfiltrationW float64 `json:"infiltration_w"`
	MinimumW      float64 `json:"minimum_w"`
	FlowW         float64 `json:"flow_w"`
}

type jsonDoubt struct {
	TotalW float64  `json:"total_w"` // ±
	Of     []string `json:"of"`
}

type jsonRoom struct {
	Name         string        `json:"name"`
	InsideC      float64       `json:"inside_c"`
	FabricW      float64       `json:"fabric_w"`
	VentilationW float64       `json:"ventilation_w"`
	TotalW       float64       `json:"total_w"`
	WPerK        float64       `json:"w_per_k"`
	VolumeM3     float64       `json:"volume_m3,omitempty"`
	FloorAreaM2  float64       `json:"floor_area_m2,omitempty"`
	AirM3H       float64       `json:"air_m3_h"`
	BridgesW     float64       `json:"bridges_w,omitempty"`
	ReheatW      float64       `json:"reheat_w,omitempty"`
	UncertaintyW float64       `json:"uncertainty_w,omitempty"`
	Elements     []jsonElement `json:"elements"`
}

type jsonElement struct {
	Name         string  `json:"name"`
	In           string  `json:"in,omitempty"` // the element that an opening lies in
	UWM2K        float64 `json:"u_w_m2k"`
	AreaM2       float64 `json:"area_m2"` // openings taken off
	LossW        float64 `json:"loss_w"`  // with what goes through bridges
	OtherSide    string  `json:"other_side"`
	OtherSideC   float64 `json:"other_side_c"`
	BridgeW      float64 `json:"bridge_w,omitempty"`
	UncertaintyW float64 `json:"uncertainty_w,omitempty"`
	// The limits of EN ISO 6946, of what is told by layers.
	RUpperM2KW float64 `json:"r_upper_m2k_w,omitempty"`
	RLowerM2KW float64 `json:"r_lower_m2k_w,omitempty"`
}

type jsonSpace struct {
	Name  string   `json:"name"`
	TempC *float64 `json:"temperature_c,omitempty"` // by its own balance
	BU    *float64 `json:"b_u,omitempty"`           // stated, or usual
}

type jsonAssumption struct {
	What   string  `json:"what"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit"`
	Source string  `json:"source"`
}

// exactly rounds off what floating point leaves behind the sixth decimal, so that sums still hold.
func exactly(v float64) float64 { return round(v, 6) + 0 }

// HeatLossJSON writes a house's heat loss as one JSON object. The same result gives the same bytes.
func HeatLossJSON(w io.Writer, r *building.Result, o HeatLossOptions) error {
	whole := r.Whole
	out := jsonHeatLoss{House: r.House, OutsideC: r.OutsideC, TotalW: exactly(r.TotalW), FabricW: exactly(r.FabricW), VentilationW: exactly(r.VentilationW),
		WPerK: exactly(r.WPerK), BuildingW: exactly(whole.TotalW), BridgesW: exactly(r.BridgesW), ReheatW: exactly(r.ReheatW),
		Building: jsonWhole{exactly(whole.FabricW), exactly(whole.VentilationW), exactly(whole.InsideW), exactly(whole.InfiltrationW),
			exactly(whole.MinimumW), exactly(whole.FlowW)},
		Rooms: []jsonRoom{}, Assumptions: []jsonAssumption{}, Warnings: append([]string{}, o.Warnings...)}
	if r.UncertaintyW > 0 {
		out.Uncertainty = &jsonDoubt{exactly(r.UncertaintyW), r.UncertainU}
	}
	for _, m := range r.Rooms {
		out.Rooms = append(out.Rooms, jsonRoomOf(m))
	}
	for _, s := range r.Spaces {
		j := jsonSpace{Name: s.Name}
		if s.Balanced {
			j.TempC = new(exactly(s.TempC))
		} else {
			j.BU = new(s.BU)
		}
		out.Unheated = append(out.Unheated, j)
	}
	for _, a := range r.Assumptions {
		out.Assumptions = append(out.Assumptions, jsonAssumption{a.What, exactly(a.Value), a.Unit, a.Source})
	}
	if e := o.Emitters; e != nil {
		out.Emitters = jsonEmittersOf(e)
		out.Warnings = append(out.Warnings, e.warnings()...)
	}
	return writeJSON(w, out)
}

func jsonRoomOf(m building.RoomLoss) jsonRoom {
	out := jsonRoom{Name: m.Name, InsideC: m.InsideC, FabricW: exactly(m.FabricW), VentilationW: exactly(m.VentilationW), TotalW: exactly(m.TotalW),
		WPerK: exactly(m.WPerK), VolumeM3: exactly(m.VolumeM3), FloorAreaM2: exactly(m.FloorM2), AirM3H: exactly(m.AirM3H), BridgesW: exactly(m.BridgesW),
		ReheatW: exactly(m.ReheatW), UncertaintyW: exactly(m.UncertaintyW), Elements: []jsonElement{}}
	for _, e := range m.Elements {
		if e.Beyond == building.ToGround {
			e.U.UpperM2KW, e.U.LowerM2KW = 0, 0 // EN ISO 13370 has none
		}
		out.Elements = append(out.Elements, jsonElement{Name: e.Name, In: e.In, UWM2K: exactly(e.UWM2K), AreaM2: exactly(e.AreaM2), LossW: exactly(e.LossW),
			OtherSide: string(e.Beyond), OtherSideC: exactly(e.OtherC), BridgeW: exactly(e.BridgesW), UncertaintyW: exactly(e.UncertaintyW),
			RUpperM2KW: exactly(e.U.UpperM2KW), RLowerM2KW: exactly(e.U.LowerM2KW)})
	}
	return out
}
