package scoring

// Counts is what the answers of one kind, or of all, were worth.
type Counts [arguedOpen + 1]int

func (c *Counts) note(v verdict) { c[v]++ }

// Add adds others.
func (c *Counts) Add(o Counts) {
	for i := range c {
		c[i] += o[i]
	}
}

// There is how often it was there and could be seen.
func (c *Counts) There() int { return c[hit] + c[missedClear] + c[missedOpen] }

// Precision is the share of the findings that are true; NaN where nothing was found.
func (c *Counts) Precision() float64 { return share(c[hit], c[hit]+c[falseAlarm]) }

// Recall is the share of what was there, and could be seen, that was found; NaN where nothing was there.
func (c *Counts) Recall() float64 { return share(c[hit], c.There()) }

// F1 is the harmonic mean of the two; NaN where nothing was there and nothing found.
func (c *Counts) F1() float64 { return share(2*c[hit], c.There()+c[hit]+c[falseAlarm]) }

// countBy counts answers by what a key says of each.
func countBy(told []Told, key func(*Told) string) map[string]*Counts {
	all := map[string]*Counts{}
	for i := range told {
		t := &told[i]
		k := key(t)
		if all[k] == nil {
			all[k] = &Counts{}
		}
		all[k].note(t.verdict())
	}
	return all
}

func kindOf(t *Told) string  { return t.Label.Kind }
func buildOf(t *Told) string { return t.Case.Build }

// total counts all answers together.
func total(told []Told) Counts {
	var all Counts
	for i := range told {
		all.note(told[i].verdict())
	}
	return all
}
