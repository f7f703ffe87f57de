package jobsheet

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// ErrLayout is the error of a sheet whose points stand in a form that is not edited: the person must do it.
var ErrLayout = errors.New("is not written as one line")

// Key is a key of a probe's mapping with its value as it shall stand in the file.
type Key struct{ Name, Raw string }

// ProbeEdit is what shall stand for one probe of a source: in points, or, of another kind of source, for one point in
// paired.
type ProbeEdit struct {
	Source, Probe string
	Table         string // empty: points
	Remove        bool
	Keys          []Key // in order; keys of the mapping that are not here stay as they are
}

func (e ProbeEdit) table() string {
	if e.Table == "" {
		return "points"
	}
	return e.Table
}

// Number writes a value in K at its resolution of 0.01 K.
func Number(k float64) string {
	s := strconv.FormatFloat(k, 'f', 2, 64)
	if s == "-0.00" {
		return "0.00"
	}
	return s
}

// EditProbes changes the points of a job sheet's sources in its text; all else stays byte for byte, comments too.
// text must be a sheet without errors. The result is read again and held against what was asked before it is given.
func EditProbes(file string, text []byte, edits []ProbeEdit) ([]byte, error) {
	was, err := Parse(file, text)
	if err != nil {
		return nil, err
	}
	mark := text[:len(text)-len(was.Text)] // a byte-order mark
	out := was.Text
	for i, src := range was.Sources {
		mine := slices.DeleteFunc(slices.Clone(edits), func(e ProbeEdit) bool { return e.Source != src.Name })
		if len(mine) == 0 {
			continue
		}
		for _, table := range []string{"points", "paired"} {
			here := slices.DeleteFunc(slices.Clone(mine), func(e ProbeEdit) bool { return e.table() != table })
			if len(here) == 0 {
				continue
			}
			if out, err = editSource(out, i, table, here); err != nil {
				return nil, fmt.Errorf("%s:%d: source %q: %w", file, src.Line, src.Name, err)
			}
		}
	}
	is, err := Parse(file, out)
	if err != nil {
		return nil, fmt.Errorf("the sheet would not be right any more, and is left as it was: %w", err)
	}
	for _, c := range Changes(was, is) {
		if !slices.ContainsFunc(edits, func(e ProbeEdit) bool {
			return strings.HasPrefix(c, "source "+e.Source+": "+e.table()+"."+e.Probe)
		}) {
			return nil, fmt.Errorf("%s: left as it was: the edit would also change %s", file, c)
		}
	}
	return append(bytes.Clone(mark), out...), nil
}

// editSource edits a table, points or paired, of the n-th [[source]].
func editSource(text []byte, n int, name string, edits []ProbeEdit) ([]byte, error) {
	start, end, last, err := findTable(text, n, name)
	if err != nil {
		return nil, err
	}
	var table []entry
	if start > 0 {
		if table, err = inline(text[start:end]); err != nil {
			return nil, err
		}
	}
	for _, e := range edits {
		at := slices.IndexFunc(table, func(x entry) bool { return x.name == e.Probe })
		switch {
		case e.Remove && at >= 0:
			table = slices.Delete(table, at, at+1)
		case e.Remove:
		case at >= 0:
			if table[at].raw, err = mappingWith(table[at].raw, e.Keys); err != nil {
				return nil, err
			}
		default:
			raw, err := mappingWith("", e.Keys)
			if err != nil {
				return nil, err
			}
			table = append(table, entry{e.Probe, strconv.Quote(e.Probe), raw})
		}
	}
	line := render(table)
	if start > 0 {
		return slices.Concat(text[:start], []byte(line), text[end:]), nil
	}
	added := name + " = " + line + "\n"
	if last > 0 && text[last-1] != '\n' {
		added = "\n" + added
	}
	return slices.Concat(text[:last], []byte(added), text[last:]), nil
}

// mappingWith sets keys of a probe's mapping, which may be a point alone.
func mappingWith(raw string, keys []Key) (string, error) {
	var table []entry
	switch {
	case raw == "":
	case raw[0] == '{':
		var err error
		if table, err = inline([]byte(raw)); err != nil {
			return "", err
		}
	default:
		table = []entry{{"point", "point", raw}}
	}
	for _, k := range keys {
		if at := slices.IndexFunc(table, func(x entry) bool { return x.name == k.Name }); at >= 0 {
			table[at].raw = k.Raw
		} else {
			table = append(table, entry{k.Name, k.Name, k.Raw})
		}
	}
	if len(table) == 1 && table[0].name == "point" {
		return table[0].raw, nil
	}
	return render(table), nil
}

// findTable gives the place of the value of points, or of paired, in the n-th source; start is 0 where there is none, and last is
// then where a line can be put in.
func findTable(text []byte, n int, name string) (start, end, last int, err error) {
	p := unstable.Parser{}
	p.Reset(text)
	source, within := -1, false
	for p.NextExpression() {
		x := p.Expression()
		if x.Kind == unstable.Comment {
			continue
		}
		key := x.Key()
		var names []string
		at := 0
		for key.Next() {
			names = append(names, string(key.Node().Data))
			at = int(key.Node().Raw.Offset + key.Node().Raw.Length)
		}
		switch x.Kind {
		case unstable.ArrayTable:
			if within = len(names) == 1 && names[0] == "source"; within {
				source++
			}
			within = within && source == n
			last = choose(within, lineEnd(text, at), last)
		case unstable.Table:
			within = false
			if source == n && len(names) > 1 && names[0] == "source" && names[1] == name {
				return 0, 0, 0, layout(name)
			}
		case unstable.KeyValue:
			if !within {
				continue
			}
			from := at + bytes.IndexByte(text[at:], '=') + 1
			for from < len(text) && (text[from] == ' ' || text[from] == '\t') {
				from++
			}
			to := valueEnd(text, from)
			switch {
			case names[0] == name && len(names) > 1:
				return 0, 0, 0, layout(name)
			case names[0] == name:
				start, end = from, to
			}
			last = lineEnd(text, to)
		}
	}
	return start, end, last, nil
}

func layout(name string) error { return fmt.Errorf("%s %w, %s = { … }", name, ErrLayout, name) }

func choose(yes bool, a, b int) int {
	if yes {
		return a
	}
	return b
}

// lineEnd is behind the end of the line that holds at.
func lineEnd(text []byte, at int) int {
	if i := bytes.IndexByte(text[at:], '\n'); i >= 0 {
		return at + i + 1
	}
	return len(text)
}
