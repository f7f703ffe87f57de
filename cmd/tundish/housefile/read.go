package housefile

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"tundish/cmd/tundish/jobsheet"
)

// reader collects errors while it fills the file.
type reader struct {
	file string
	at   map[string]int
	errs jobsheet.Errors
}

// fail reports an error at a key; place names room and element.
func (r *reader) fail(path, place, key, format string, args ...any) {
	r.errs = append(r.errs, jobsheet.Error{File: r.file, Line: jobsheet.LineOf(r.at, path), Key: joined(place, key), Msg: fmt.Sprintf(format, args...)})
}

// here is the place of a value: the path of its key, and room and element for people.
type here struct {
	r           *reader
	path, place string
}

// field is one key of a table.
type field[T any] struct {
	name string
	take func(to *T, v any, at here) error
}

// fill fills something from a table by its list of keys. A key that does not exist is an error.
func fill[T any](r *reader, path, place string, v any, to *T, fields []field[T]) {
	t, ok := v.(map[string]any)
	if !ok {
		r.fail(path, place, "", "must be a table, not %s", jobsheet.Describe(v))
		return
	}
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.name
	}
	for _, k := range sortedKeys(t) {
		p := k
		if path != "" {
			p = path + "." + k
		}
		i := slices.Index(names, k)
		if i < 0 {
			r.fail(p, place, k, "unknown key%s", jobsheet.Suggestion(k, names))
			continue
		}
		if err := fields[i].take(to, t[k], here{r, p, place}); err != nil {
			r.fail(p, place, k, "%v", err)
		}
	}
}

func sortedKeys(t map[string]any) []string {
	keys := make([]string, 0, len(t))
	for k := range t {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

// asNumber takes a bare number.
func asNumber(v any) (float64, error) {
	switch n := v.(type) {
	case float64:
		if math.IsNaN(n) || math.IsInf(n, 0) {
			return 0, fmt.Errorf("%v is no number", n)
		}
		return n, nil
	case int64:
		return float64(n), nil
	case string:
		return 0, fmt.Errorf("must be a bare number, not the text %q: the key tells the unit", n)
	}
	return 0, fmt.Errorf("must be a number, not %s", jobsheet.Describe(v))
}

// number is a key whose value may be left out; what it may be is the building's to say.
func number[T any](name string, at func(*T) **float64) field[T] {
	return field[T]{name, func(to *T, v any, _ here) error {
		x, err := asNumber(v)
		if err == nil {
			*at(to) = &x
		}
		return err
	}}
}

// above is a key with a number above 0, at most high.
func above[T any](name, unit string, high float64, at func(*T) *float64) field[T] {
	return field[T]{name, func(to *T, v any, _ here) error {
		x, err := asNumber(v)
		if err != nil {
			return err
		}
		switch {
		case x <= 0:
			return fmt.Errorf("%v is not above 0", x)
		case x > high && unit == "":
			return fmt.Errorf("%v is above %v; a share of 1, not a percentage", x, high)
		case x > high:
			return fmt.Errorf("%v is above %v %s; is the unit right?", x, high, unit)
		}
		*at(to) = x
		return nil
	}}
}

func text[T any](name string, at func(*T) *string) field[T] {
	return field[T]{name, func(to *T, v any, _ here) error {
		s, err := jobsheet.Text(v)
		if err == nil {
			*at(to) = s
		}
		return err
	}}
}

// table is a key with a table of its own.
func table[T, S any](name string, fields []field[S], at func(*T) **S) field[T] {
	return field[T]{name, func(to *T, v any, h here) error {
		s := new(S)
		fill(h.r, h.path, joinPlace(h.place, name), v, s, fields)
		*at(to) = s
		return nil
	}}
}

// list is a key with tables in any number: [[name]].
func list[T any](name string, add func(to *T, v any, at here)) field[T] {
	return field[T]{name, func(to *T, v any, h here) error {
		all, ok := v.([]any)
		if !ok {
			return fmt.Errorf("must be an array of tables: [[%s]]", name)
		}
		for i, x := range all {
			place := joinPlace(h.place, labelled(name, x, i))
			add(to, x, here{h.r, fmt.Sprintf("%s[%d]", h.path, i), place})
		}
		return nil
	}}
}

// labels are words before a name, where the name alone would not tell what it is of.
var labels = map[string]string{"room": "room ", "unheated": "unheated ", "construction": "construction ", "pipe": "pipe ",
	"layers": "layer ", "radiator": "radiator ", "underfloor": "underfloor "}

// labelled names one table of a list for people: by its name, else by its number.
func labelled(kind string, v any, i int) string {
	if t, ok := v.(map[string]any); ok && kind != "layers" {
		if name, err := jobsheet.Text(t["name"]); err == nil {
			return labels[kind] + name
		}
	}
	if label := labels[kind]; label != "" {
		kind = strings.TrimSpace(label)
	}
	return fmt.Sprintf("%s %d", kind, i+1)
}

func joinPlace(place, name string) string {
	if place == "" {
		return name
	}
	return place + ", " + name
}
