package jobsheet

import (
	"fmt"
	"regexp"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/decode"
	"tundish/decode/onewire"
	"tundish/decode/opentherm"
	"tundish/decode/unit"
)

// Kinds are the source kinds, in the order in which they are told.
var Kinds = []string{"opentherm", "opentherm-edges", "one-wire", "mqtt", "modbus-rtu", "modbus-tcp", "m-bus", "readings", "simulated"}

// kindKeys are the keys of the kinds that this version knows, besides name, kind and at. A kind that is not here is
// one whose own keys this version cannot check yet: they are let pass, files can be imported for
// such a source, and recording from it says that it cannot.
var kindKeys = map[string][]string{
	"opentherm":  {"port", "baud", "pattern", "raise_lines"},
	edgesKind:    {"port", "baud", "pattern", "raise_lines", "time", "same_bus_as"},
	"one-wire":   {"points", "root", "interval_s"},
	"mqtt":       mqttKeys,
	"modbus-tcp": modbusTCPKeys,
	"modbus-rtu": modbusRTUKeys,
	"m-bus":      mbusKeys,
	"readings":   {},
	"simulated":  {"scenario", "seed", "part", "points"},
}

var (
	commonKeys = []string{"name", "kind", "at", "table", "paired"}
	nameRule   = regexp.MustCompile(`^[\p{L}\p{N}](?:[\p{L}\p{M}\p{N}._ -]{0,38}[\p{L}\p{M}\p{N}._-])?$`)
	probeRule  = regexp.MustCompile(`^[0-9a-f]{2}-[0-9a-f]{12}$`)
)

// bauds are the rates that serial adapters use.
var bauds = []int{300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400, 460800, 500000, 921600, 1000000}

func (r *reader) sources(v any) {
	list, ok := v.([]any)
	if v == nil || ok && len(list) == 0 {
		r.fail("source", "is missing: a job sheet needs at least one [[source]]")
		return
	}
	if !ok {
		r.fail("source", "must be an array of tables: [[source]]")
		return
	}
	seen := map[string]int{}
	var paths []string // of the sheet's sources
	for i, x := range list {
		path := fmt.Sprintf("source[%d]", i)
		t, ok := x.(map[string]any)
		if !ok {
			r.fail(path, "must be a table: [[source]]")
			continue
		}
		s := r.source(path, t)
		if s.Name == "" {
			continue
		}
		if first, twice := seen[s.Name]; twice {
			r.fail(path+".name", "%q is the name of the source in line %d already", s.Name, first)
		} else {
			seen[s.Name] = r.at[path]
		}
		r.sheet.Sources, paths = append(r.sheet.Sources, s), append(paths, path)
	}
	for i, path := range paths {
		r.sameBus(path, &r.sheet.Sources[i])
	}
	r.probesOnce()
}

// probesOnce refuses a probe that two sources read from the same bus: they would take each other's conversions.
func (r *reader) probesOnce() {
	type place struct{ root, probe string }
	taken := map[place]string{}
	for i, s := range r.sheet.Sources {
		if s.Kind != "one-wire" {
			continue
		}
		for _, probe := range sortedKeys(s.Points) {
			if other, twice := taken[place{s.Root, probe}]; twice {
				r.fail(fmt.Sprintf("source[%d].points.%s", i, probe), "source %q reads this probe already; a probe belongs to one source", other)
				continue
			}
			taken[place{s.Root, probe}] = s.Name
		}
	}
}

func (r *reader) source(path string, t map[string]any) Source {
	s := Source{Line: r.at[path], Baud: 9600}
	r.required(path, t, "name", func(v any) error {
		n, err := asText(v)
		if err != nil {
			return err
		}
		if !nameRule.MatchString(n) {
			return fmt.Errorf("%q: a name has letters, digits, '.', '-', '_' and spaces within only, 40 at the most", n)
		}
		s.Name = n
		return nil
	})
	r.required(path, t, "kind", func(v any) error {
		k, ok := v.(string)
		if !ok || !slices.Contains(Kinds, k) {
			return fmt.Errorf("must be one of %s, not %s", quoted(Kinds), describe(v))
		}
		s.Kind = k
		if k == edgesKind {
			s.Edges = &Edges{}
		}
		return nil
	})
	own, checked := kindKeys[s.Kind]
	known := append(slices.Clone(commonKeys), own...)
	for _, k := range sortedKeys(t) {
		p := path + "." + k
		switch {
		case !checked && !slices.Contains(commonKeys, k):
			continue
		case isSecret(k):
			r.secret(p, k)
		case !slices.Contains(known, k):
			r.unknown(p, k, known)
		default:
			if err := r.sourceKey(&s, p, k, t[k]); err != nil {
				r.fail(p, "%v", err)
			}
		}
	}
	if isModbus(s.Kind) {
		r.modbus(&s, path, t)
	}
	if s.Kind == "m-bus" {
		r.mbus(&s, path, t)
	}
	if s.Kind == "mqtt" {
		r.mqtt(&s, path, t)
	}
	if s.Kind == "simulated" && !r.failed(path+".scenario") && s.Scenario == "" {
		r.fail(path, "scenario is missing: a simulated source needs scenario = \"…\"")
	}
	return s
}

func (r *reader) required(path string, t map[string]any, key string, take func(any) error) {
	v, ok := t[key]
	if !ok {
		r.fail(path, "%s is missing: every [[source]] needs it", key)
		return
	}
	if err := take(v); err != nil {
		r.fail(path+"."+key, "%v", err)
	}
}

// sourceKey takes one key whose name is known to belong to the source's kind.
func (r *reader) sourceKey(s *Source, path, key string, v any) (err error) {
	switch key {
	case "at":
		s.At, err = asText(v)
		return err
	case "table":
		s.Table = r.fileTable(path, v)
		return nil
	case "paired":
		r.paired(s, path, v)
		return nil
	}
	if isModbus(s.Kind) && slices.Contains(modbusOwn, key) {
		return r.modbusKey(s, path, key, v)
	}
	if s.Kind == "m-bus" {
		return r.mbusKey(s, key, v)
	}
	if s.Kind == "mqtt" && slices.Contains(mqttKeys, key) {
		return r.mqttKey(s, path, key, v)
	}
	switch key {
	case "port":
		s.Port, err = asText(v)
	case "root":
		s.Root, err = asText(v)
	case "baud":
		s.Baud, err = asWhole(v, 300, 1000000)
		if err == nil && !slices.Contains(bauds, s.Baud) {
			err = fmt.Errorf("%d is no usual rate; known: %v", s.Baud, bauds)
		}
	case "time", "same_bus_as":
		err = s.Edges.key(key, v)
	case "pattern":
		if s.Edges != nil {
			return s.Edges.key(key, v)
		}
		s.Pattern, err = asPattern(v)
	case "raise_lines":
		up, ok := v.(bool)
		if !ok {
			return fmt.Errorf("must be true or false, not %s", describe(v))
		}
		s.RaiseLines = up
	case "interval_s":
		var sec float64
		sec, err = asNumber(v, "s", 0.5, 3600)
		s.Interval = time.Duration(sec * float64(time.Second))
	case "scenario":
		s.Scenario, err = asText(v)
	case "seed":
		var n int
		n, err = asWhole(v, 0, 1<<31-1)
		s.Seed = uint64(n)
	case "part":
		s.Part, err = asText(v)
		if err == nil && s.Part != "bus" && s.Part != "probes" {
			err = fmt.Errorf("must be one of \"bus\", \"probes\", not %q", s.Part)
		}
	case "points":
		r.points(s, path, v)
	}
	return err
}

// asPoint takes the name of a point.
func asPoint(v any) (decode.Point, error) {
	name, _ := v.(string)
	p, err := decode.ParsePoint(name)
	if err != nil {
		names := []string{}
		for _, q := range decode.Points() {
			names = append(names, q.String())
		}
		return p, fmt.Errorf("%s is no point%s", describe(v), Suggestion(name, names))
	}
	return p, nil
}

func asPattern(v any) (string, error) {
	p, err := asText(v)
	if err != nil {
		return "", err
	}
	_, err = opentherm.CompilePattern(p)
	return p, err
}

func (r *reader) points(s *Source, path string, v any) {
	t, ok := v.(map[string]any)
	if !ok {
		r.fail(path, "must be a table of probes: { \"28-…\" = \"flow\", … }")
		return
	}
	s.Points = map[string]Mapping{}
	taken := map[decode.Point]string{}
	for _, probe := range sortedKeys(t) {
		p := path + "." + probe
		if !probeRule.MatchString(probe) {
			r.fail(p, "is no 1-Wire device: the kernel names them like 28-0000a71c01f4")
			continue
		}
		if _, err := onewire.FamilyOf(probe); err != nil {
			r.fail(p, "%v", err)
			continue
		}
		m, ok := r.mapping(p, t[probe])
		if !ok {
			continue
		}
		if other, twice := taken[m.Point]; twice {
			r.fail(p, "%q is measured by %s already: two probes of one source cannot both be %q", m.Point, other, m.Point)
			continue
		}
		taken[m.Point] = probe
		s.Points[probe] = m
	}
}

// mappingKeys are the keys of a probe that is given as a table.
var mappingKeys = []string{"point", "offset_k", "accuracy_k", "paired_k", "spread_k", "paired_on"}

func (r *reader) mapping(path string, v any) (m Mapping, ok bool) {
	name, isText := v.(string)
	if t, isTable := v.(map[string]any); isTable {
		for _, k := range sortedKeys(t) {
			if !slices.Contains(mappingKeys, k) {
				r.unknown(path+"."+k, k, mappingKeys)
				return m, false
			}
		}
		name, isText = t["point"].(string)
		for _, x := range []struct {
			key       string
			low, high float64
			put       func(unit.Kelvin)
		}{
			{"offset_k", -onewire.OffsetLimitK, onewire.OffsetLimitK, func(k unit.Kelvin) { m.Offset = k }},
			{"accuracy_k", LeastErrorK, onewire.OffsetLimitK, func(k unit.Kelvin) { m.Accuracy = analyse.Some(k) }},
			{"paired_k", LeastErrorK, onewire.OffsetLimitK, func(k unit.Kelvin) { m.Paired = analyse.Some(k) }},
			{"spread_k", 0, onewire.OffsetLimitK, func(k unit.Kelvin) { m.Spread = analyse.Some(k) }},
		} {
			given, is := t[x.key]
			if !is {
				continue
			}
			k, err := asNumber(given, "K", x.low, x.high)
			if err != nil {
				r.fail(path+"."+x.key, "%v", err)
				return m, false
			}
			x.put(unit.Kelvin(k))
		}
		if given, is := t["paired_on"]; is {
			day, err := asText(given)
			if err == nil {
				m.PairedOn, err = time.Parse(time.DateOnly, day)
			}
			if err != nil {
				r.fail(path+".paired_on", "must be the day of the comparison as a text, \"2026-11-25\"")
				return m, false
			}
		}
	}
	if !isText {
		r.fail(path, "must be a point, or { point = \"…\", offset_k = … }")
		return m, false
	}
	p, err := decode.ParsePoint(name)
	if err != nil {
		names := []string{}
		for _, q := range decode.Points() {
			if q.Temperature() {
				names = append(names, q.String())
			}
		}
		r.fail(path, "%q is no point%s", name, Suggestion(name, names))
		return m, false
	}
	if !p.Temperature() {
		r.fail(path, "%q is no temperature; a probe measures one", name)
		return m, false
	}
	m.Point = p
	return m, true
}
