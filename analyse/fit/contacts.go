package fit

import (
	"tundish/analyse"
)

// contacts judges what is told by contacts, and what speaks against it.
func (j *judge) contacts() {
	var buses []string
	for _, s := range j.Sources {
		if s.Bus {
			buses = append(buses, s.Name)
		}
	}
	for _, d := range j.Result.Facts.Disputes {
		if text := analyse.DisputeWords(d, buses); text != "" {
			j.item(Soon, d.Point.String(), text, "work the contact by hand, or have the appliance start and stop, and look which of the two follows")
		}
	}
	for _, c := range j.Result.Coverage {
		if c.OnChange && c.Readings > 0 && c.Min == c.Max {
			j.early("%s has not changed yet: make it change once, by its thermostat or switch, and see that it is told", c.Series)
		}
	}
}
