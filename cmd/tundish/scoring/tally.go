package scoring

import (
	"math"
	"slices"
	"time"
)

// Tally counts episodes of one kind. Those set aside stand in neither True nor Found.
type Tally struct{ True, Found, Matched, Aside int }

// Add adds another record's count.
func (t *Tally) Add(o Tally) {
	t.True += o.True
	t.Found += o.Found
	t.Matched += o.Matched
	t.Aside += o.Aside
}

// Precision is the share of found ones that are true; NaN where none was found.
func (t Tally) Precision() float64 { return share(t.Matched, t.Found) }

// Recall is the share of true ones that were found; NaN where there was none.
func (t Tally) Recall() float64 { return share(t.Matched, t.True) }

// F1 is the harmonic mean of precision and recall, 2·matched/(true + found); NaN where there was nothing.
func (t Tally) F1() float64 { return share(2*t.Matched, t.True+t.Found) }

// CountError is found/true − 1; NaN where there was none.
func (t Tally) CountError() float64 { return share(t.Found, t.True) - 1 }

func share(n, of int) float64 {
	if of == 0 {
		return math.NaN()
	}
	return float64(n) / float64(of)
}

// Edges collects how far edges were told from the true ones, s; later is positive.
type Edges struct{ late []float64 }

// Note takes one edge.
func (e *Edges) Note(told, really time.Duration) { e.late = append(e.late, (told - really).Seconds()) }

// Add adds another record's edges.
func (e *Edges) Add(o Edges) { e.late = append(e.late, o.late...) }

// Median and P95 are of the size of the error, s; NaN where there is no edge.
func (e Edges) Median() float64 { return e.quantile(0.5) }
func (e Edges) P95() float64    { return e.quantile(0.95) }

// quantile is by the nearest rank.
func (e Edges) quantile(p float64) float64 {
	if len(e.late) == 0 {
		return math.NaN()
	}
	sizes := make([]float64, len(e.late))
	for i, x := range e.late {
		sizes[i] = math.Abs(x)
	}
	slices.Sort(sizes)
	return sizes[max(0, int(math.Ceil(p*float64(len(sizes))))-1)]
}

// Bias is the mean error, s: positive where edges are told late; NaN where there is no edge.
func (e Edges) Bias() float64 {
	sum := 0.0
	for _, x := range e.late {
		sum += x
	}
	if len(e.late) == 0 {
		return math.NaN()
	}
	return sum / float64(len(e.late))
}
