package jobsheet

import (
	"bytes"
	"errors"
	"fmt"
	"sort"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// Error is one thing wrong with a job sheet.
type Error struct {
	File string
	Line int    // from 1; 0 where no line can be named
	Key  string // "plant.output_max_kw"; empty for the file as a whole
	Msg  string
}

func (e Error) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	if e.Line > 0 {
		fmt.Fprintf(&b, ":%d", e.Line)
	}
	b.WriteString(": ")
	if e.Key != "" {
		key := e.Key
		if strings.ContainsFunc(key, steers) {
			key = strconv.QuoteToGraphic(key)
		}
		b.WriteString(key + ": ")
	}
	b.WriteString(e.Msg)
	return b.String()
}

// Errors are all the things wrong with a job sheet, in order of line.
type Errors []Error

func (e Errors) Error() string {
	lines := make([]string, len(e))
	for i, x := range e {
		lines[i] = x.Error()
	}
	return strings.Join(lines, "\n")
}

// lines knows in which line of the file each key stands. Keys are paths: "plant.fuel", "source[0].points.28-…".
type lines map[string]int

// of is the line of a key, or of the nearest table round it that has one; 0 where none has.
func (l lines) of(path string) int {
	line := l[path]
	for line == 0 && path != "" {
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
		line = l[path]
	}
	return line
}

// parse reads the TOML into plain maps and finds the line of every key.
func parse(file string, text []byte) (map[string]any, lines, error) {
	at, repeated := findLines(file, text)
	if len(repeated) > 0 {
		return nil, nil, repeated
	}
	var tree map[string]any
	if err := toml.Unmarshal(text, &tree); err != nil {
		e := Error{File: file, Msg: strings.TrimPrefix(err.Error(), "toml: ")}
		var d *toml.DecodeError
		if errors.As(err, &d) {
			e.Line, _ = d.Position()
		}
		return nil, nil, Errors{e}
	}
	return tree, at, nil
}

// findLines walks the file's expressions. Keys that stand twice are errors, each named with both lines. What is no
// TOML ends the walk; the reader proper then says what is wrong.
func findLines(file string, text []byte) (lines, Errors) {
	at := lines{}
	var errs Errors
	note := func(path string, line int) {
		if first, twice := at[path]; twice {
			errs = append(errs, Error{file, line, path, fmt.Sprintf("stands here a second time; the first is in line %d", first)})
			return
		}
		at[path] = line
	}
	p := unstable.Parser{}
	p.Reset(text)
	table := ""
	arrays := map[string]int{}
	for p.NextExpression() {
		n := p.Expression()
		switch n.Kind {
		case unstable.Table:
			path, line := keyPath(text, n.Key(), arrays)
			table = path
			note(path, line)
		case unstable.ArrayTable:
			path, line := keyPath(text, n.Key(), arrays) // [[source.meter]], [[source.topic]] belong to the [[source]] that is open
			table = fmt.Sprintf("%s[%d]", path, arrays[path])
			arrays[path]++
			at[table] = line
			if _, ok := at[path]; !ok {
				at[path] = line
			}
		case unstable.KeyValue:
			walkKey(text, table, n, note)
		}
	}
	sort.SliceStable(errs, func(i, j int) bool { return errs[i].Line < errs[j].Line })
	return at, errs
}

func walkKey(text []byte, table string, n *unstable.Node, note func(string, int)) {
	path, line := keyPath(text, n.Key(), nil)
	if table != "" {
		path = table + "." + path
	}
	note(path, line)
	walkValue(text, path, line, n.Value(), note)
}

// walkValue finds the keys inside a value; line is where it begins, as far as is known.
func walkValue(text []byte, path string, line int, v *unstable.Node, note func(string, int)) {
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			walkKey(text, path, it.Node(), note)
		}
	case unstable.Array:
		i := 0
		for it := v.Children(); it.Next(); i++ {
			element, at := fmt.Sprintf("%s[%d]", path, i), line
			if keys := it.Node().Children(); it.Node().Kind == unstable.InlineTable && keys.Next() {
				_, at = keyPath(text, keys.Node().Key(), nil)
			}
			note(element, at)
			walkValue(text, element, at, it.Node(), note)
		}
	}
}

// keyPath joins a dotted key; arrays turns "source" into the element of [[source]] that is open.
func keyPath(text []byte, key unstable.Iterator, arrays map[string]int) (string, int) {
	path, line := "", 0
	for key.Next() {
		k := key.Node()
		if path != "" {
			if n := arrays[path]; n > 0 {
				path = fmt.Sprintf("%s[%d]", path, n-1)
			}
			path += "."
		}
		path += string(k.Data)
		if line == 0 {
			line = 1 + bytes.Count(text[:min(int(k.Raw.Offset), len(text))], []byte("\n"))
		}
	}
	return path, line
}
