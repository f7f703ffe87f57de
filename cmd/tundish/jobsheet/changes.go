package jobsheet

import (
	"bytes"
	"fmt"
	"maps"
	"slices"

	"github.com/pelletier/go-toml/v2"
)

// Changes says what a later version of a job sheet has otherwise than an earlier one, a key each, in order of name:
// "plant.design_flow_c was 70, is 55". Sources are compared by name. Comments and the order of keys are no change.
func Changes(was, is *Sheet) []string {
	a, b := was.values(), is.values()
	var out []string
	if was.Site.House == is.Site.House && !bytes.Equal(was.Site.HouseText, is.Site.HouseText) {
		out = append(out, fmt.Sprintf("the house file %s changed", is.Site.House))
	}
	for _, key := range slices.Sorted(maps.Keys(merged(a, b))) {
		old, had := a[key]
		now, has := b[key]
		switch {
		case !had:
			out = append(out, fmt.Sprintf("%s is %s, was not given", key, describe(now)))
		case !has:
			out = append(out, fmt.Sprintf("%s was %s, is not given any more", key, describe(old)))
		case fmt.Sprint(old) != fmt.Sprint(now):
			out = append(out, fmt.Sprintf("%s was %s, is %s", key, describe(old), describe(now)))
		}
	}
	return out
}

func merged(a, b map[string]any) map[string]any {
	all := maps.Clone(a)
	maps.Copy(all, b)
	return all
}

// values are all the sheet's keys with their values.
func (s *Sheet) values() map[string]any {
	var tree map[string]any
	if err := toml.Unmarshal(s.Text, &tree); err != nil { // it was read before
		return nil
	}
	out := map[string]any{}
	list, _ := tree["source"].([]any)
	delete(tree, "source")
	flatten(out, "", tree)
	for _, x := range list {
		t, _ := x.(map[string]any)
		flatten(out, fmt.Sprintf("source %v: ", t["name"]), t)
	}
	return out
}

func flatten(out map[string]any, path string, v any) {
	t, ok := v.(map[string]any)
	if !ok {
		out[path] = v
		return
	}
	for k, x := range t {
		if path != "" && path[len(path)-1] != ' ' {
			k = "." + k
		}
		flatten(out, path+k, x)
	}
}
