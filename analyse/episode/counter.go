package episode

import "time"

// failedStarts takes the appliance's count. It is asked for rarely: the first answer after a fault's onset still
// tells of the attempts before it, since none is made while the fault stands.
func (b *Builder) failedStarts(t time.Time, v float64) {
	b.uncounted(t, v)
	if c := b.counter.cur; c.seen && v > c.v {
		b.counted(int(v-c.v), c.t.time(), t)
	}
	b.counter.take(t, v)
	if b.onset != nil {
		b.onset.Preceding.FailedStarts = b.counter.since(t)
	}
}

// counterWatch follows the appliance's own count of failed starts.
type counterWatch struct {
	cur, base value
	rose      bool // with the last reading
}

// countLate is how long an appliance may take to count a failed start. Own proposal.
const countLate = 30 * time.Second

// uncounted marks brief flames that the appliance's count, read before and after, does not count as failed starts.
func (b *Builder) uncounted(t time.Time, v float64) {
	c := &b.counter
	if c.cur.seen && v == c.cur.v {
		from := c.cur.t.time().Add(-countLate)
		if c.rose {
			from = c.cur.t.time()
		}
		for i := len(b.tries.list) - 1; i >= 0 && b.tries.list[i].At.After(from); i-- {
			if a := &b.tries.list[i]; a.Flame > 0 && !a.At.After(t.Add(-countLate)) {
				a.Uncounted = true
			}
		}
	}
	c.rose = c.cur.seen && v != c.cur.v
}

// counterFresh is how old the counter's last value may be: it is asked for rarely.
const counterFresh = time.Hour

func (c *counterWatch) take(t time.Time, v float64) {
	if !c.base.seen || v < c.cur.v { // first sight, or a wrap or reset of the counter
		c.base = value{v, momentOf(t), true}
	}
	c.cur = value{v, momentOf(t), true}
}

// counterStale is how old the counter's last value may be to stand for the present when a firing held. Own proposal:
// with an older one the next value begins the count.
const counterStale = 5 * time.Minute

func (c *counterWatch) mark(t time.Time) {
	c.base = c.cur
	if c.cur.age(t) > counterStale {
		c.base.seen = false
	}
}

// since is the count since the last firing that held, −1 where it is not known.
func (c *counterWatch) since(t time.Time) int {
	if !c.cur.seen || !c.base.seen || c.cur.age(t) > counterFresh {
		return -1
	}
	return int(c.cur.v - c.base.v)
}
