package jobsheet

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tundish/decode"
	"tundish/decode/mbus"
)

// MBus are the keys of kind m-bus. Serial path, baud and interval are the source's own Port, Baud and Interval.
type MBus struct{ Meters []MBusMeter }

// MBusMeter is one [[source.meter]].
type MBusMeter struct {
	Name string // of its records' channel; its address or number where none is given
	// Address is its primary address, −1: it is selected by ID.
	Address int
	// ID is its number of 8 digits, F for any; "": it has an address. Manufacturer, Version and Medium narrow the
	// selection: three letters, "" for any; −1 for any.
	ID              string
	Manufacturer    string
	Version, Medium int
	// Side is where its flow sensor sits, "flow" or "return"; "": not told.
	Side string
	// ByMedium: it gives the points that a meter of its medium has by itself.
	ByMedium bool
	// Points are those that the sheet gives or, with NoPoint, takes away, by the meter's own terms.
	Points map[mbus.Key]decode.Point
}

const (
	// mbusBaud is the rate where none is given, Bd (MB 5.1: the most common).
	mbusBaud = 2400
	// mbusInterval is the read interval where none is given, mbusLeast the shortest that is taken. Own proposals: each
	// answer costs a meter's battery, and makers' manuals count in minutes.
	mbusInterval, mbusLeast = 5 * time.Minute, time.Minute
	// mostMeters is the most meters of one bus. MB 7: 250 primary addresses.
	mostMeters = 250
)

var (
	mbusKeys  = []string{"port", "baud", "interval_s", "meter"}
	meterKeys = []string{"name", "address", "id", "manufacturer", "version", "medium", "side", "points"}
	mbusBauds = []int{300, 600, 1200, 2400, 4800, 9600, 19200, 38400} // EN 13757-7, CI B8 to BF
)

// mbusKey takes one key of an M-Bus source; the meters wait for [reader.mbus].
func (r *reader) mbusKey(s *Source, key string, v any) (err error) {
	switch key {
	case "port":
		s.Port, err = asText(v)
	case "baud":
		s.Baud, err = asWhole(v, 300, 38400)
		if err == nil && !slices.Contains(mbusBauds, s.Baud) {
			err = fmt.Errorf("%d is no rate of the M-Bus; known: %v", s.Baud, mbusBauds)
		}
	case "interval_s":
		var sec float64
		sec, err = asNumber(v, "s", mbusLeast.Seconds(), 86400)
		if err != nil {
			err = fmt.Errorf("%w; a meter is not read more often than once a minute: each answer costs its battery", err)
		}
		s.Interval = time.Duration(sec * float64(time.Second))
	}
	return err
}

// mbus completes an M-Bus source once all its keys were taken: what is not given, and the meters.
func (r *reader) mbus(s *Source, path string, t map[string]any) {
	s.MBus = &MBus{}
	if _, given := t["baud"]; !given {
		s.Baud = mbusBaud
	}
	if s.Interval == 0 {
		s.Interval = mbusInterval
	}
	list, ok := t["meter"].([]any)
	if !ok || len(list) == 0 || len(list) > mostMeters {
		r.fail(path, "meter is missing: an m-bus source needs 1 to %d [[source.meter]], each with address or id", mostMeters)
		return
	}
	names, points, places := map[string]bool{}, map[decode.Point]string{}, map[string]string{}
	for i, x := range list {
		at := fmt.Sprintf("%s.meter[%d]", path, i)
		table, ok := x.(map[string]any)
		if !ok {
			r.fail(at, "must be a table: [[source.meter]]")
			continue
		}
		m, ok := r.meter(at, table)
		if !ok {
			continue
		}
		if names[m.Name] {
			r.fail(at, "%q is the name of another meter of this source", m.Name)
			continue
		}
		names[m.Name] = true
		// A meter that stands here twice would be read twice in an interval.
		place := fmt.Sprintf("address %d", m.Address)
		if m.ID != "" {
			place = fmt.Sprintf("id %s, manufacturer %q, version %d, medium %d", m.ID, m.Manufacturer, m.Version, m.Medium)
		}
		if other, twice := places[place]; twice {
			r.fail(at, "%s is that of meter %s already", place, other)
			continue
		}
		places[place] = m.Name
		// One meter may give points by itself, else two would give the same: the first.
		m.ByMedium = i == 0 && table["points"] != "none"
		for _, k := range sortedPoints(m.Points) {
			p := m.Points[k]
			if other, twice := points[p]; twice && p != decode.NoPoint {
				r.fail(at+".points", "%q is a value of meter %s already", p, other)
			}
			points[p] = m.Name
		}
		s.MBus.Meters = append(s.MBus.Meters, m)
	}
}

// meter reads one [[source.meter]].
func (r *reader) meter(path string, t map[string]any) (m MBusMeter, ok bool) {
	m = MBusMeter{Address: -1, Version: -1, Medium: -1}
	before := len(r.errs)
	for _, k := range sortedKeys(t) {
		p := path + "." + k
		if !slices.Contains(meterKeys, k) {
			r.unknown(p, k, meterKeys)
			continue
		}
		if k == "points" {
			m.Points = r.meterPoints(p, t[k])
			continue
		}
		if err := m.key(k, t[k]); err != nil {
			r.fail(p, "%v", err)
		}
	}
	switch _, hasAddress := t["address"]; {
	case len(r.errs) > before:
		return m, false
	case hasAddress == (m.ID != ""):
		r.fail(path, "give address or id, one of them")
		return m, false
	case hasAddress && (m.Manufacturer != "" || m.Version >= 0):
		r.fail(path, "manufacturer and version help to select a meter by id; one with an address needs none")
		return m, false
	}
	if m.Name == "" {
		if m.Name = m.ID; m.ID == "" {
			m.Name = fmt.Sprint(m.Address)
		}
	}
	return m, true
}

// key takes one key of a meter.
func (m *MBusMeter) key(key string, v any) (err error) {
	switch key {
	case "name":
		if m.Name, err = asText(v); err == nil && !nameRule.MatchString(m.Name) {
			err = fmt.Errorf("%q: a name has letters, digits, '.', '-', '_' and spaces within only, 40 at the most", m.Name)
		}
	case "address":
		m.Address, err = asWhole(v, 0, 250)
	case "id":
		m.ID, err = asMeterID(v)
	case "manufacturer":
		if m.Manufacturer, err = asText(v); err == nil {
			if _, ok := mbus.MakerCode(m.Manufacturer); !ok {
				err = fmt.Errorf("%q: a manufacturer is three capital letters", m.Manufacturer)
			}
		}
	case "version":
		m.Version, err = asWhole(v, 0, 254)
	case "medium":
		m.Medium, err = asMedium(v)
	case "side":
		var ok bool
		if m.Side, ok = v.(string); !ok || m.Side != "flow" && m.Side != "return" {
			err = fmt.Errorf("must be \"flow\" or \"return\": where the meter's flow sensor sits; not %s", describe(v))
		}
	}
	return err
}

func asMeterID(v any) (string, error) {
	id, ok := v.(string)
	if !ok {
		return "", fmt.Errorf("must be the meter's number in quotes, \"12345678\", not %s", describe(v))
	}
	id = strings.ToUpper(strings.ReplaceAll(id, " ", ""))
	if len(id) != 8 || strings.Trim(id, "0123456789F") != "" {
		return "", fmt.Errorf("%s: a meter's number has 8 digits, as printed on it, and F where any digit may stand", describe(v))
	}
	return id, nil
}

// media are words for what is metered.
var media = map[string]mbus.Medium{"electricity": mbus.MediumElectricity, "gas": mbus.MediumGas, "heat": mbus.MediumHeat,
	"heat-inlet": mbus.MediumHeatInflow, "heat-and-cooling": mbus.MediumHeatAndCold, "warm-water": mbus.MediumWarmWater, "water": mbus.MediumWater}

func asMedium(v any) (int, error) {
	if word, ok := v.(string); ok {
		if m, known := media[word]; known {
			return int(m), nil
		}
		return 0, fmt.Errorf("%s is none of %s; a number from 0 to 254 is taken too", describe(v), quoted(sortedKeys(media)))
	}
	return asWhole(v, 0, 254)
}

// meterPoints reads what a meter's values are of, by the meter's own terms: "flow-temperature" = "none".
func (r *reader) meterPoints(path string, v any) map[mbus.Key]decode.Point {
	if v == "none" {
		return nil
	}
	t, ok := v.(map[string]any)
	if !ok {
		r.fail(path, "must be \"none\", or a table of the meter's values: { \"energy\" = \"heat-energy\", … }")
		return nil
	}
	out := map[mbus.Key]decode.Point{}
	for _, name := range sortedKeys(t) {
		p := path + "." + name
		k, err := mbus.ParseKey(name)
		if err != nil {
			r.fail(p, "%v", err)
			continue
		}
		word, _ := t[name].(string)
		if word == "none" {
			out[k] = decode.NoPoint
			continue
		}
		point, err := decode.ParsePoint(word)
		switch {
		case err != nil:
			r.fail(p, "must be a point or \"none\", not %s", describe(t[name]))
		case !mbus.CanBe(k.Quantity, point):
			r.fail(p, "%s cannot be %q: its values are in %s", k.Quantity, point, point.Unit())
		default:
			out[k] = point
		}
	}
	return out
}

func sortedPoints(m map[mbus.Key]decode.Point) []mbus.Key {
	keys := make([]mbus.Key, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b mbus.Key) int { return strings.Compare(a.String(), b.String()) })
	return keys
}
