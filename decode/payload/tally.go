package payload

import "tundish/decode"

// counts is what a [Decoder] counts.
type counts struct {
	messages, lines, noPoint, empty, again, broken, absent, values, impossible,
	undated, ahead, late, tooLate, retained, waited, doubtful, readings, notes uint64
}

// Tally says what was counted so far.
func (d *Decoder) Tally() []decode.Count {
	n := d.n
	return []decode.Count{
		{Name: "messages", N: n.messages},
		{Name: "readings", N: n.readings},
		{Name: "doubtful readings", N: n.doubtful},
		{Name: "messages of topics without a point", N: n.noPoint},
		{Name: "empty messages", N: n.empty},
		{Name: "lines without a topic", N: n.lines},
		{Name: "messages sent again that had come already", N: n.again},
		{Name: "values in unsound JSON", N: n.broken},
		{Name: "values left out of their message", N: n.absent},
		{Name: "values that are not numbers or known words", N: n.values},
		{Name: "values that cannot be", N: n.impossible},
		{Name: "values without the sender's time", N: n.undated},
		{Name: "values dated ahead of the logger's clock", N: n.ahead},
		{Name: "values sent more than a minute before they came: placed at the sender's time", N: n.late},
		{Name: "values sent more than a week before they came: not in the analysis", N: n.tooLate},
		{Name: "values of unknown age: the broker had kept them", N: n.retained},
		{Name: "values of unknown age: they waited at the broker", N: n.waited},
		{Name: "notes passed over", N: n.notes},
	}
}
