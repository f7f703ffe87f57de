package report

import (
	"math"
	"strings"
	"testing"

	"tundish/analyse/suit"
)

// measuredMill is an invented measurement: 60 days about a line of 235 W/K below 15.8 °C.
func measuredMill() *suit.Measured {
	m := &suit.Measured{Basis: "heat counter", Days: 60, WPerK: suit.Estimate{Value: 235, Low: 205, High: 266}, BalanceC: 15.8,
		Design:  &suit.MeasuredDesign{OutsideC: -3, InsideC: 20, InUseW: suit.Estimate{Value: 4418, Low: 3840, High: 5010}, LossW: suit.Estimate{Value: 5405, Low: 4600, High: 6350}},
		Remarks: []string{"heat for hot water cannot be told from that for heating and is in the load in use"}}
	for te := -25.0; te <= 15.8; te += 0.5 {
		w := 235 * (15.8 - te)
		half := 180 + 22*math.Abs(te-6)
		m.Line = append(m.Line, suit.LinePoint{OutsideC: te, W: suit.Estimate{Value: w, Low: w - half, High: w + half}})
	}
	for i := range 60 {
		te := 6 + 5.5*math.Sin(float64(i)*1.7)
		m.Points = append(m.Points, suit.DayPoint{OutsideC: te, W: 235*(15.8-te) + 300*math.Sin(float64(i)*4.1)})
	}
	return m
}

// millHours is an invented typical year.
func millHours(year bool) suit.Histogram {
	h := suit.Histogram{Year: year, Source: "typical year given in invented-year.csv"}
	scale := 1.0
	if !year {
		h.Source, scale = "the outside temperature of this record, by the sensor of “weather”", 0.16
	}
	total := 0.0
	for te := -5; te <= 27; te++ {
		b := suit.HourBin{OutsideC: float64(te), H: math.Round(700 * math.Exp(-math.Pow(float64(te)-10.5, 2)/72))}
		total += b.H
		h.Bins = append(h.Bins, b)
	}
	for i := range h.Bins {
		h.Bins[i].H *= scale * 8760 / total
	}
	return h
}

func millDelivered() (out []suit.Delivered) {
	for te := -3.0; te <= 14; te++ {
		out = append(out, suit.Delivered{OutsideC: te, FlowC: 63.5 - 0.15*te + math.Sin(te*2), H: 30 - te})
	}
	return append(out, suit.Delivered{OutsideC: 15, FlowC: 70, H: 0.5})
}

// millHouse is the invented semi of 294.72 W/K with its rooms, a boiler of 6 to 24 kW, and radiators that are enough but
// for the living room's.
func millHouse() *Suit {
	in := suit.Input{
		Computed: &suit.Computed{WPerK: suit.Within(294.72, 0.12), DesignW: suit.Within(6779, 0.12), InsideC: 20, OutsideC: -3},
		Measured: measuredMill(), Plant: suit.Plant{GreatestW: 24000, LeastW: 6000, GreatestFrom: "the job sheet", LeastFrom: "the job sheet"},
		NeededBy: "the computed load, gains ignored", Hours: millHours(true), Delivered: millDelivered(), DeliveredFrom: "probes",
		Needed: []suit.CurvePoint{{OutsideC: -3, FlowC: 66}, {OutsideC: 0, FlowC: 61}, {OutsideC: 5, FlowC: 52.3}, {OutsideC: 10, FlowC: 43.2}, {OutsideC: 15, FlowC: 33.4}},
	}
	s := &Suit{HouseFile: "mill-row-3.toml", EmittersAt: "70/50 °C",
		Elements: []SuitElement{{"outside wall", 77.7, 2591}, {"windows", 16, 1030}, {"doors", 3.8, 262}, {"roof", 45, 435}, {"ground floor", 45, 662}, {"thermal bridges", 0, 431}, {"party wall to a warmer room", 12, -85}},
		Assumptions: []suit.Assumption{{What: "heat capacity of air", Value: 0.33, Unit: "Wh/m³K", Source: "common practice, no source"},
			{What: "thermal bridges where none are given", Value: 0.10, Unit: "W/m²K", Source: "EN 12831-1 (from memory)"},
			{What: "exponent of radiators where none is given", Value: 1.3, Unit: "", Source: "EN 442-2; common for panels (from memory)"}},
		Warnings: []string{"room Hall: 3.0 air changes an hour are many"}}
	for i, r := range []struct {
		name                  string
		inside, fabric, air   float64
		output, flow, tallies float64
	}{{"Living room", 21, 1460, 594, 1720, 72, 0}, {"Kitchen", 18, 610, 520, 1400, 58, 0}, {"Hall and stairs", 18, 420, 480, 1010, 62.5, 0},
		{"Bedroom at the front, over the living room", 18, 690, 330, 1300, 55.5, 0}, {"Back bedroom", 18, 520, 270, 1150, 49, 0}, {"Bathroom", 22, 330, 245, 700, 60, 0}, {"WC", 18, -40, 90, 0, 0, 0}} {
		s.Rooms = append(s.Rooms, SuitRoom{Name: r.name, InsideC: r.inside, FabricW: r.fabric, VentilationW: r.air})
		in.Rooms = append(in.Rooms, suit.Room{Name: r.name, NeedW: r.fabric + r.air, OutputW: r.output, EmitterKnown: i < 6, LowestFlowC: r.flow})
	}
	s.Answer = suit.Judge(in)
	return s
}

// measuredOnly is the same with no house file.
func measuredOnly() *Suit {
	return &Suit{Answer: suit.Judge(suit.Input{ComputedMissing: "no house file was given", Measured: measuredMill(),
		Plant: suit.Plant{GreatestW: 24000, LeastW: 6000, GreatestFrom: "the job sheet", LeastFrom: "the appliance itself"}, Hours: millHours(false),
		Delivered: millDelivered(), DeliveredFrom: "probes", NeededMissing: "the emitters are not known, they belong in a house file"})}
}

func TestSuitSaysItInBothForms(t *testing.T) {
	in := millRow(t, 2)
	in.Suit = millHouse()
	wants := []string{
		"Does the plant suit the house?",
		"The boiler can give 24.0 kW: 3.5 (3.2 to 4.0) times the computed load of 6.8 kW at −3 °C outside, and 4.4 (3.8 to 5.2) times the measured load of 5.4 kW at −3 °C outside, no gains taken off.",
		"Turned down as far as it goes it gives 6.0 kW.", "−0.4 (−3.1 to 1.8) °C outside by the computed load",
		"Of the 8 760 h of a typical year it must stop and start for",
		"Not ready for low temperature by computation", "Living room (needs 72 °C)", "Bathroom (needs 60 °C)", "Not known, for want of their emitters: WC.",
		"K warmer on the mean than the emitters need", "The two losses per kelvin agree within their ranges.", "295 (259 to 330) W/K", "235 (205 to 266) W/K",
		"short by 334 W", "Check: Room Hall: 3.0 air changes an hour are many.", "The curve to set, by computation, for the computed load, gains ignored:",
		"Heat capacity of air", "EN 12831-1 (from memory)", "by the house file mill-row-3.toml", "60 °C or more",
		"Heat loss by room, in design weather", "Heat loss by element, all rooms together", "Living room needs 2 054 W and gets 1 720 W, short by 334 W",
	}
	wantAll(t, spaced(pdfText(t, pdfOf(t, in))), wants...)
	wantAll(t, spaced(plainText(htmlOf(t, in))), wants...)
	for _, word := range []string{"save", "saving", "upgrade", "recommend", "perfect", "ideal", "guarantee"} {
		if strings.Contains(strings.ToLower(textOf(t, in, "suit")), word) {
			t.Errorf("%q is a sales word", word)
		}
	}
}

// spaced makes every space a plain one.
func spaced(s string) string { return strings.ReplaceAll(s, "\u00a0", " ") }

// With no house file the measured side stands alone, and what is missing is named.
func TestSuitMeasuredAlone(t *testing.T) {
	in := millRow(t, 2)
	in.Suit = measuredOnly()
	text := spaced(textOf(t, in, "suit"))
	wantAll(t, text, "The boiler can give 24.0 kW: 4.4 (3.8 to 5.2) times the measured load of 5.4 kW at −3 °C outside, no gains taken off.",
		"These are hours of the record alone, not of a year.", "Computed load: no house file was given", "Low temperature: rooms and their emitters are not known")
	if strings.Contains(text, "typical year") || strings.Contains(text, "eady for low temperature") {
		t.Error(text)
	}
	page := spaced(plainText(htmlOf(t, in)))
	for _, absent := range []string{"Computed and measured, side by side", "Heat loss by room", "Heat loss, room by room", "The curve to set"} {
		if strings.Contains(page, absent) {
			t.Errorf("%q is told without a house file", absent)
		}
	}
	wantAll(t, page, "The load as measured", "Delivered over 441 h of firing, by probes", "Whether the flow is as warm as the emitters need is not assessable: the emitters are not known, they belong in a house file.")
	in.Suit = nil
	if strings.Contains(htmlOf(t, in), `id="suit"`) {
		t.Error("a chapter on nothing")
	}
	in.Suit = &Suit{Answer: suit.Judge(suit.Input{ComputedMissing: "no house file was given", MeasuredMissing: "no outside temperature"})}
	wantAll(t, textOf(t, in, "suit"), "Whether the plant suits the house is not assessable.", "Measured load: no outside temperature", "the greatest output is not known")
}

// ruler is a surface that keeps nothing but how far its marks reach.
type ruler struct {
	svgSurface
	left, right, top, bottom float64
}

func (r *ruler) at(x, y float64) {
	r.left, r.right, r.top, r.bottom = min(r.left, x), max(r.right, x), min(r.top, y), max(r.bottom, y)
}
func (r *ruler) line(a, b point, _ stroke) { r.at(a.x, a.y); r.at(b.x, b.y) }
func (r *ruler) polyline(pts []point, _ stroke) {
	for _, p := range pts {
		r.at(p.x, p.y)
	}
}
func (r *ruler) area(pts []point, _ ink) { r.polyline(pts, stroke{}) }
func (r *ruler) rect(x, y, w, h float64, _ ink) {
	r.at(x, y)
	r.at(x+w, y+h)
}
func (r *ruler) hatch(x, y, w, h float64, i ink) { r.rect(x, y, w, h, i) }
func (r *ruler) text(p point, s string, size float64, _ ink, a anchor) {
	w := r.textWidth(s, size)
	from := p.x - w*float64(a)/2
	r.at(from, p.y-0.7*size)
	r.at(from+w, p.y)
}

// Nothing of a chart lies outside of it, on paper, on a wide screen and on a phone; each has a text alternative with its
// units, and each kind of mark a name.
func TestSuitChartsKeepInside(t *testing.T) {
	one := millHouse()
	one.Rooms, one.Elements = one.Rooms[6:], one.Elements[6:] // what warms alone
	for name, s := range map[string]*Suit{"all": millHouse(), "measured": measuredOnly(), "one": one} {
		c := &suitComposer{in: s, r: s.Answer}
		charts := []chart{c.signature(), c.hoursChart(), c.curveChart()}
		if len(s.Rooms) > 0 {
			charts = append(charts, c.roomsChart(), c.elementsChart(), c.emittersChart())
		}
		for _, k := range charts {
			for form, l := range map[string]layout{"paper": pdfChart, "screen": htmlChart, "phone": phoneChart} {
				var r ruler
				h := k.draw(&r, l)
				if r.left < -0.5 || r.right > l.width+0.5 || r.top < -0.5 || r.bottom > h+0.5 {
					t.Errorf("%s, %s, %s: marks from %.1f to %.1f of %.0f, and from %.1f to %.1f of %.0f", name, k.heading(), form, r.left, r.right, l.width, r.top, r.bottom, h)
				}
			}
			if said := k.describe(); len(said) < 20 || !strings.Contains(said, "\u00a0W") && !strings.Contains(said, "°C") && !strings.Contains(said, "\u00a0h") {
				t.Errorf("%s: %q", k.heading(), said)
			}
		}
	}
}

// The bars of a room add up to its figure, and more rooms than a chart holds are told to be in the table.
func TestManyRooms(t *testing.T) {
	s := millHouse()
	for i := range 40 {
		s.Rooms = append(s.Rooms, SuitRoom{Name: "Room " + strings.Repeat("I", i+1), FabricW: float64(100 + i), VentilationW: 50})
	}
	c := &suitComposer{in: s, r: s.Answer}
	k := c.roomsChart()
	if len(k.rows) != mostBars || !strings.Contains(k.said, "23 more are in the table") {
		t.Errorf("%d rows: %s", len(k.rows), k.said)
	}
	if k.rows[0].name != "Living room" || k.rows[0].total() != 2054 {
		t.Errorf("%+v", k.rows[0])
	}
	in := millRow(t, 2)
	in.Suit = s
	if text := spaced(pdfText(t, pdfOf(t, in))); !strings.Contains(text, "Room "+strings.Repeat("I", 40)) {
		t.Error("a room is lost")
	}
}

// Wherever the pages break, no heading and no title of a chart of this chapter is the last thing on a page.
func TestSuitNothingTornOff(t *testing.T) {
	in := millRow(t, 2)
	in.Scan, in.Suit = nil, millHouse()
	in.Result.Findings = nil
	doc, err := compose(in)
	if err != nil {
		t.Fatal(err)
	}
	titles := map[string]bool{"Quantity Computed Measured": true, "Room Inside Fabric Ventilation Total": true, "Assumed Value Source": true}
	for _, s := range doc.sections {
		titles[s.title] = true
		for _, b := range s.blocks {
			if f, ok := b.(figure); ok {
				titles[squeeze(f.chart.heading())] = true
			}
		}
	}
	for range 16 { // four lines each time: a page in all
		for i, lines := range pagesOf(t, in) {
			if last := lines[len(lines)-1]; titles[last] || strings.HasSuffix(last, ":") {
				t.Errorf("%d lines of notes, page %d ends with %q", strings.Count(in.Job.Notes, "line"), i+1, last)
			}
		}
		in.Job.Notes += strings.Repeat("a line of words that is long enough to fill the whole of the column in which the notes of a job are printed, and then of one more line below it, up to here. ", 2)
	}
}
