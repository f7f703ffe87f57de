package lockout

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestFisher: the lady tasting tea (R. A. Fisher, The Design of Experiments, 1935, chapter II): of 70 ways to choose
// four cups of eight one is all right and 16 have one pair wrong; both tails are alike.
func TestFisher(t *testing.T) {
	for _, c := range []struct {
		a, m, c, n int
		want       float64
	}{
		{4, 4, 0, 4, 2.0 / 70},
		{3, 4, 1, 4, 34.0 / 70},
		{2, 4, 2, 4, 1},
		// Convictions of like-sex twins of criminals (R. A. Fisher, Statistical Methods for Research Workers, 21.02):
		// 10 of 13 against 2 of 17; the example of R's fisher.test, from memory: two-sided p = 0.0005367.
		{10, 13, 2, 17, 0.0005367},
	} {
		if p := fisher(c.a, c.m, c.c, c.n); math.Abs(p-c.want) > 1e-7 {
			t.Errorf("%d of %d against %d of %d: p = %.7f, want %.7f", c.a, c.m, c.c, c.n, p, c.want)
		}
	}
}

// TestRankSum: H. B. Mann and D. R. Whitney, On a test of whether one of two random variables is stochastically larger,
// 1947, table I, one tail of U (values from memory; TestRankSumCounts deals every hand). Without ties the two-sided value
// is twice that.
func TestRankSum(t *testing.T) {
	// group gives m values whose U over n others is u.
	group := func(m, n, u int) (x, y []float64) {
		for i := range n {
			y = append(y, float64(10*(i+1)))
		}
		for i := range m {
			over := min(n, u)
			u -= over
			x = append(x, float64(10*over+5)+0.1*float64(i))
		}
		return x, y
	}
	for _, c := range []struct {
		m, n, u int
		one     float64
	}{
		{3, 3, 0, .050}, {3, 3, 1, .100}, {3, 3, 2, .200}, {3, 4, 0, .028}, {3, 4, 1, .057}, {4, 4, 0, .014}, {4, 4, 1, .029},
		{4, 4, 2, .057}, {4, 4, 3, .100}, {5, 5, 0, .004}, {5, 5, 2, .016}, {5, 5, 4, .048},
	} {
		x, y := group(c.m, c.n, c.u)
		p, _ := rankSum(x, y)
		if math.Abs(p/2-c.one) > 0.0006 {
			t.Errorf("m %d n %d U %d: one tail %.4f, the table has %.3f", c.m, c.n, c.u, p/2, c.one)
		}
	}
	// Permeability of the chorioamnion (M. Hollander and D. A. Wolfe, Nonparametric Statistical Methods, 1973, p. 69 f.; the
	// example of R's wilcox.test, from memory): W = 35, one tail 0.1272.
	atTerm := []float64{0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46}
	earlier := []float64{1.15, 0.88, 0.90, 0.74, 1.21}
	if p, _ := rankSum(atTerm, earlier); math.Abs(p-2*0.1272) > 1e-4 {
		t.Errorf("permeability: p = %.4f, want %.4f", p, 2*0.1272)
	}
	if p, least := rankSum([]float64{1, 2, 3}, []float64{4, 5, 6}); math.Abs(p-0.1) > 1e-12 || least != p {
		t.Errorf("three against three: p %v, least %v, want 0.1 both: 2 of 20", p, least)
	}
}

// TestHolm: with 0.01, 0.02, 0.03, 0.04 the factors are 4, 3, 2, 1, and none may fall below the one before (Holm 1979).
func TestHolm(t *testing.T) {
	got := holm([]float64{0.01, 0.02, 0.03, 0.04})
	for i, want := range []float64{0.04, 0.06, 0.06, 0.06} {
		if math.Abs(got[i]-want) > 1e-12 {
			t.Errorf("%v", got)
		}
	}
}

// TestClockwise: three hours around midnight against five spread over the day. With N = 8 and n₁ = 3, neighbours on the
// circle are 8 of the 56 ways to choose, and no others lie closer.
func TestClockwise(t *testing.T) {
	p, least := clockwise([]float64{23.5, 0.2, 1}, []float64{4, 8, 12, 16, 20})
	if want := 8.0 / 56; math.Abs(p-want) > 1e-12 || math.Abs(least-want) > 1e-12 {
		t.Errorf("p %v, least %v, want %v", p, least, want)
	}
	if p, _ := clockwise([]float64{4, 12, 20}, []float64{0, 1, 8, 9, 16}); p < 0.5 {
		t.Errorf("spread over the day: p %v", p)
	}
	var spread []float64
	for i := range 100 {
		spread = append(spread, 24*float64(i)/100)
	}
	if p, _ := clockwise([]float64{6.1, 6.2, 6.3, 6.4, 6.5, 6.6}, spread); p > 0.001 {
		t.Errorf("six mornings against all hours: p %v", p)
	}
}

// TestRankSumCounts holds the counting against dealing every hand, ties and all.
func TestRankSumCounts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.Float64Range(0, 6)
		round := func(v []float64) []float64 {
			for i := range v {
				v[i] = math.Round(v[i])
			}
			return v
		}
		x := round(rapid.SliceOfN(value, 1, 5).Draw(t, "x"))
		y := round(rapid.SliceOfN(value, 1, 6).Draw(t, "y"))
		p, least := rankSum(x, y)
		tied, sum := ranks(x, y)
		var rank []int
		total := 0
		for _, k := range tied {
			for range k.n {
				rank = append(rank, k.rank)
				total += k.rank
			}
		}
		// |sum − middle| ≥ |seen − middle|, in whole numbers.
		off := func(s int) int { return max(s*len(rank)-total*len(x), total*len(x)-s*len(rank)) }
		n, far := 0, 0
		var offs []int
		everyDeal(len(rank), len(x), func(of []int) {
			s := 0
			for _, i := range of {
				s += rank[i]
			}
			n++
			offs = append(offs, off(s))
			if off(s) >= off(sum) {
				far++
			}
		})
		if want := float64(far) / float64(n); math.Abs(p-want) > 1e-9 {
			t.Fatalf("p %v, counted %v", p, want)
		}
		most := slices.Max(offs)
		ends := 0
		for _, o := range offs {
			if o == most {
				ends++
			}
		}
		if want := float64(ends) / float64(n); math.Abs(least-want) > 1e-9 {
			t.Fatalf("least %v, counted %v", least, want)
		}
		if q, _ := rankSum(y, x); math.Abs(p-q) > 1e-9 {
			t.Fatalf("the other way round %v, not %v", q, p)
		}
	})
}

// TestCriticalRankSums: the usual table of critical values of the smallest rank sum for the Wilcoxon–Mann–Whitney test,
// two-sided 5 % and 1 %: the greatest rank sum whose probability is no more than the level.
func TestCriticalRankSums(t *testing.T) {
	// dealt gives n ranks of 2n that add up to sum.
	dealt := func(n, sum int) (x, y []float64) {
		of := make([]int, n)
		for i := range of {
			of[i] = i + 1
			sum -= i + 1
		}
		for i := n - 1; i >= 0 && sum > 0; i-- {
			up := min(sum, n)
			of[i] += up
			sum -= up
		}
		for r := 1; r <= 2*n; r++ {
			if slices.Contains(of, r) {
				x = append(x, float64(r))
			} else {
				y = append(y, float64(r))
			}
		}
		return x, y
	}
	for _, c := range []struct {
		n, critical int
		level       float64
	}{{4, 10, .05}, {5, 17, .05}, {5, 15, .01}, {8, 49, .05}, {8, 43, .01}, {9, 62, .05}, {9, 56, .01}, {10, 78, .05}, {10, 71, .01}} {
		x, y := dealt(c.n, c.critical)
		at, _ := rankSum(x, y)
		x, y = dealt(c.n, c.critical+1)
		above, _ := rankSum(x, y)
		if at > c.level || above <= c.level {
			t.Errorf("n %d, %v: p %.4f at %d and %.4f above", c.n, c.level, at, c.critical, above)
		}
	}
}
