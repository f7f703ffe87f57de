package fit

import (
	"fmt"
	"slices"

	"tundish/analyse"
	"tundish/decode"
)

// kinds says of every check what this set-up can give it.
func (j *judge) kinds() {
	for _, c := range j.Checks {
		j.out.Kinds = append(j.out.Kinds, j.kind(c))
	}
}

func (j *judge) kind(c analyse.Check) Kind {
	k := Kind{Kind: c.Kind}
	if len(c.Criteria) == 0 { // a check that is made has criteria
		k.State, k.Because = NotMade, "this version does not make this check"
		return k
	}
	var answer analyse.Checked
	for _, a := range j.Result.Checked {
		if a.Kind == c.Kind {
			answer = a
		}
	}
	if answer.Outcome != analyse.NotAssessable {
		k.State, k.Because = CanTell, "so far "+answer.Outcome.String()
		return k
	}
	for _, n := range c.Needs {
		share, has := j.best(n.Points)
		switch {
		case !has:
			k.State = CannotDo
			k.Because = join(k.Because, n.Say+j.refused(n.Points))
		case share < enoughShare && k.State == "":
			k.State = Open
			k.Because = fmt.Sprintf("%s covers only %.0f %% of the record", n.Points[0], share*100)
		}
	}
	if k.State == CannotDo {
		return k
	}
	if k.Because = join(k.Because, answer.Because); k.State == "" {
		k.State = Open
	}
	if j.length() < fullDay {
		k.State = TooEarly
	}
	return k
}

// refused says that the bus's master asks for a point in vain.
func (j *judge) refused(points []decode.Point) string {
	for _, s := range j.Sources {
		for _, a := range s.Asked {
			if a.Answered == 0 && a.Asked >= askedOften && slices.ContainsFunc(a.Points, func(p decode.Point) bool { return slices.Contains(points, p) }) {
				return fmt.Sprintf(" (it is asked for on the bus %q, and the appliance does not give it)", s.Name)
			}
		}
	}
	return ""
}

func join(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// missing keys of the job sheet can be added at any time, and are told once.
func (j *judge) sheet() {
	p := j.Plant
	var keys []string
	for _, k := range []struct {
		name  string
		known bool
	}{
		{"design_flow_c", p.DesignFlow.Known}, {"design_return_c", p.DesignReturn.Known},
		{"output_max_kw", p.OutputMax.Known}, {"output_min_kw", p.OutputMin.Known},
		{"design_heat_loss_kw", p.DesignHeatLoss.Known}, {"outside_design_c", p.OutsideDesign.Known}, {"inside_design_c", p.InsideDesign.Known},
		{"water_content_l", p.Water.Known}, {"supply", p.Supply != analyse.SupplyUnknown}, {"hot_water", p.HotWater != analyse.HotWaterUnknown},
		{"minimum_pressure_bar", p.MinimumPressure.Known},
	} {
		if !k.known {
			keys = append(keys, k.name)
		}
	}
	if len(keys) > 0 {
		text := keys[0]
		for _, k := range keys[1:] {
			text += ", " + k
		}
		j.item(Soon, "job sheet", "lacks "+text, "read them off the plate and the papers while you are there; they can be added later with --job")
	}
}
