package episode

import (
	"math/bits"
	"time"
)

// cadenceSteps is the number of histogram steps to an octave: steps of 6 %, fine enough for a median interval.
const cadenceSteps = 16

// Cadence learns how often something usually comes, in bounded memory: a histogram of the intervals. The zero
// Cadence has seen nothing.
type Cadence struct {
	count [64 * cadenceSteps]uint32
	sum   [64 * cadenceSteps]time.Duration
	n     uint32
	usual time.Duration
	next  uint32 // n at which usual is computed again
}

func cadenceBin(d time.Duration) int {
	us := uint64(max(0, d.Microseconds()))
	if us < cadenceSteps {
		return int(us)
	}
	e := bits.Len64(us) - 1
	return e*cadenceSteps + int(us>>(e-4))&(cadenceSteps-1)
}

// Add takes one interval; a negative one counts as none.
func (c *Cadence) Add(d time.Duration) {
	d = max(0, d)
	b := cadenceBin(d)
	c.count[b]++
	c.sum[b] += d
	c.n++
	if c.n >= c.next {
		c.usual = c.Median()
		c.next = c.n + max(1, min(c.n, 4096))
	}
}

// Usual is the median interval as it was when last worked out, 0 when none has been seen: cheap, for use on the way.
func (c *Cadence) Usual() time.Duration { return c.usual }

// Median is the median interval, 0 when none has been seen.
func (c *Cadence) Median() time.Duration {
	var seen uint32
	for b, n := range c.count {
		seen += n
		if n > 0 && seen*2 >= c.n {
			return c.sum[b] / time.Duration(n)
		}
	}
	return 0
}

// Covered is the time that readings reach over when each is good for limit: the sum of all intervals, each counted
// up to limit.
func (c *Cadence) Covered(limit time.Duration) time.Duration {
	var total time.Duration
	for b, n := range c.count {
		if n == 0 {
			continue
		}
		total += min(c.sum[b], time.Duration(n)*limit)
	}
	return total
}

// CadenceBin is one step of the histogram that has something in it.
type CadenceBin struct {
	At  uint16
	N   uint32
	Sum time.Duration
}

// Bins are the steps that have something in them.
func (c *Cadence) Bins() []CadenceBin {
	var out []CadenceBin
	for at, n := range c.count {
		if n > 0 {
			out = append(out, CadenceBin{uint16(at), n, c.sum[at]})
		}
	}
	return out
}

// AddBin takes what another Cadence saw. [Cadence.Usual] does not follow.
func (c *Cadence) AddBin(x CadenceBin) {
	c.count[x.At] += x.N
	c.sum[x.At] += x.Sum
	c.n += x.N
}

// Count takes one interval as [Cadence.Add] does, but [Cadence.Usual] does not follow.
func (c *Cadence) Count(d time.Duration) { c.AddBin(CadenceBin{uint16(cadenceBin(d)), 1, max(0, d)}) }
