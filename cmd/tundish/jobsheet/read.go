package jobsheet

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"
	"unicode/utf8"
)

// maxSize is the largest job sheet that is read, bytes: a hundred times the longest sensible one.
const maxSize = 1 << 20

// Load reads a job sheet from a file. What is wrong with its content comes back as [Errors].
func Load(file string) (*Sheet, error) {
	info, err := os.Stat(file)
	if err != nil {
		return nil, err
	}
	if info.IsDir() {
		return nil, Errors{{File: file, Msg: "is a folder; a job sheet is a TOML file"}}
	}
	if info.Size() > maxSize {
		return nil, Errors{{File: file, Msg: fmt.Sprintf("%d bytes are too many for a job sheet (at most %d)", info.Size(), maxSize)}}
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return Parse(file, text)
}

// Parse reads a job sheet from its text; file is the name to use in errors.
func Parse(file string, text []byte) (*Sheet, error) {
	if !utf8.Valid(text) || bytes.IndexByte(text, 0) >= 0 {
		return nil, Errors{{File: file, Msg: "is not text; a job sheet is a TOML file in UTF-8"}}
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	tree, at, err := parse(file, text)
	if err != nil {
		return nil, err
	}
	r := &reader{file: file, at: at, sheet: &Sheet{File: file, Text: text}}
	r.top(tree)
	if len(r.errs) > 0 {
		slices.SortStableFunc(r.errs, func(a, b Error) int { return a.Line - b.Line })
		return nil, r.errs
	}
	return r.sheet, nil
}

// reader collects errors while it fills the sheet.
type reader struct {
	file  string
	at    lines
	sheet *Sheet
	errs  Errors
}

func (r *reader) fail(path, format string, args ...any) {
	r.errs = append(r.errs, Error{r.file, r.at.of(path), path, fmt.Sprintf(format, args...)})
}

func (r *reader) top(tree map[string]any) {
	tables := []string{"job", "site", "plant", "codes", "light", "source"}
	for _, name := range sortedKeys(tree) {
		if !slices.Contains(tables, name) {
			r.unknown(name, name, tables)
		}
	}
	r.table(tree, "job", jobFields)
	if r.sheet.Job.Zone == nil {
		r.sheet.Job.Zone = machineZone()
	}
	if r.sheet.Job.Name == "" && !r.failed("job.name") {
		r.fail("job", "name is missing: [job] needs name = \"…\"")
	}
	r.table(tree, "site", siteFields)
	r.table(tree, "plant", plantFields)
	r.across()
	r.codes(tree["codes"])
	r.signs(tree["light"])
	r.sources(tree["source"])
}

func (r *reader) failed(path string) bool {
	return slices.ContainsFunc(r.errs, func(e Error) bool { return e.Key == path })
}

// table fills one of the sheet's tables by its list of fields.
func (r *reader) table(tree map[string]any, name string, fields []field) {
	v, ok := tree[name]
	if !ok {
		return
	}
	t, ok := v.(map[string]any)
	if !ok {
		r.fail(name, "must be a table: [%s]", name)
		return
	}
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.name
	}
	for _, k := range sortedKeys(t) {
		path := name + "." + k
		i := slices.Index(names, k)
		if i < 0 {
			r.unknown(path, k, names)
			continue
		}
		if err := fields[i].take(r.sheet, t[k]); err != nil {
			r.fail(path, "%v", err)
		}
	}
}

// unknown reports a key that does not exist, with the nearest one that does.
func (r *reader) unknown(path, key string, known []string) {
	r.fail(path, "unknown key%s", Suggestion(key, known))
}

// Suggestion says which of the known words was most likely meant, or names them all.
func Suggestion(word string, known []string) string {
	if near := nearest(word, known); near != "" {
		return "; did you mean " + near + "?"
	}
	return "; known here: " + strings.Join(known, ", ")
}

// across checks what two keys say together.
func (r *reader) across() {
	p, s := r.sheet.Plant, r.sheet.Site
	if p.DesignFlow.Known && p.DesignReturn.Known && p.DesignReturn.Value >= p.DesignFlow.Value {
		r.fail("plant.design_return_c", "%v is not below design_flow_c, %v", p.DesignReturn.Value, p.DesignFlow.Value)
	}
	if p.OutputMin.Known && p.OutputMax.Known && p.OutputMin.Value > p.OutputMax.Value {
		r.fail("plant.output_min_kw", "%v is above output_max_kw, %v", p.OutputMin.Value, p.OutputMax.Value)
	}
	if p.OutsideDesign.Known && p.InsideDesign.Known && p.OutsideDesign.Value >= p.InsideDesign.Value {
		r.fail("site.outside_design_c", "%v is not below inside_design_c, %v", p.OutsideDesign.Value, p.InsideDesign.Value)
	}
	if p.DesignHeatLoss.Known && s.House != "" {
		r.fail("site.house", "give either house or design_heat_loss_kw, not both")
	}
}

func sortedKeys[T any](m map[string]T) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// nearest finds the known word that takes the fewest changes to reach, if it takes few.
func nearest(word string, known []string) string {
	best, least := "", max(min(2, len(word)/2), len(word)/3)+1
	for _, k := range known {
		if d := distance(strings.ToLower(word), k); d < least {
			best, least = k, d
		}
	}
	return best
}

// distance is the number of letters to change, add or drop to make b of a.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			diagonal, row[j] = row[j], min(row[j]+1, row[j-1]+1, diagonal+cost)
		}
	}
	return row[len(b)]
}
