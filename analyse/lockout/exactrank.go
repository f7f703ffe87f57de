package lockout

import (
	"math"
	"slices"
)

// rankSum is the exact two-sided Wilcoxon rank-sum test (F. Wilcoxon, Biometrics Bulletin 1, 1945; H. B. Mann and D. R.
// Whitney, Annals of Mathematical Statistics 18, 1947): the probability, if nothing but chance dealt the values to the
// two groups, of a rank sum at least as far from the middle. Equal values share the middle of their ranks, and the
// chances are counted over all ways to deal these very ranks, so that ties need no approximation. least is the smallest
// probability that any deal of the ranks can reach.
func rankSum(x, y []float64) (p, least float64) {
	m := len(x)
	if m == 0 || len(y) == 0 {
		return 1, 1
	}
	tied, sum := ranks(x, y)
	total := 0
	for _, t := range tied {
		total += t.n * t.rank
	}
	ways := deals(tied, m, total)
	middle := float64(total) * float64(m) / float64(m+len(y))
	const rounding = 1e-9
	off := func(s int) float64 { return math.Abs(float64(s)-middle) + rounding*middle }
	all, far := 0.0, 0.0
	ends, furthest := 0.0, 0.0
	for s, w := range ways {
		if w == 0 {
			continue
		}
		all += w
		if off(s) >= off(sum)-2*rounding*middle {
			far += w
		}
		switch d := off(s); {
		case d > furthest+2*rounding*middle:
			furthest, ends = d, w
		case d >= furthest-2*rounding*middle:
			ends += w
		}
	}
	return far / all, ends / all
}

// tie is a number of equal values and twice the middle of their ranks.
type tie struct{ n, rank int }

// ranks gives the ties of both groups together, and twice the rank sum of x.
func ranks(x, y []float64) (tied []tie, sum int) {
	all := slices.Concat(x, y)
	slices.Sort(all)
	for i := 0; i < len(all); {
		j := i
		for j < len(all) && all[j] == all[i] {
			j++
		}
		t := tie{j - i, i + 1 + j} // twice the mean of i+1 … j
		for _, v := range x {
			if v == all[i] {
				sum += t.rank
			}
		}
		tied = append(tied, t)
		i = j
	}
	return tied, sum
}

// deals counts in how many ways m of the ranks add up to each sum up to most.
func deals(tied []tie, m, most int) []float64 {
	ways := make([][]float64, m+1)
	for k := range ways {
		ways[k] = make([]float64, most+1)
	}
	ways[0][0] = 1
	seen, reach := 0, 0
	for _, t := range tied {
		choose := make([]float64, min(t.n, m)+1)
		for k := range choose {
			choose[k] = math.Exp(lnChoose(t.n, k))
		}
		reach += t.n * t.rank
		for k := min(m, seen+t.n); k >= 1; k-- { // from above, so that the group is dealt once
			for s := min(most, reach); s >= t.rank; s-- {
				add := 0.0
				for j := 1; j <= min(k, len(choose)-1) && s >= j*t.rank; j++ {
					add += choose[j] * ways[k-j][s-j*t.rank]
				}
				ways[k][s] += add
			}
		}
		seen += t.n
	}
	return ways[m]
}
