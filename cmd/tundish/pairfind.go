package main

import (
	"fmt"
	"strings"

	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// findProbe finds what SOURCE/PROBE names.
func findProbe(sheet *jobsheet.Sheet, ref string, recorded bool) (pairProbe, error) {
	name, probe, given := strings.Cut(ref, "/")
	src, ok := sheet.Source(name)
	if !ok {
		var names []string
		for _, x := range sheet.Sources {
			names = append(names, x.Name)
		}
		return pairProbe{}, fmt.Errorf("%q: there is no source %q%s", ref, name, jobsheet.Suggestion(name, names))
	}
	switch {
	case kindOf(src).bus && src.Kind != "simulated":
		return pairProbe{}, fmt.Errorf("%q: source %q is of kind %s: an appliance's own sensors cannot lie in one water with another", ref, name, src.Kind)
	case src.Kind != "one-wire" && !recorded && kindOf(src).source == nil:
		return pairProbe{}, fmt.Errorf("%q: source %q is of kind %s, which has no device to read", ref, name, src.Kind)
	case src.Kind != "one-wire":
		return findPoint(src, ref, probe)
	case len(src.Points) == 0:
		return pairProbe{}, fmt.Errorf("%q: source %q has no points; \"tundish sources --identify %s\" tells probes apart", ref, name, sheet.File)
	case !given && len(src.Points) > 1:
		return pairProbe{}, fmt.Errorf("%q: source %q has %d probes; say which: %s/%s", ref, name, len(src.Points), name, probeNames(src)[0])
	}
	for _, p := range probeNames(src) {
		if m := src.Points[p]; !given || p == probe || m.Point.String() == probe {
			return pairProbe{src, p, m}, nil
		}
	}
	return pairProbe{}, fmt.Errorf("%q: source %q has no probe %q; it has %s", ref, name, probe, strings.Join(probeNames(src), ", "))
}

// findPoint finds a temperature of a source that is no bus of 1-Wire probes. Whether the source gives it shows as it goes.
func findPoint(src *jobsheet.Source, ref, name string) (pairProbe, error) {
	p, err := decode.ParsePoint(name)
	var known []string
	for _, q := range decode.Points() {
		if q.Temperature() {
			known = append(known, q.String())
		}
	}
	if err != nil || !p.Temperature() {
		return pairProbe{}, fmt.Errorf("%q: %q is no temperature of source %q%s; they are %s", ref, name, src.Name,
			jobsheet.Suggestion(name, known), strings.Join(known, ", "))
	}
	m := src.Paired[p]
	m.Point = p
	return pairProbe{src, p.String(), m}, nil
}
