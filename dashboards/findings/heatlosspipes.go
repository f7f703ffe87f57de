package findings

import (
	"fmt"
	"strings"

	"tundish/analyse/emitter"
)

// pipes writes velocity and pressure drop of each pipe against the common ceilings.
func (p *page) pipes(e *HeatEmitters) {
	if len(e.Pipes) == 0 {
		return
	}
	p.title("pipes")
	var rows [][]string
	var lengths []string
	slow := false
	for i, x := range e.Pipes {
		name := e.pipeName(i)
		var marks []string
		if x.PaAll > 0 {
			lengths = append(lengths, fmt.Sprintf("%s %s kPa", name, plain(x.PaAll/1000, 2)))
		}
		if x.Slow {
			marks = append(marks, "slow")
			slow = true
		}
		if len(x.Over) > 0 {
			marks = append(marks, "over")
		}
		rows = append(rows, []string{name, plain(x.BoreMM, 1), plain(x.WaterLPH, 0), fmt.Sprintf("%.2f", x.VelocityMS), e.drop(x), strings.Join(marks, ", ")})
	}
	p.table([]string{"bore mm", "l/h", "m/s", "Pa/m", "mark"}, []int{8, 8, 7, 10, 11}, rows)
	if len(lengths) > 0 {
		p.para(0, "", "Over the length told, without bends and valves: "+strings.Join(lengths, ", ")+".")
	}
	for i, x := range e.Pipes {
		for _, a := range x.Over {
			p.para(4, "·", fmt.Sprintf("%s is over: %s", e.pipeName(i), ceiling(a)))
		}
	}
	if slow {
		p.para(4, "·", "slow: "+ceiling(emitter.DirtMS))
	}
	p.para(0, "", fmt.Sprintf("Held against: %s, %s, %s, %s, %s.", ceiling(emitter.SmallPipeMS), ceiling(emitter.UsualPaM), ceiling(emitter.DirtMS), ceiling(emitter.NoiseMS), ceiling(emitter.ErosionMS)))
	for i, s := range pipeSources() {
		p.para(4, fmt.Sprintf("[%d]", i+1), s)
	}
}

// assumed writes what was assumed, those of the same source together.
func (p *page) assumed(list []jsonAssumption) {
	p.title("assumed")
	if len(list) == 0 {
		p.para(4, "–", "nothing")
	}
	var order []string
	by := map[string][]string{}
	for _, a := range list {
		if by[a.Source] == nil {
			order = append(order, a.Source)
		}
		by[a.Source] = append(by[a.Source], fmt.Sprintf("%s: %s", a.What, strings.TrimSpace(plain(a.Value, 4)+" "+a.Unit)))
	}
	for _, source := range order {
		if what := by[source]; len(what) == 1 {
			p.para(4, "–", fmt.Sprintf("%s (%s)", what[0], source))
			continue
		}
		p.para(4, "–", source+":")
		for _, w := range by[source] {
			p.para(6, "·", w)
		}
	}
}
