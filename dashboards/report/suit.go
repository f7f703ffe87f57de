package report

import (
	"tundish/analyse/suit"
)

// Suit is what the section "Does the plant suit the house?" is made from. What of it is empty is said to be not known.
type Suit struct {
	Answer    suit.Result
	HouseFile string // its name; "": none was given
	// Rooms and Elements are of the computed heat loss at design temperatures.
	Rooms    []SuitRoom
	Elements []SuitElement
	// EmittersAt says at which water the emitters' output was reckoned: "70/50 °C".
	EmittersAt string
	// Assumptions are those of the computed heat loss and of the emitters; those of the answer itself need not be in it.
	Assumptions []suit.Assumption
	// Warnings are of the house file: what looks unusual in it.
	Warnings []string
}

// SuitRoom is a room's heat loss, W. A part may be below 0: a neighbour warms it.
type SuitRoom struct {
	Name                          string
	InsideC                       float64
	FabricW, VentilationW, ExtraW float64 // ExtraW: what the file asks for beside these, as reheat
}

func (r SuitRoom) totalW() float64 { return r.FabricW + r.VentilationW + r.ExtraW }

// SuitElement is what all elements of one kind lose together: "outside wall".
type SuitElement struct {
	Name   string
	AreaM2 float64
	LossW  float64
}

// suits is the chapter on plant and house; none where nothing is known of it.
func (c *composer) suits() []section {
	if c.in.Suit == nil {
		return nil
	}
	s := &suitComposer{in: c.in.Suit, r: c.in.Suit.Answer}
	out := []section{{level: 2, id: "suit", title: "Does the plant suit the house?", blocks: s.answer()}}
	add := func(id, title string, blocks []block) {
		if len(blocks) > 0 {
			out = append(out, section{3, id, title, blocks})
		}
	}
	title := s.computedHead() + " and measured, side by side"
	switch a, b := s.r.Computed.WPerK.Known(), s.r.Measured.WPerK.Known(); {
	case a && !b:
		title = "The load as computed"
		if s.bySheet() {
			title = "The load by the job sheet"
		}
	case b && !a:
		title = "The load as measured"
	}
	add("suit-side-by-side", title, s.sideBySide())
	add("suit-hours", "When the plant must stop and start", s.hours())
	add("suit-rooms", "Heat loss, room by room", s.rooms())
	add("suit-emitters", "Emitters", s.emitters())
	add("suit-curve", "Weather curve", s.curve())
	add("suit-assumed", "Assumptions and their sources", s.assumed())
	return out
}

// suitComposer lays out the chapter.
type suitComposer struct {
	in *Suit
	r  suit.Result
}
