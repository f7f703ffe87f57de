package payload

import (
	"encoding/json"
	"unicode/utf8"
)

// DepthMost is how deep arrays and objects may lie in each other. Own proposal: messages of sensors have two or three.
const DepthMost = 64

// walker goes once over the whole of a text, so that what is found stands in sound JSON (RFC 8259), and remembers what
// stands at the path. It keeps nothing and, but for names with escapes, allocates nothing.
type walker struct {
	in    []byte
	at    int
	depth int
	steps []step

	found      []byte // the value at the path, as it stands
	has, twice bool
	err        error
}

// find gives the value at a path as it stands in the text.
func find(text []byte, p Path) ([]byte, int, error) {
	w := walker{in: text, steps: p.steps}
	w.space()
	w.value(0)
	w.space()
	switch {
	case w.err == nil && w.at < len(w.in):
		w.err = ErrJSON
	case w.err == nil && w.twice:
		w.err = ErrTwice
	case w.err == nil && !w.has:
		w.err = ErrNone
	}
	if w.err != nil {
		return nil, min(w.at, len(text)), w.err
	}
	return w.found, 0, nil
}

// offPath is the number of steps taken where the walk is not on the path.
const offPath = -1

// next is the number of steps taken below a place where taken were.
func (w *walker) next(taken int, here bool) int {
	if taken == offPath || !here {
		return offPath
	}
	return taken + 1
}

func (w *walker) fail(err error) {
	if w.err == nil {
		w.err = err
	}
}

func (w *walker) space() {
	for w.at < len(w.in) && space(w.in[w.at]) {
		w.at++
	}
}

func (w *walker) peek() byte {
	if w.err != nil || w.at >= len(w.in) {
		return 0
	}
	return w.in[w.at]
}

// take goes over a byte that must stand here.
func (w *walker) take(c byte) {
	if w.peek() != c {
		w.fail(ErrJSON)
		return
	}
	w.at++
}

// value goes over one value. taken is how many steps of the path lead here.
func (w *walker) value(taken int) {
	from := w.at
	switch c := w.peek(); c {
	case '{', '[':
		if w.depth++; w.depth > DepthMost {
			w.fail(ErrDeep)
			return
		}
		if c == '{' {
			w.object(taken)
		} else {
			w.array(taken)
		}
		w.depth--
	case '"':
		w.text()
	case 't':
		w.word("true")
	case 'f':
		w.word("false")
	case 'n':
		w.word("null")
	default:
		w.number()
	}
	if w.err == nil && taken == len(w.steps) {
		w.twice = w.twice || w.has
		w.found, w.has = w.in[from:w.at], true
	}
}

func (w *walker) object(taken int) {
	var want *step
	if taken >= 0 && taken < len(w.steps) && w.steps[taken].index < 0 {
		want = &w.steps[taken]
	}
	w.take('{')
	seen := false
	for first := true; ; first = false {
		w.space()
		if w.peek() == '}' && first {
			break
		}
		name := w.text()
		here := w.err == nil && want != nil && is(name, want.name)
		w.twice = w.twice || here && seen
		seen = seen || here
		w.space()
		w.take(':')
		w.space()
		w.value(w.next(taken, here))
		w.space()
		if w.peek() != ',' {
			break
		}
		w.at++
	}
	w.take('}')
}

func (w *walker) array(taken int) {
	want := -1
	if taken >= 0 && taken < len(w.steps) {
		want = w.steps[taken].index
	}
	w.take('[')
	for i := 0; ; i++ {
		w.space()
		if w.peek() == ']' && i == 0 {
			break
		}
		w.value(w.next(taken, i == want))
		w.space()
		if w.peek() != ',' {
			break
		}
		w.at++
	}
	w.take(']')
}

// text goes over a string and gives it with its quotes.
func (w *walker) text() []byte {
	from := w.at
	w.take('"')
	for w.err == nil {
		c := w.peek()
		switch {
		case w.at >= len(w.in) || c < ' ':
			w.fail(ErrJSON)
		case c == '"':
			w.at++
			return w.in[from:w.at]
		case c == '\\':
			w.escape()
		default:
			w.at++
		}
	}
	return nil
}

func (w *walker) escape() {
	w.at++
	switch w.peek() {
	case '"', '\\', '/', 'b', 'f', 'n', 'r', 't':
		w.at++
	case 'u':
		w.at++
		for range 4 {
			if c := w.peek(); !(c >= '0' && c <= '9' || c >= 'a' && c <= 'f' || c >= 'A' && c <= 'F') {
				w.fail(ErrJSON)
				return
			}
			w.at++
		}
	default:
		w.fail(ErrJSON)
	}
}

func (w *walker) word(word string) {
	for i := range len(word) {
		w.take(word[i])
	}
}

// number goes over a number as RFC 8259, 6 has it: no plus, no leading zeros, digits on both sides of the point.
func (w *walker) number() {
	if w.peek() == '-' {
		w.at++
	}
	if w.peek() == '0' {
		w.at++
	} else {
		w.digits()
	}
	if w.peek() == '.' {
		w.at++
		w.digits()
	}
	if c := w.peek(); c == 'e' || c == 'E' {
		w.at++
		if c := w.peek(); c == '+' || c == '-' {
			w.at++
		}
		w.digits()
	}
}

func (w *walker) digits() {
	from := w.at
	for c := w.peek(); c >= '0' && c <= '9'; c = w.peek() {
		w.at++
	}
	if w.at == from {
		w.fail(ErrJSON)
	}
}

// is tells whether a string, quotes and all, is a name.
func is(quoted []byte, name string) bool {
	inner := quoted[1 : len(quoted)-1]
	for _, c := range inner {
		if c == '\\' || c >= utf8.RuneSelf {
			return unquote(quoted) == name
		}
	}
	return string(inner) == name
}

// unquote gives what a string says; what is no UTF-8 in it becomes U+FFFD.
func unquote(quoted []byte) (text string) {
	if json.Unmarshal(quoted, &text) != nil {
		return ""
	}
	return text
}
