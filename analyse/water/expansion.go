package water

// ExpansionShare is by which share of its volume water grows that is warmed from one temperature to another, both 0 to
// 100 °C: 0.0168 from 10 to 60 °C. Below 0 where it shrinks.
func ExpansionShare(fromC, toC float64) (float64, error) {
	if err := inRange("cold water", fromC); err != nil {
		return 0, err
	}
	if err := inRange("warm water", toC); err != nil {
		return 0, err
	}
	return between(&densityKgM3, fromC)/between(&densityKgM3, toC) - 1, nil
}

// expands is the expansion at 20, 30 … 80 °C, 1e-4/K (CRC Handbook of Chemistry and Physics, density of water; values
// from memory, rounded).
var expands = [...]float64{2.1, 3.0, 3.9, 4.6, 5.2, 5.8, 6.4}

// ExpansionE4PerK is how much water expands for each kelvin at c °C, in 1e-4/K. What is colder than 20 or hotter than
// 80 °C has the value of that end.
func ExpansionE4PerK(c float64) float64 {
	x := min(max((c-20)/10, 0), float64(len(expands)-1))
	i := min(int(x), len(expands)-2)
	return expands[i] + (x-float64(i))*(expands[i+1]-expands[i])
}
