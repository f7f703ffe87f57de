package emitter

import (
	"errors"
	"fmt"
	"slices"
)

// What is taken where nobody says otherwise, and what values may be.
const (
	// PanelExponent is that of panel radiators, 1.2 to 1.35 (EN 442 test reports; usual value, from memory).
	PanelExponent = 1.3
	// FloorExponent is that of heated floors (EN 1264, about; from memory).
	FloorExponent = 1.1
	// SurfaceExcessK is by how much a floor's surface may be warmer than the room, K: 29 °C at 20 °C, in bathrooms 33 °C
	// at 24 °C (EN 1264-2, from memory).
	SurfaceExcessK = 9.0

	lowestExponent, highestExponent = 1.0, 1.6    // fan convectors near 1.0, natural convectors to 1.5 (EN 442, from memory)
	lowestInside, highestInside     = 5.0, 35.0   // °C, own proposal
	lowestOutside, highestOutside   = -40.0, 15.0 // °C, own proposal
	mostW                           = 100e3       // of a room or an emitter, W, own proposal
	mostKH                          = 20.0        // W/(m²·Kⁿ), own proposal: bare screed has about 7
	mostAreaM2                      = 1000.0      // of a floor, own proposal
	mostExcessK                     = 100.0       // own proposal
	lowestBore, highestBore         = 2.0, 200.0  // mm, own proposal
)

func outOf(what string, v float64, unit string, low, high float64) error {
	return fmt.Errorf("%s is %g %s: it is %g to %g", what, v, unit, low, high)
}

// above says what is wrong with a value that must be more than 0.
func above(what string, v float64, unit string, high float64) error {
	if v > 0 && v <= high {
		return nil
	}
	return fmt.Errorf("%s is %g %s: it is above 0, and %g at most", what, v, unit, high)
}

func checkExponent(n float64) error {
	if n == 0 || n >= lowestExponent && n <= highestExponent {
		return nil
	}
	return outOf("exponent", n, "", lowestExponent, highestExponent)
}

// Check says what is wrong with a radiator.
func (r Radiator) Check() error {
	if err := above("rated output", r.RatedW, "W", mostW); err != nil {
		return err
	}
	if c := r.RatedAt; c != (Condition{}) {
		if err := c.check(); err != nil {
			return fmt.Errorf("rated at %s: %w", c, err)
		}
		if c.ReturnC <= c.RoomC {
			return fmt.Errorf("rated at %s: the return is not above the room; write flow/return/room, as 75/65/20", c)
		}
	}
	return checkExponent(r.Exponent)
}

// Check says what is wrong with a heated floor.
func (u Underfloor) Check() error {
	if err := above("area", u.AreaM2, "m²", mostAreaM2); err != nil {
		return err
	}
	if err := checkExponent(u.Exponent); err != nil {
		return err
	}
	if s := u.SurfaceExcessK; s != 0 && !(s >= 1 && s <= 15) {
		return outOf("surface's excess", s, "K", 1, 15)
	}
	switch rated := u.RatedW != 0 || u.RatedExcessK != 0; {
	case u.KH != 0 && rated:
		return errors.New("both K_H and a rated output are given: give one of them")
	case rated:
		if err := above("rated output", u.RatedW, "W", mostW); err != nil {
			return err
		}
		return above("excess at the rated output", u.RatedExcessK, "K", mostExcessK)
	}
	return above("K_H", u.KH, "W/(m²·Kⁿ)", mostKH)
}

func (r Room) check() (out []error) {
	bad := func(err error, where string, args ...any) {
		if err != nil {
			out = append(out, fmt.Errorf("room %q%s: %w", r.Name, fmt.Sprintf(where, args...), err))
		}
	}
	if !(r.InsideC >= lowestInside && r.InsideC <= highestInside) {
		bad(outOf("inside temperature", r.InsideC, "°C", lowestInside, highestInside), "")
	}
	if !(r.NeedW >= 0 && r.NeedW <= mostW) {
		bad(outOf("need", r.NeedW, "W", 0, mostW), "")
	}
	for i, x := range r.Radiators {
		bad(x.Check(), ", radiator %s", called(x.Name, i))
	}
	for i, x := range r.Underfloor {
		bad(x.Check(), ", underfloor %s", called(x.Name, i))
	}
	return out
}

func called(name string, i int) string {
	if name == "" {
		return fmt.Sprint(i + 1)
	}
	return fmt.Sprintf("%q", name)
}

// Check says all that is wrong with a system, by room, emitter and pipe.
func (s System) Check() error {
	var out []error
	if !(s.OutsideC >= lowestOutside && s.OutsideC <= highestOutside) {
		out = append(out, outOf("design outside temperature", s.OutsideC, "°C", lowestOutside, highestOutside))
	}
	if err := s.Liquid.Check(); err != nil {
		out = append(out, err)
	}
	if len(s.Rooms) == 0 {
		out = append(out, errors.New("there is no room: give at least one with its need and its emitters"))
	}
	var names []string
	for i, r := range s.Rooms {
		switch {
		case r.Name == "":
			out = append(out, fmt.Errorf("room %d has no name", i+1))
		case slices.Contains(names, r.Name):
			out = append(out, fmt.Errorf("room %q is there twice: names are unique", r.Name))
		}
		names = append(names, r.Name)
		out = append(out, r.check()...)
	}
	for i, p := range s.Pipes {
		if err := p.Check(names); err != nil {
			out = append(out, fmt.Errorf("pipe %s: %w", called(p.Name, i), err))
		}
	}
	return errors.Join(out...)
}
