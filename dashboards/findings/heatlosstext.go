package findings

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"tundish/analyse/building"
)

// HeatLossText writes a house's heat loss for a person, no line longer than width (which is kept between 32 and 76).
func HeatLossText(w io.Writer, r *building.Result, width int, o HeatLossOptions) error {
	p := &page{width: min(widest, max(narrowest, width))}
	if r.House != "" {
		p.para(0, "", r.House)
	}
	p.para(0, "", fmt.Sprintf("Design heat loss at %s °C outside", plain(r.OutsideC, 1)))
	p.heatSums(r)
	if o.Emitters != nil {
		p.emitterSums(o.Emitters)
	}
	p.heatRooms(r)
	for _, m := range r.Rooms {
		p.heatRoom(m)
	}
	p.heatSpaces(r)
	warnings, assumed := o.Warnings, make([]jsonAssumption, 0, len(r.Assumptions))
	for _, a := range r.Assumptions {
		assumed = append(assumed, jsonAssumption{a.What, a.Value, a.Unit, a.Source})
	}
	if e := o.Emitters; e != nil {
		p.emitters(e)
		warnings = slices.Concat(warnings, e.warnings())
		for _, a := range e.Assumptions {
			assumed = append(assumed, jsonAssumption{a.What, a.Value, a.Unit, a.Source})
		}
	}
	if len(warnings) > 0 {
		p.title("look at")
	}
	for _, text := range warnings {
		p.para(4, "!", text)
	}
	p.assumed(assumed)
	p.blank()
	p.para(0, "", "An estimate. A formal design follows EN 12831 or the national method, with a survey of the house.")
	_, err := io.WriteString(w, p.b.String())
	return err
}

func (p *page) heatSums(r *building.Result) {
	p.blank()
	doubt := ""
	if r.UncertaintyW > 0 {
		doubt = " ± " + plain(r.UncertaintyW, 0)
	}
	p.columns("sum of the rooms", []int{0}, plain(r.TotalW, 0)+doubt+" W")
	p.columns("  through the fabric", []int{0}, plain(r.FabricW, 0)+" W")
	if r.BridgesW != 0 {
		p.columns("    of it through thermal bridges", []int{0}, plain(r.BridgesW, 0)+" W")
	}
	p.columns("  to warm the air", []int{0}, plain(r.VentilationW, 0)+" W")
	p.columns("whole house, infiltration counted once", []int{0}, plain(r.Whole.TotalW, 0)+" W")
	p.columns("to outside, for each kelvin", []int{0}, plain(r.WPerK, 1)+" W/K")
	if r.ReheatW > 0 {
		p.columns("reheat, beside these", []int{0}, plain(r.ReheatW, 0)+" W")
	}
	for _, u := range r.UncertainU {
		p.para(4, "±", u)
	}
}

func (p *page) heatRooms(r *building.Result) {
	p.title("rooms")
	widths := []int{6, 9, 8, 8, 7}
	var rows [][]string
	for _, m := range r.Rooms {
		area := ""
		if m.FloorM2 > 0 {
			area = plain(m.TotalW/m.FloorM2, 0)
		}
		rows = append(rows, []string{m.Name, plain(m.InsideC, 1), plain(m.FabricW, 0), plain(m.VentilationW, 0), plain(m.TotalW, 0), area})
	}
	rows = append(rows, []string{"sum", "", plain(r.FabricW, 0), plain(r.VentilationW, 0), plain(r.TotalW, 0), ""})
	p.table([]string{"°C", "fabric W", "air W", "total W", "W/m²"}, widths, rows)
}

func (p *page) heatRoom(m building.RoomLoss) {
	p.blank()
	p.para(0, "", fmt.Sprintf("%s, %s °C", strings.ToUpper(m.Name), plain(m.InsideC, 1)))
	widths := []int{8, 8, 13, 8}
	var rows [][]string
	for _, e := range m.Elements {
		name := e.Name
		if e.In != "" {
			name = "  " + name
		}
		rows = append(rows, []string{name, plain(e.AreaM2, 2), fmt.Sprintf("%.2f", e.UWM2K), plain(e.OtherC, 1), plain(e.LossW, 0)})
		if e.UncertaintyW > 0 {
			rows = append(rows, []string{"    ± for its U", "", "", "", plain(e.UncertaintyW, 0)})
		}
	}
	p.table([]string{"m²", "U", "other side °C", "W"}, widths, rows)
	if m.BridgesW != 0 {
		p.columns("  of these through thermal bridges", widths[3:], plain(m.BridgesW, 0))
	}
	p.columns(fmt.Sprintf("air, %s m³/h", plain(m.AirM3H, 1)), widths[3:], plain(m.VentilationW, 0))
	p.columns("total", widths[3:], plain(m.TotalW, 0))
	if m.ReheatW > 0 {
		p.columns("reheat, beside it", widths[3:], plain(m.ReheatW, 0))
	}
}

func (p *page) heatSpaces(r *building.Result) {
	if len(r.Spaces) == 0 {
		return
	}
	p.title("unheated")
	for _, s := range r.Spaces {
		if s.Balanced {
			p.columns(s.Name, []int{20}, plain(s.TempC, 1)+" °C by balance")
		} else {
			p.columns(s.Name, []int{20}, "b_u "+plain(s.BU, 2))
		}
	}
}

// plain prints a number to so many places, without zeros behind, as people write it.
func plain(v float64, places int) string {
	text := fmt.Sprintf("%.*f", places, v)
	if places > 0 {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		text = "0"
	}
	return strings.Replace(text, "-", "−", 1)
}

// columns writes a name and right-aligned cells; a name that leaves no room for them has lines of its own.
func (p *page) columns(name string, widths []int, cells ...string) {
	row := ""
	for i, c := range cells {
		row += strings.Repeat(" ", max(1, widths[i]-ansi.StringWidth(c))) + c
	}
	indent := len(name) - len(strings.TrimLeft(name, " "))
	name = Printable(name)
	room := p.width - ansi.StringWidth(row)
	if ansi.StringWidth(name) > room {
		p.para(indent, "", strings.TrimSpace(name))
		name = ""
	}
	if room < 0 {
		p.para(2, "", strings.Join(strings.Fields(row), "  "))
		return
	}
	p.b.WriteString(strings.TrimRight(name+strings.Repeat(" ", room-ansi.StringWidth(name))+row, " ") + "\n")
}

// ConstructionsText writes the library of constructions, no line longer than width.
func ConstructionsText(w io.Writer, list []building.Construction, width int) error {
	p := &page{width: min(widest, max(narrowest, width))}
	for i, c := range list {
		if i > 0 {
			p.blank()
		}
		u := c.UValue()
		p.columns(c.Name, []int{0}, fmt.Sprintf("%.2f W/m²K", u.UWM2K))
		p.para(2, "", fmt.Sprintf("%s (%s)", c.Text, c.Source))
		if len(c.Layers) > 0 {
			p.para(2, "", layersWords(c, u))
		}
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

// layersWords tells each resistance that makes up a construction.
func layersWords(c building.Construction, u building.UValue) string {
	parts := []string{fmt.Sprintf("surfaces %.2f and %.2f", u.InsideM2KW, u.FarM2KW)}
	for i, l := range c.Layers {
		name := l.Material
		switch {
		case l.AirM > 0:
			name = fmt.Sprintf("air %s mm", plain(l.AirM*1000, 1))
		case l.ResistanceM2KW > 0:
			name = "layer told by its resistance"
		case name == "":
			name = fmt.Sprintf("%s mm at %s W/mK", plain(l.ThicknessM*1000, 1), plain(l.ConductivityWMK, 3))
		default:
			name += fmt.Sprintf(" %s mm", plain(l.ThicknessM*1000, 1))
		}
		if b := l.Bridge; b != nil {
			name += fmt.Sprintf(" with %s %% %s", plain(b.Share*100, 0), b.Material)
		}
		parts = append(parts, fmt.Sprintf("%s %.3f", name, u.LayersM2KW[i]))
	}
	text := "R in m²K/W: " + strings.Join(parts, ", ")
	if u.UpperM2KW-u.LowerM2KW > 1e-9 {
		text += fmt.Sprintf("; limits %.3f and %.3f", u.UpperM2KW, u.LowerM2KW)
	}
	return text
}
