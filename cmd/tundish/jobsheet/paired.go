package jobsheet

import (
	"maps"

	"tundish/decode"
)

// pairedKeys are the keys of a point that was compared.
var pairedKeys = mappingKeys[1:]

// paired reads what a comparison in the same water left for temperatures of a source that is no bus of 1-Wire probes:
//
//	paired = { flow = { offset_k = -0.31, paired_k = 0.12, spread_k = 0.08, paired_on = "2026-01-09" } }
func (r *reader) paired(s *Source, path string, v any) {
	t, ok := v.(map[string]any)
	switch {
	case s.Kind == "one-wire":
		r.fail(path, "a 1-Wire probe has these keys where its point stands: points = { \"28-…\" = { point = \"flow\", offset_k = … } }")
		return
	case !ok:
		r.fail(path, "must be a table of points: { flow = { offset_k = … }, … }")
		return
	}
	s.Paired = map[decode.Point]Mapping{}
	for _, name := range sortedKeys(t) {
		p := path + "." + name
		of, ok := t[name].(map[string]any)
		if !ok || len(of) == 0 {
			r.fail(p, "must be a table: { offset_k = …, paired_k = …, paired_on = \"…\" }")
			continue
		}
		if _, is := of["point"]; is {
			r.unknown(p+".point", "point", pairedKeys)
			continue
		}
		of = maps.Clone(of)
		of["point"] = name
		if m, ok := r.mapping(p, of); ok {
			s.Paired[m.Point] = m
		}
	}
}
