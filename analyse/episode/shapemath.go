package episode

// slopes fills out with the least-squares slope of v over ±half s about each sample, at least one neighbour on either
// side where there is one.
func slopes(out, t, v []float64, half float64) {
	lo, hi := 0, 0
	var n, st, sv, stt, stv float64
	t0, v0 := t[0], v[0]
	add := func(i int, q float64) {
		x, y := t[i]-t0, v[i]-v0
		n, st, sv, stt, stv = n+q, st+q*x, sv+q*y, stt+q*x*x, stv+q*x*y
	}
	for i := range t {
		for hi < len(t) && (t[hi]-t[i] <= half || hi <= i+1) {
			add(hi, 1)
			hi++
		}
		for lo < i-1 && t[i]-t[lo] > half {
			add(lo, -1)
			lo++
		}
		d := n*stt - st*st
		if d > 1e-9 {
			out[i] = (n*stv - st*sv) / d
		} else {
			out[i] = 0
		}
	}
}

// means fills out with the mean of v over the same stretch.
func means(out, t, v []float64, half float64) {
	lo, hi := 0, 0
	var n, sum float64
	for i := range t {
		for hi < len(t) && (t[hi]-t[i] <= half || hi <= i+1) {
			n, sum = n+1, sum+v[hi]
			hi++
		}
		for lo < i-1 && t[i]-t[lo] > half {
			n, sum = n-1, sum-v[lo]
			lo++
		}
		out[i] = sum / n
	}
}

// lineError is the sum of squares that the best straight line leaves.
func lineError(t, v []float64) float64 {
	var n, st, sv, stt, stv, svv float64
	for i := range t {
		x, y := t[i]-t[0], v[i]-v[0]
		n, st, sv, stt, stv, svv = n+1, st+x, sv+y, stt+x*x, stv+x*y, svv+y*y
	}
	d := n*stt - st*st
	if d < 1e-9 {
		return 0
	}
	b := (n*stv - st*sv) / d
	return max(0, svv-sv*sv/n-b*(stv-st*sv/n))
}

// slope is that of the best straight line, 0 where there is none.
func slope(t, v []float64) float64 {
	var n, st, sv, stt, stv float64
	for i := range t {
		x, y := t[i]-t[0], v[i]-v[0]
		n, st, sv, stt, stv = n+1, st+x, sv+y, stt+x*x, stv+x*y
	}
	d := n*stt - st*st
	if d < 1e-9 {
		return 0
	}
	return (n*stv - st*sv) / d
}

// mean is the mean of at least one value.
func mean(v []float64) (sum float64) {
	for _, x := range v {
		sum += x / float64(len(v))
	}
	return sum
}

func sq(x float64) float64 { return x * x }
