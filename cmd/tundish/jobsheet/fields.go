package jobsheet

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"

	"tundish/analyse"
)

// field is one key of a table: how its value is checked and where it goes.
type field struct {
	name string
	take func(*Sheet, any) error
}

// The ranges are what can stand on a domestic or small commercial heating system at all; a value outside is a slip
// of the pen or of the unit. Own proposals.
var (
	jobFields = []field{
		{"name", text(func(s *Sheet) *string { return &s.Job.Name })},
		{"timezone", timezone},
		{"engineer", text(func(s *Sheet) *string { return &s.Job.Engineer })},
		{"firm", text(func(s *Sheet) *string { return &s.Job.Firm })},
		{"client", text(func(s *Sheet) *string { return &s.Job.Client })},
		{"address", text(func(s *Sheet) *string { return &s.Job.Address })},
		{"appliance", text(func(s *Sheet) *string { return &s.Job.Appliance })},
		{"serial", text(func(s *Sheet) *string { return &s.Job.Serial })},
		{"consent", text(func(s *Sheet) *string { return &s.Job.Consent })},
		{"notes", notes},
	}
	siteFields = []field{
		{"outside_design_c", number("°C", -60, 25, func(s *Sheet, v float64) { set(&s.Plant.OutsideDesign, v) })},
		{"inside_design_c", number("°C", 5, 35, func(s *Sheet, v float64) { set(&s.Plant.InsideDesign, v) })},
		{"design_heat_loss_kw", number("kW", 0.1, 1000, func(s *Sheet, v float64) { set(&s.Plant.DesignHeatLoss, v) })},
		{"house", text(func(s *Sheet) *string { return &s.Site.House })},
		{"calorific_value_mj_m3", number("MJ/m³", 10, 140, func(s *Sheet, v float64) { set(&s.Plant.CalorificValue, v) })},
	}
	plantFields = []field{
		{"kind", oneOf([]string{"boiler", "heat-pump"}, func(s *Sheet, v string) { s.Plant.Kind = v })},
		{"condensing", yesNo(func(s *Sheet, v bool) { s.Plant.Condensing = analyse.Some(v) })},
		{"fuel", oneOf([]string{"natural-gas", "lpg", "oil", "electricity"}, func(s *Sheet, v string) { s.Plant.Fuel = v })},
		{"emitters", oneOf([]string{"radiators", "underfloor"}, func(s *Sheet, v string) { s.Plant.Emitters = v })},
		{"output_max_kw", number("kW", 0.5, 2000, func(s *Sheet, v float64) { set(&s.Plant.OutputMax, v) })},
		{"output_min_kw", number("kW", 0.1, 2000, func(s *Sheet, v float64) { set(&s.Plant.OutputMin, v) })},
		{"water_content_l", number("l", 1, 50000, func(s *Sheet, v float64) { set(&s.Plant.Water, v) })},
		{"design_flow_c", number("°C", 20, 110, func(s *Sheet, v float64) { set(&s.Plant.DesignFlow, v) })},
		{"design_return_c", number("°C", 15, 105, func(s *Sheet, v float64) { set(&s.Plant.DesignReturn, v) })},
		{"supply", oneOf([]string{"permanent-live", "switched-live"}, func(s *Sheet, v string) {
			s.Plant.Supply = analyse.PermanentLive
			if v == "switched-live" {
				s.Plant.Supply = analyse.SwitchedLive
			}
		})},
		{"ignition_attempts", whole(1, 20, func(s *Sheet, v int) { s.Plant.IgnitionAttempts = analyse.Some(v) })},
		{"hot_water", oneOf([]string{"none", "cylinder", "instantaneous"}, func(s *Sheet, v string) {
			s.Plant.HotWater = map[string]analyse.HotWaterKind{"none": analyse.NoHotWater,
				"cylinder": analyse.CylinderHotWater, "instantaneous": analyse.InstantaneousHotWater}[v]
		})},
		{"minimum_pressure_bar", number("bar", 0.1, 6, func(s *Sheet, v float64) { set(&s.Plant.MinimumPressure, v) })},
	}
)

// yesNo takes true or false.
func yesNo(put func(*Sheet, bool)) func(*Sheet, any) error {
	return func(s *Sheet, v any) error {
		b, ok := v.(bool)
		if !ok {
			return fmt.Errorf("must be true or false, not %s", describe(v))
		}
		put(s, b)
		return nil
	}
}

func set[T ~float64](o *analyse.Opt[T], v float64) { *o = analyse.Some(T(v)) }

// longestText is the most characters a text of the job sheet may have.
const longestText = 4000

func text(at func(*Sheet) *string) func(*Sheet, any) error {
	return func(s *Sheet, v any) error {
		t, err := asText(v)
		if err == nil {
			*at(s) = t
		}
		return err
	}
}

// notes are the one text of several lines.
func notes(s *Sheet, v any) (err error) {
	s.Job.Notes, err = asLines(v, "\n\r\t")
	return err
}

func asText(v any) (string, error) { return asLines(v, "") }

// asLines takes a text without control characters but those of may: what is printed on a terminal must not steer it.
func asLines(v any, may string) (string, error) {
	t, ok := v.(string)
	switch {
	case !ok:
		return "", fmt.Errorf("must be a text in quotes, not %s", describe(v))
	case strings.TrimSpace(t) == "":
		return "", errors.New("is empty; leave the key out instead")
	case len(t) > longestText:
		return "", fmt.Errorf("is longer than %d characters", longestText)
	}
	for _, c := range t {
		if steers(c) && !strings.ContainsRune(may, c) {
			return "", fmt.Errorf("holds the control character %U; only job.notes may have line ends and tabs", c)
		}
	}
	return t, nil
}

// OneLine says what is wrong with a text that must be of one line and steer nothing.
func OneLine(text string) error {
	for _, c := range text {
		if steers(c) {
			return fmt.Errorf("holds the control character %U", c)
		}
	}
	return nil
}

// steers tells whether a character does something to its surroundings instead of being seen: control characters, line
// and paragraph separators, and the marks that turn the direction of all that follows (Unicode 15, 23.2).
func steers(c rune) bool {
	return unicode.IsControl(c) || c >= '\u2028' && c <= '\u202e' || c >= '\u2066' && c <= '\u2069'
}

func timezone(s *Sheet, v any) error {
	name, err := asText(v)
	if err != nil {
		return err
	}
	zone, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		return fmt.Errorf("%q is no IANA time zone; they look like \"Europe/London\"", name)
	}
	s.Job.Zone, s.Job.ZoneGiven = zone, true
	return nil
}

func number(unit string, low, high float64, put func(*Sheet, float64)) func(*Sheet, any) error {
	return func(s *Sheet, v any) error {
		x, err := asNumber(v, unit, low, high)
		if err == nil {
			put(s, x)
		}
		return err
	}
}

func asNumber(v any, unit string, low, high float64) (float64, error) {
	var x float64
	switch n := v.(type) {
	case float64:
		x = n
	case int64:
		x = float64(n)
	case string:
		return 0, fmt.Errorf("must be a bare number in %s, not the text %q", unit, n)
	default:
		return 0, fmt.Errorf("must be a number in %s, not %s", unit, describe(v))
	}
	if math.IsNaN(x) || x < low || x > high {
		return 0, fmt.Errorf("%v is outside %v to %v %s; is the unit right?", x, low, high, unit)
	}
	return x, nil
}

func whole(low, high int, put func(*Sheet, int)) func(*Sheet, any) error {
	return func(s *Sheet, v any) error {
		n, err := asWhole(v, low, high)
		if err == nil {
			put(s, n)
		}
		return err
	}
}

func asWhole(v any, low, high int) (int, error) {
	n, ok := v.(int64)
	if !ok {
		return 0, fmt.Errorf("must be a whole number, not %s", describe(v))
	}
	if n < int64(low) || n > int64(high) {
		return 0, fmt.Errorf("%d is outside %d to %d", n, low, high)
	}
	return int(n), nil
}

func oneOf(words []string, put func(*Sheet, string)) func(*Sheet, any) error {
	return func(s *Sheet, v any) error {
		t, ok := v.(string)
		if !ok || !slices.Contains(words, t) {
			return fmt.Errorf("must be one of %s, not %s", quoted(words), describe(v))
		}
		put(s, t)
		return nil
	}
}

func quoted(words []string) string {
	q := make([]string, len(words))
	for i, w := range words {
		q[i] = `"` + w + `"`
	}
	return strings.Join(q, ", ")
}

// describe says what a TOML value is, for an error.
func describe(v any) string {
	switch x := v.(type) {
	case string:
		if len(x) > 40 {
			return "a long text"
		}
		return fmt.Sprintf("%q", x)
	case int64, float64, bool:
		return fmt.Sprint(x)
	case map[string]any:
		return "a table"
	case []any:
		return "an array"
	}
	return "a date or time"
}
