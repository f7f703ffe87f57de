package suit

import (
	"math"
	"strings"
	"testing"
)

// needed is the curve of radiators for 70/50 °C at −3 °C outside, exponent 1.3 (EN 442-2), rooms at 20 °C: flow
// 20 + 40·x^(1/1.3) + 10·x with x = (20 − te)/23; by hand 70.0, 64.6, 55.3, 45.4 and 34.5 °C.
var needed = []CurvePoint{{-3, 70.0}, {0, 64.6}, {5, 55.3}, {10, 45.4}, {15, 34.5}}

func TestCurveDelivered(t *testing.T) {
	fixed := []Delivered{{8, 62, 40}, {0, 64.6, 20}, {5, 60.3, 40}, {-8, 65, 12}, {12, 60, 1.5}}
	r := Judge(Input{Needed: needed, Delivered: fixed})
	c := r.Curve.Value
	if len(c.Bins) != 4 || c.Bins[0].OutsideC != -8 || c.Bins[0].NeededKnown || c.LeftOutH != 1.5 {
		t.Fatalf("%+v", c)
	}
	near(t, "needed at 8 °C", c.Bins[3].NeededC, 55.3-9.9*3/5, 1e-9)
	near(t, "compared, h", c.ComparedH, 100, 1e-9)
	near(t, "excess, K", c.ExcessK, (0*20+5*40+(62-49.36)*40)/100, 1e-9)
	if !strings.Contains(c.Words(), "7 K warmer") {
		t.Error(c.Words())
	}
	for _, x := range []struct {
		delivered []Delivered
		needed    []CurvePoint
		say       string
	}{
		{[]Delivered{{0, 65, 30}, {5, 54, 30}}, needed, "as warm as the emitters need"},
		{[]Delivered{{0, 55, 30}, {5, 48, 30}}, needed, "cooler"},
		{[]Delivered{{0, 55, 5}, {5, 48, 5}, {20, 50, 90}}, needed, "only 10 h"},
		{[]Delivered{{0, 55, 50}}, nil, "not assessable: the curve that the emitters need is not known"},
	} {
		c := Judge(Input{Needed: x.needed, Delivered: x.delivered}).Curve
		if !c.Known() || !strings.Contains(c.Value.Words(), x.say) {
			t.Errorf("%q, want %q", c.Value.Words(), x.say)
		}
	}
	none := Judge(Input{Needed: needed, DeliveredWhy: "no outside temperature was recorded"}).Curve.Value
	if !strings.Contains(none.Words(), "no outside temperature was recorded") {
		t.Error(none.Words())
	}
}

func TestLowTemperature(t *testing.T) {
	rooms := []Room{
		{Name: "Living", NeedW: 2054, OutputW: 1500, EmitterKnown: true, LowestFlowC: 66},
		{Name: "Bath", NeedW: 600, OutputW: 200, EmitterKnown: true},
		{Name: "Bed", NeedW: 700, OutputW: 900, EmitterKnown: true, LowestFlowC: 55},
		{Name: "Cupboard", NeedW: 0},
		{Name: "Hall", NeedW: 400},
	}
	l := Judge(Input{Rooms: rooms}).LowTemperature.Value
	if l.Ready || l.FlowC != LowFlowUsual || len(l.Limiting) != 2 || l.Limiting[0].Name != "Bath" || l.Limiting[1].Name != "Living" {
		t.Errorf("%+v", l)
	}
	want := "Not ready for low temperature by computation: with a flow of 55 °C the following do not reach their temperature at design: Bath (does not reach at any flow temperature), Living (needs 66 °C). Not known, for want of their emitters: Hall."
	if l.Words() != want {
		t.Error(l.Words())
	}
	if l = Judge(Input{Rooms: rooms[2:4]}).LowTemperature.Value; !l.Ready || !strings.HasPrefix(l.Words(), "Ready for low temperature by computation") {
		t.Error(l.Words())
	}
	if l = Judge(Input{Rooms: rooms[2:]}).LowTemperature.Value; l.Ready || !strings.Contains(l.Words(), "is open") {
		t.Error(l.Words())
	}
	if l = Judge(Input{Rooms: rooms[:3], LowFlowC: 70}).LowTemperature.Value; len(l.Limiting) != 1 {
		t.Errorf("%+v", l)
	}
	if x := Judge(Input{Rooms: rooms[4:]}).LowTemperature; x.Known() {
		t.Errorf("%+v", x)
	}
	// A room that needs nothing makes no answer for those of which nothing is known.
	if x := Judge(Input{Rooms: rooms[3:]}).LowTemperature; x.Known() {
		t.Errorf("%+v", x)
	}
}

// A list that is no year is refused, and says why.
func TestYear(t *testing.T) {
	h, err := Year([]HourBin{{5, 3000}, {-3, 60}, {12, 5700}}, "the house file")
	if err != nil || len(h.Bins) != 3 || h.Bins[0].OutsideC != -3 || h.TotalH() != 8760 || !h.Year {
		t.Errorf("%+v, %v", h, err)
	}
	for _, x := range []struct {
		bins []HourBin
		want string
	}{
		{[]HourBin{{5, 4000}, {9, 4000}}, "add up to 8000"},
		{[]HourBin{{5, -1}}, "-1 hours at 5 °C"},
		{[]HourBin{{5, 4380}, {5, 4380}}, "5 °C stands there twice"},
		{[]HourBin{{400, 8760}}, "never 400 °C"},
		{[]HourBin{{math.NaN(), 8760}}, "never NaN °C"},
		{[]HourBin{{1, math.NaN()}}, "NaN hours"},
		{nil, "add up to 0"},
	} {
		if _, err := Year(x.bins, "the house file"); err == nil || !strings.Contains(err.Error(), x.want) || !strings.HasPrefix(err.Error(), "the house file: ") {
			t.Errorf("%v: %v, want %q", x.bins, err, x.want)
		}
	}
}
