package house

// slab is the screed of an underfloor heating, one temperature for all of it: pipes at usual spacings make no more
// difference than a few K at its surface. What goes down into the ground is left out. Own assumptions.
type slab struct {
	t  float64 // °C
	c  float64 // J/K; 0: radiators, no slab
	wk float64 // water of one node to slab, W/K
}

func (s *slab) is() bool { return s.c > 0 }

// sub takes heat in J from the water for dt s and gives heat to the room, J. A floor colder than the room takes heat
// out of it.
func (s *slab) sub(dt, heat, phi50W, exponent, roomT float64) (room float64) {
	room = (EmitterOutput(phi50W, s.t-roomT, exponent) - EmitterOutput(phi50W, roomT-s.t, exponent)) * dt
	s.t += (heat - room) / s.c
	return room
}
