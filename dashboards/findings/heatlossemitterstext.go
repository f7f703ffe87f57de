package findings

import (
	"fmt"
	"slices"
	"strings"
)

// besideNames is the width below which a table of many columns leaves no room for names, and is told line by line.
const besideNames = 60

// table writes rows of a name and cells under their heads; on a narrow line each cell has a line of its own, with its head.
func (p *page) table(heads []string, widths []int, rows [][]string) {
	if p.width >= besideNames {
		p.columns("", widths, heads...)
		for _, r := range rows {
			p.columns(r[0], widths, r[1:]...)
		}
		return
	}
	for _, r := range rows {
		p.para(0, "", r[0])
		for i, c := range r[1:] {
			if c != "" {
				p.columns("  "+heads[i], []int{10}, c)
			}
		}
	}
}

// signed is a whole number of watts or per cent with its sign.
func signed(v float64) string {
	text := plain(v, 0)
	if v > 0 && text != "0" {
		return "+" + text
	}
	return text
}

// emitterSums are the answers in short.
func (p *page) emitterSums(e *HeatEmitters) {
	if len(e.Rooms) == 0 {
		return
	}
	short := 0
	for _, r := range e.Rooms {
		if !r.Reaches() {
			short++
		}
	}
	answer := "enough in all rooms"
	if short > 0 {
		answer = fmt.Sprintf("%d of %d rooms short", short, len(e.Rooms))
	}
	p.columns("emitters at "+e.at(), []int{0}, answer)
	if e.Lowest == nil {
		return
	}
	low := "not known"
	if e.Lowest.Reached && len(e.Without) == 0 {
		low = fmt.Sprintf("%.1f °C", e.Lowest.FlowC)
	}
	p.columns("lowest flow for all rooms", []int{0}, low)
}

// emitters writes what emitters and pipes do at design.
func (p *page) emitters(e *HeatEmitters) {
	if len(e.Rooms) > 0 {
		p.title("emitters at " + plain(e.FlowC, 1) + "/" + plain(e.ReturnC, 1) + " °c")
		p.emitterRooms(e)
		p.lowestFlow(e)
		p.heatCurve(e)
		p.emitterWater(e)
	}
	p.pipes(e)
	p.title("take care")
	for _, c := range e.cautions() {
		p.para(4, "!", c)
	}
}

func (p *page) emitterRooms(e *HeatEmitters) {
	var rows [][]string
	for _, r := range e.Rooms {
		gives, over, percent, from := plain(r.OutputW, 0), signed(r.SurplusW), "", ""
		if r.NeedW > 0 {
			percent, from = signed(100*r.SurplusW/r.NeedW), "none"
			if r.Lowest.Reached {
				from = fmt.Sprintf("%.1f", r.Lowest.FlowC)
			}
		}
		if r.NoEmitter {
			gives = "none"
		}
		rows = append(rows, []string{r.Name, plain(r.NeedW, 0), gives, over, percent, from})
	}
	p.table([]string{"needs W", "gives W", "surplus W", "%", "flow from °C"}, []int{9, 9, 11, 6, 14}, rows)
	p.para(0, "", "A surplus below 0 is a shortfall. Flow from: the lowest flow that covers the room's need, at the same ΔT.")
	if len(e.Rooms) > len(e.Without) {
		p.para(0, "", e.meanWords())
	}
	if len(e.ReheatW) > 0 {
		p.para(0, "", e.reheatWords())
	}
}

func (e *HeatEmitters) reheatWords() string {
	var short []string
	for _, r := range e.Rooms {
		if over := r.SurplusW - e.reheatOf(r.Name); over < 0 && !r.NoEmitter {
			short = append(short, fmt.Sprintf("%s by %s W", r.Name, plain(-over, 0)))
		}
	}
	if len(short) == 0 {
		return "With reheat on top no room with emitters falls short."
	}
	return "With reheat on top these fall short: " + strings.Join(short, ", ") + "."
}

func (p *page) lowestFlow(e *HeatEmitters) {
	if e.Lowest == nil {
		return
	}
	p.title("lowest flow in design weather")
	every := "every room"
	if len(e.Without) > 0 {
		every = "every room with an emitter"
	}
	if !e.Lowest.Reached {
		p.para(0, "", fmt.Sprintf("No flow temperature covers %s: %s stays short.", every, strings.Join(e.Lowest.Limiting, ", ")))
		if c, room := e.hottestReached(); room != "" {
			p.para(0, "", fmt.Sprintf("The others would do with %.1f °C, the need of %s.", c, room))
		}
		return
	}
	p.columns("flow/return that covers "+every, []int{0},
		fmt.Sprintf("%.1f/%.1f °C", e.Lowest.FlowC, e.Lowest.ReturnC))
	p.columns("ΔT, as at design", []int{0}, plain(e.Circulation.SpreadK, 1)+" K")
	p.para(0, "", "Limited by "+strings.Join(e.Lowest.Limiting, ", ")+": a larger emitter there, or a smaller loss, lets the flow fall.")
}

// hottestReached is the hottest flow of the rooms that are reached, and whose it is.
func (e *HeatEmitters) hottestReached() (flowC float64, room string) {
	for _, x := range e.Lowest.Rooms {
		if x.Reached && x.LoadW > 0 && x.FlowC > flowC {
			flowC, room = x.FlowC, x.Name
		}
	}
	return flowC, room
}

func (p *page) heatCurve(e *HeatEmitters) {
	if e.Lowest == nil {
		return
	}
	p.title("weather curve")
	if len(e.Curve) == 0 {
		p.para(0, "", "Not known: "+e.CurveMissing+".")
		return
	}
	widths := []int{9, 9}
	p.columns("outside", widths, "flow", "return")
	var out []string
	for _, c := range e.Curve {
		flow, ret := "none", ""
		switch {
		case !c.Heating:
			flow = "off"
		case c.Reached:
			flow, ret = fmt.Sprintf("%.1f", c.FlowC), fmt.Sprintf("%.1f", c.ReturnC)
		}
		if c.Heating && !c.Reached {
			for _, room := range c.Limiting {
				if !slices.Contains(out, room) {
					out = append(out, room)
				}
			}
		}
		p.columns(plain(c.OutsideC, 1)+" °C", widths, flow, ret)
	}
	if len(out) > 0 {
		p.para(0, "", "None: no flow temperature covers "+strings.Join(out, ", ")+".")
	}
	p.para(0, "", fmt.Sprintf("Heating is taken to end at %s °C outside: %s. The water flow stays as at design, so that ΔT falls with the load.", plain(e.Load.NeutralC, 1), e.NeutralFrom))
}

// emitterWater tells the water by emitter: what valves are set to.
func (p *page) emitterWater(e *HeatEmitters) {
	var rows [][]string
	for _, r := range e.Rooms {
		for i, x := range r.Emitters {
			name := x.Name
			switch {
			case name != "":
			case x.Floor:
				name = "floor"
			default:
				name = "radiator"
			}
			if x.Name == "" && len(r.Emitters) > 1 {
				name += fmt.Sprint(" ", i+1)
			}
			rows = append(rows, []string{r.Name + ", " + name, plain(x.OutputW, 0), fmt.Sprintf("%.1f", x.WaterLPH)})
		}
	}
	if len(rows) == 0 {
		return
	}
	p.title("water by emitter at " + plain(e.FlowC, 1) + "/" + plain(e.ReturnC, 1) + " °c")
	p.table([]string{"gives W", "l/h"}, []int{9, 9}, rows)
	p.para(0, "", "The water that carries the room's need at this flow and return, shared by output.")
}
