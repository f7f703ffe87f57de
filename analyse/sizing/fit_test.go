package sizing

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// whiteside reads weekly gas use of one house (D. J. Hand et al., A Handbook of Small Data Sets, Chapman & Hall 1993,
// p. 69; R package MASS).
func whiteside(t *testing.T, insulation string) []Point {
	t.Helper()
	f, err := os.Open("testdata/whiteside.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []Point
	for _, row := range rows[1:] {
		te, err1 := strconv.ParseFloat(row[1], 64)
		gas, err2 := strconv.ParseFloat(row[2], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(row)
		}
		if row[0] == insulation {
			out = append(out, Point{te, gas})
		}
	}
	return out
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.7g, want %.7g ± %g", what, got, want, within)
	}
}

// The figures are those of R 4.2.2, lm(Gas ~ Temp) on MASS::whiteside.
func TestLineAgainstR(t *testing.T) {
	for _, c := range []struct {
		insulation                                    string
		n                                             int
		intercept, slope, interceptSE, slopeSE, r2, s float64
		low, high                                     float64 // 95 % of the slope
	}{
		{"Before", 26, 6.853828, -0.393239, 0.118423, 0.019586, 0.943808, 0.281334, -0.43366, -0.35282},
		{"After", 30, 4.723850, -0.277935, 0.129739, 0.025184, 0.813077, 0.354848, -0.32952, -0.22635},
	} {
		l, ok := Line(whiteside(t, c.insulation))
		if !ok || l.N != c.n {
			t.Fatalf("%s: n = %d, ok %v", c.insulation, l.N, ok)
		}
		near(t, c.insulation+" intercept", l.Intercept, c.intercept, 1e-6)
		near(t, c.insulation+" slope", l.Slope, c.slope, 1e-6)
		near(t, c.insulation+" SE of intercept", l.InterceptSE, c.interceptSE, 1e-6)
		near(t, c.insulation+" SE of slope", l.SlopeSE, c.slopeSE, 1e-6)
		near(t, c.insulation+" R²", l.RSquare, c.r2, 1e-6)
		near(t, c.insulation+" s", l.S, c.s, 1e-6)
		tq := studentT(l.N - 2)
		near(t, c.insulation+" slope, low", l.Slope-tq*l.SlopeSE, c.low, 1e-5)
		near(t, c.insulation+" slope, high", l.Slope+tq*l.SlopeSE, c.high, 1e-5)
	}
}

// Before the walls were filled every week lies below the balance: the signature is R's straight line.
func TestSignatureIsTheLine(t *testing.T) {
	pts := whiteside(t, "Before")
	g, ok := Fit(pts)
	if !ok || !g.Straight {
		t.Fatalf("ok %v, straight %v", ok, g.Straight)
	}
	near(t, "slope", g.Slope, 0.393239, 1e-6)
	near(t, "balance", g.Balance, 17.43, 0.005) // 6.853828/0.393239
	for _, c := range []struct{ te, want float64 }{{-5, 8.820}, {0, 6.854}, {5, 4.888}, {10, 2.921}} {
		v, ci := g.At(c.te)
		near(t, "prediction", v, c.want, 0.0006)
		if !(ci.Low < v && v < ci.High) {
			t.Errorf("at %v: %v is not within %v", c.te, v, ci)
		}
	}
}

// Two-sided 95 % points of Student's t, any statistical table (here Abramowitz and Stegun, table 26.10).
func TestStudentT(t *testing.T) {
	for df, want := range map[int]float64{5: 2.571, 10: 2.228, 17: 2.110, 24: 2.064, 30: 2.042, 60: 2.000, 120: 1.980} {
		near(t, "t of "+strconv.Itoa(df), studentT(df), want, 0.0008)
	}
}

// bruteForce solves the same model by nothing but trying: a grid of balance and slope, the base being the mean of what
// is left.
func bruteForce(pts []Point) (base, slope, balance float64) {
	best := math.Inf(1)
	rss := func(tb, h float64) (float64, float64) {
		b := 0.0
		for _, p := range pts {
			b += (p.Power - h*max(tb-p.Outside, 0)) / float64(len(pts))
		}
		sum := 0.0
		for _, p := range pts {
			r := p.Power - b - h*max(tb-p.Outside, 0)
			sum += r * r
		}
		return sum, b
	}
	for tb := 8.0; tb <= 22; tb += 0.1 {
		for h := 0.05; h <= 0.6; h += 0.001 {
			if sum, b := rss(tb, h); sum < best {
				best, base, slope, balance = sum, b, h, tb
			}
		}
	}
	return base, slope, balance
}

func season(r *rand.Rand, n int, base, slope, balance, noise, low, high float64) []Point {
	pts := make([]Point, n)
	for i := range pts {
		te := low + (high-low)*r.Float64()
		pts[i] = Point{te, base + slope*max(balance-te, 0) + noise*r.NormFloat64()}
	}
	return pts
}

func TestChangePointAgainstBruteForce(t *testing.T) {
	for seed := range uint64(4) {
		pts := season(rand.New(rand.NewPCG(seed, 5)), 70, 0.4, 0.25, 15, 0.15, -2, 22)
		g, ok := Fit(pts)
		if !ok || g.Straight {
			t.Fatalf("seed %d: ok %v, straight %v", seed, ok, g.Straight)
		}
		base, slope, balance := bruteForce(pts)
		near(t, "slope", g.Slope, slope, 0.002)
		near(t, "balance", g.Balance, balance, 0.11)
		near(t, "base", g.Base, base, 0.02)
	}
}

// What is scaled or has a constant added gives the same scaled or with it added.
func TestFitScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		scale := rapid.Float64Range(0.1, 20).Draw(t, "scale")
		add := rapid.Float64Range(0, 5).Draw(t, "add")
		pts := season(rand.New(rand.NewPCG(seed, 1)), 40, 0.3, 0.2, 15, 0.3, -3, 19)
		other := make([]Point, len(pts))
		for i, p := range pts {
			other[i] = Point{p.Outside, scale*p.Power + add}
		}
		g, ok1 := Fit(pts)
		h, ok2 := Fit(other)
		if !ok1 || !ok2 {
			t.Fatal("no fit")
		}
		v, ci := g.At(-3)
		w, cj := h.At(-3)
		for _, x := range [][2]float64{{h.Slope, scale * g.Slope}, {w, scale*v + add}, {cj.Low, scale*ci.Low + add}, {cj.High, scale*ci.High + add}, {h.SlopeCI.Low, scale * g.SlopeCI.Low}} {
			if math.Abs(x[0]-x[1]) > 1e-6*(1+math.Abs(x[1])) {
				t.Fatalf("%v, want %v", x[0], x[1])
			}
		}
	})
}

func TestFitRefuses(t *testing.T) {
	for name, pts := range map[string][]Point{
		"none": nil, "five": season(rand.New(rand.NewPCG(1, 1)), 5, 0, 0.2, 15, 0.1, 0, 10),
		"one temperature": slices.Repeat([]Point{{5, 2}}, 30),
	} {
		if _, ok := Fit(pts); ok {
			t.Errorf("%s: fitted", name)
		}
	}
}

// The 95 % interval of the load must hold the truth in 95 of 100 records. Over 600 records of which none is like
// another, a rate of 95 % gives fewer than 557 hits, or all but 4 or fewer misses, in less than 1 of 100 tests
// (binomial distribution, worked out below). The median error is of the point estimate.
func TestIntervalCovers(t *testing.T) {
	const sets = 600
	r := rand.New(rand.NewPCG(20, 26))
	hits := 0
	var off []float64
	for range sets {
		slope, balance := 0.08+0.3*r.Float64(), 13+5*r.Float64()
		base, n, low := 0.5*r.Float64(), 20+r.IntN(80), -4+5*r.Float64()
		high := low + 9 + 9*r.Float64()
		truth := base + slope*(balance+3)
		pts := season(r, n, base, slope, balance, (0.04+0.08*r.Float64())*truth, low, high)
		g, ok := Fit(pts)
		if !ok {
			t.Fatal("no fit")
		}
		v, ci := g.At(-3)
		if ci.Low <= truth && truth <= ci.High {
			hits++
		}
		off = append(off, math.Abs(v/truth-1))
	}
	slices.Sort(off)
	t.Logf("held the truth in %d of %d, median error %.1f %%", hits, sets, 100*off[sets/2])
	if p := binomialAtMost(hits, sets, 0.95); p < 0.01 {
		t.Errorf("the interval held the truth in %d of %d: less than 95 %% (p = %.2g)", hits, sets, p)
	}
	if hits == sets {
		t.Error("the interval always holds the truth: it is too wide to say anything")
	}
	if off[sets/2] > 0.10 {
		t.Errorf("median error %.1f %%, want at most 10 %%", 100*off[sets/2])
	}
}

// binomialAtMost is the chance of k hits or fewer in n.
func binomialAtMost(k, n int, p float64) float64 {
	sum := 0.0
	for i := range k + 1 {
		a, _ := math.Lgamma(float64(n + 1))
		b, _ := math.Lgamma(float64(i + 1))
		c, _ := math.Lgamma(float64(n - i + 1))
		sum += math.Exp(a - b - c + float64(i)*math.Log(p) + float64(n-i)*math.Log(1-p))
	}
	return sum
}

// Days that are like the ones before are worth fewer: the interval widens.
func TestPersistenceWidens(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	pts := season(r, 60, 0, 0.25, 17, 0, -3, 14)
	e := 0.0
	for i := range pts {
		e = 0.8*e + 0.2*r.NormFloat64()
		pts[i].Power += e
	}
	g, _ := Fit(pts)
	if g.Persistence < 1.5 {
		t.Errorf("widened %.2f-fold on residuals of a correlation of 0.8", g.Persistence)
	}
	if g, _ := Fit(season(r, 60, 0, 0.25, 17, 0.3, -3, 14)); g.Persistence > 1.4 {
		t.Errorf("widened %.2f-fold on residuals of none", g.Persistence)
	}
}
