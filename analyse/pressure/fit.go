package pressure

import (
	"math"
	"slices"
)

// trend is the pressure's course over days at equal temperature of the water.
type trend struct {
	perDay  float64 // bar a day; below 0: it falls
	error   float64 // ± at 95 %
	perK    float64 // bar/K, at the mean temperature
	days    int
	known   bool
	jump    float64 // bar, the largest step between two days that the straight line leaves
	jumpDay int     // before it
}

// fit draws pressure = level of the epoch + temperature (with a bend) + days through the cells. Every epoch, the time
// between two steps of water let in or out, has its own level, so that a step is no trend; and so has each half of the
// day, as mornings compare with mornings. In a short record the halves of days stand for days in the error.
func fit(cells []cell, step float64) trend {
	x, ok := solve(cells)
	if !ok {
		return trend{}
	}
	f := trend{perDay: x.perDay, perK: x.perK, known: true}
	f.jump, f.jumpDay = x.jump(cells)
	days := daysOf(cells)
	f.days = len(days)
	halves := f.days < manyDays
	blocks := blocksOf(cells, halves)
	var slopes []float64
	for _, d := range blocks {
		rest := slices.DeleteFunc(slices.Clone(cells), func(c cell) bool { return c.block(halves) == d })
		if y, ok := solve(rest); ok {
			slopes = append(slopes, y.perDay)
		}
	}
	freedom := len(blocks) - 2
	if halves {
		freedom = len(blocks) - 1 - len(x.level)
	}
	if len(slopes) < 3 || freedom < 1 {
		f.error = math.Inf(1)
		return f
	}
	mean, sum := 0.0, 0.0
	for _, s := range slopes {
		mean += s / float64(len(slopes))
	}
	for _, s := range slopes {
		sum += (s - mean) * (s - mean)
	}
	n := float64(len(slopes))
	jack := math.Sqrt(sum * (n - 1) / n)
	f.error = math.Hypot(student(freedom)*jack, 2*uniform*step/math.Sqrt(swept(cells, step)*x.tt))
	return f
}

// manyDays is from how many days on the scatter of days tells the error by itself. Own proposal.
const manyDays = 6

// swept is how many of the sensor's steps a day's pressure goes through: their rounding averages out. 1: it stands.
func swept(cells []cell, step float64) float64 {
	if step <= 0 {
		return 1
	}
	sum, days := 0.0, 0
	for i := 0; i < len(cells); {
		low, high, j := cells[i].bar, cells[i].bar, i
		for ; j < len(cells) && cells[j].day == cells[i].day; j++ {
			low, high = min(low, cells[j].bar), max(high, cells[j].bar)
		}
		sum += max(1, (high-low)/step)
		days++
		i = j
	}
	return max(1, sum/float64(max(1, days)))
}

func daysOf(cells []cell) []int { return blocksOf(cells, false) }

func blocksOf(cells []cell, halves bool) (blocks []int) {
	for _, c := range cells {
		if b := c.block(halves); !slices.Contains(blocks, b) {
			blocks = append(blocks, b)
		}
	}
	return blocks
}

// student is the two-sided 95 % point of Student's distribution (ISO 2602; any table).
func student(freedom int) float64 {
	table := []float64{12.71, 4.30, 3.18, 2.78, 2.57, 2.45, 2.36, 2.31, 2.26, 2.23}
	switch {
	case freedom < 1:
		return math.Inf(1)
	case freedom <= len(table):
		return table[freedom-1]
	}
	return 2.1
}

// line is one solution.
type line struct {
	perDay, perK, bend float64
	tt                 float64 // Σ(t − mean)² over days, within epochs, in days²
	mean               float64 // °C
	level              map[group]float64
}

func (l line) rest(c cell) float64 {
	d := c.water - l.mean
	return c.bar - l.level[c.group()] - l.perDay*c.t - l.perK*d - l.bend*d*d
}

// jump is the largest change of the mean remainder between two days in sequence of one epoch.
func (l line) jump(cells []cell) (jump float64, before int) {
	type sum struct {
		w, r  float64
		epoch int
	}
	days := daysOf(cells)
	sums := make([]sum, len(days))
	for _, c := range cells {
		s := &sums[slices.Index(days, c.day)]
		s.w += c.weight
		s.r += c.weight * l.rest(c)
		s.epoch = c.epoch
	}
	for i := 1; i < len(days); i++ {
		if j := sums[i].r/sums[i].w - sums[i-1].r/sums[i-1].w; sums[i].epoch == sums[i-1].epoch && math.Abs(j) > math.Abs(jump) {
			jump, before = j, days[i]
		}
	}
	return jump, before
}

// solve is least squares: the epochs' levels are taken out by centring, then three unknowns are left.
func solve(cells []cell) (line, bool) {
	l := line{level: map[group]float64{}}
	w := 0.0
	for _, c := range cells {
		w += c.weight
		l.mean += c.weight * c.water
	}
	if w == 0 {
		return l, false
	}
	l.mean /= w
	type mid struct{ w, t, d, dd, p float64 }
	mids := map[group]*mid{}
	for _, c := range cells {
		m := mids[c.group()]
		if m == nil {
			m = &mid{}
			mids[c.group()] = m
		}
		d := c.water - l.mean
		m.w += c.weight
		m.t += c.weight * c.t
		m.d += c.weight * d
		m.dd += c.weight * d * d
		m.p += c.weight * c.bar
	}
	var a [3][4]float64
	byDay := map[[2]int]int{} // by day and epoch: the halves of a day are rounded alike
	var parts [][2]float64    // in order of the cells, so that sums never differ
	for _, c := range cells {
		m := mids[c.group()]
		d := c.water - l.mean
		row := [4]float64{c.t - m.t/m.w, d - m.d/m.w, d*d - m.dd/m.w, c.bar - m.p/m.w}
		for i := range 3 {
			for j := range 4 {
				a[i][j] += c.weight * row[i] * row[j]
			}
		}
		key := [2]int{c.day, c.epoch}
		i, seen := byDay[key]
		if !seen {
			i = len(parts)
			byDay[key] = i
			parts = append(parts, [2]float64{})
		}
		parts[i][0] += c.weight
		parts[i][1] += c.weight * row[0]
	}
	for _, s := range parts {
		l.tt += s[1] / s[0] * s[1] / s[0]
	}
	const leastTT = 0.1 // days²: less than half a day apart is no trend
	if l.tt < leastTT {
		return l, false
	}
	// The temperature hardly moves: what it does cannot be told, and need not.
	sd := math.Sqrt(a[1][1] / w)
	use := 3
	if sd < 5 {
		use = 2
	}
	if sd < 1 {
		use = 1
	}
	x, ok := gauss(a, use)
	if !ok {
		return l, false
	}
	l.perDay, l.perK, l.bend = x[0], x[1], x[2]
	for e, m := range mids {
		l.level[e] = (m.p - l.perDay*m.t - l.perK*m.d - l.bend*m.dd) / m.w
	}
	return l, true
}

// gauss solves the first n rows of the normal equations; unknowns left out are 0.
func gauss(a [3][4]float64, n int) (x [3]float64, ok bool) {
	var scale [3]float64
	for i := range n {
		scale[i] = a[i][i]
	}
	for i := range n {
		if a[i][i] <= 1e-6*scale[i] || a[i][i] <= 0 {
			return x, false
		}
		for j := i + 1; j < n; j++ {
			k := a[j][i] / a[i][i]
			for c := range 4 {
				a[j][c] -= k * a[i][c]
			}
		}
	}
	for i := n - 1; i >= 0; i-- {
		x[i] = a[i][3]
		for j := i + 1; j < n; j++ {
			x[i] -= a[i][j] * x[j]
		}
		x[i] /= a[i][i]
	}
	return x, true
}
