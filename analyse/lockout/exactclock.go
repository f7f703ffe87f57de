package lockout

import (
	"math"
	"slices"
)

const (
	// dealsMost is how many deals are tried at most. Own proposal: some hundredths of a second of work.
	dealsMost = 300_000
	// hoursMost is how many times of x are looked at; more leave too few deals for those of y. Own proposal.
	hoursMost = 6
)

// clockwise is the uniform-scores test on the circle (K. V. Mardia, Biometrika 54, 1967; S. Wheeler and G. S. Watson,
// Biometrika 51, 1964), by all permutations: whether the times of day x lie closer together among all times than chance
// would put them. Times are hours, 0…24, and midnight parts nothing. Both groups are thinned evenly until all deals can
// be tried. least is the smallest probability that any deal can reach.
func clockwise(x, y []float64) (p, least float64) {
	if len(x) == 0 || len(y) == 0 {
		return 1, 1
	}
	x = thinned(x, hoursMost)
	m, others := len(x), len(y)
	for others > 1 && math.Exp(lnChoose(m+others, m)) > dealsMost {
		others--
	}
	y = thinned(y, others)
	n := m + len(y)
	tied, _ := ranks(x, y)
	cos, sin := make([]float64, 0, n), make([]float64, 0, n)
	for _, t := range tied {
		for range t.n {
			s, c := math.Sincos(math.Pi * float64(t.rank) / float64(n))
			cos, sin = append(cos, c), append(sin, s)
		}
	}
	all := slices.Sorted(slices.Values(slices.Concat(x, y)))
	place := make([]int, m)
	for i, v := range x {
		place[i], _ = slices.BinarySearch(all, v)
	}
	together := func(of []int) float64 {
		var c, s float64
		for _, i := range of {
			c, s = c+cos[i], s+sin[i]
		}
		return c*c + s*s
	}
	const rounding = 1e-9
	seen := together(place) - rounding
	tried, far, most, mosts := 0, 0, -1.0, 0
	everyDeal(n, m, func(of []int) {
		r := together(of)
		tried++
		if r >= seen {
			far++
		}
		switch {
		case r > most+rounding:
			most, mosts = r, 1
		case r >= most-rounding:
			mosts++
		}
	})
	return float64(far) / float64(tried), float64(mosts) / float64(tried)
}

// everyDeal shows each way to take m of n.
func everyDeal(n, m int, take func([]int)) {
	of := make([]int, m)
	for i := range of {
		of[i] = i
	}
	for {
		take(of)
		i := m - 1
		for i >= 0 && of[i] == n-m+i {
			i--
		}
		if i < 0 {
			return
		}
		of[i]++
		for j := i + 1; j < m; j++ {
			of[j] = of[j-1] + 1
		}
	}
}
