package report

import (
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tundish/analyse"
)

// kindWords are the headings of the kinds. A kind that is not here is printed by its own name.
var kindWords = map[string]string{
	"short-cycling":      "Short cycling",
	"low-delta-t":        "Small flow–return difference",
	"high-delta-t":       "Large flow–return difference",
	"oversized":          "Output far above the need",
	"lockout":            "Lockout",
	"ignition-retries":   "Ignition took several attempts",
	"demand-not-met":     "Heat asked for, not given",
	"no-circulation":     "Water not circulating",
	"not-condensing":     "Not condensing",
	"flow-overshoot":     "Flow runs past its set-point",
	"pressure-loss":      "System pressure falls",
	"pressure-swing":     "Pressure swings with temperature",
	"probe-disagreement": "Sensors disagree",
	"sensor-fault":       "Sensor values that water cannot have",
	"cylinder-too-cool":  "Stored hot water too cool",
	"bus-silence":        "Appliance's bus silent",
}

// kindTitle is the heading of a kind.
func kindTitle(kind string) string {
	if w, ok := kindWords[kind]; ok {
		return w
	}
	return capital(strings.ReplaceAll(cleanText(kind), "-", " "))
}

// causeWords are the causes whose names do not read as words. The name itself stays beside them.
var causeWords = map[string]string{
	"ignition":      "no ignition",
	"flame-loss":    "flame lost while burning",
	"overheat":      "overheating",
	"low-pressure":  "water pressure too low",
	"sensor":        "sensor",
	"air-pressure":  "air pressure or flue",
	"unknown":       "cause not known",
	"oversized":     "least output above what the circuit takes",
	"closed-valves": "too little water moving (closed valves)",
	"control":       "control (thermostat, differential, no anti-cycle time)",
}

// sourceKinds are the kinds of source in words.
var sourceKinds = map[string]string{
	"opentherm":       "OpenTherm bus, through an adapter",
	"opentherm-edges": "OpenTherm bus, level changes",
	"one-wire":        "1-Wire temperature probes",
	"mqtt":            "MQTT messages",
	"modbus-rtu":      "Modbus RTU",
	"modbus-tcp":      "Modbus TCP",
	"m-bus":           "M-Bus",
	"readings":        "values that arrived as a file",
	"simulated":       "simulated, not measured",
}

func sourceKind(kind string) string {
	if w, ok := sourceKinds[kind]; ok {
		return w
	}
	return cleanText(kind)
}

func causeText(cause string) string {
	if w, ok := causeWords[cause]; ok {
		return w
	}
	return strings.ReplaceAll(cleanText(cause), "-", " ")
}

func severityWord(s analyse.Severity) string {
	switch s {
	case analyse.Act:
		return "Act"
	case analyse.Advise:
		return "Advice"
	case analyse.Note:
		return "Note"
	}
	return "Severity not stated"
}

func severityMeaning(s analyse.Severity) string {
	switch s {
	case analyse.Act:
		return "no heat, harm or damage, or likely to come to that"
	case analyse.Advise:
		return "costs money or wears the plant"
	case analyse.Note:
		return "worth knowing"
	}
	return "its severity is not stated"
}

// supportWord says in words how well the record supports a cause. Bounds: own proposal.
func supportWord(v float64) string {
	const strong, fair = 0.7, 0.4
	switch {
	case v >= strong:
		return "strong"
	case v >= fair:
		return "fair"
	}
	return "weak"
}

func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 || r == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// lowerFirst begins with a small letter, for words that stand inside a sentence.
func lowerFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 || r == utf8.RuneError {
		return s
	}
	return string(unicode.ToLower(r)) + s[n:]
}

// changeWords prints by how much clocks are put forward or back: "+1 h", "−1 h".
func changeWords(by time.Duration) string {
	if by < 0 {
		return "−" + clockSpan(-by)
	}
	return "+" + clockSpan(by)
}

// clockSpan prints whole hours as hours, other changes in minutes.
func clockSpan(d time.Duration) string {
	if d%time.Hour == 0 {
		return fmt.Sprintf("%d\u00a0h", d/time.Hour)
	}
	return fmt.Sprintf("%d\u00a0min", d/time.Minute)
}

// clock prints times in the job's zone. Where the record holds a change of the clocks, each time names which of
// the two clocks it is by, because one hour then comes twice.
type clock struct {
	zone  *time.Location
	named bool
}

func newClock(from, to time.Time, zone *time.Location) clock {
	return clock{zone, len(clockChanges(from, to, zone)) > 0}
}

func (c clock) format(t time.Time, layout string) string {
	if t.IsZero() {
		return "not known"
	}
	if c.named {
		layout += " MST"
	}
	return t.In(c.zone).Format(layout)
}

func (c clock) full(t time.Time) string { return c.format(t, "Mon 2 Jan 2006, 15:04:05") }
func (c clock) row(t time.Time) string  { return c.format(t, "2 Jan 2006 15:04:05") }

// cleanText makes foreign text safe to print on one line: white space becomes a space; control characters and those
// that turn the direction of what follows become a visible mark, so that nothing vanishes and nothing is disguised.
func cleanText(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '\n' || r == '\r' || r == '\t' || r == '\v' || r == '\f' || r == '\u2028' || r == '\u2029':
			b.WriteByte(' ')
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r), r >= 0xFFF9 && r < 0xFFFD, r == '\ufeff':
			b.WriteRune(unicode.ReplacementChar)
		default:
			b.WriteRune(r) // a broken byte arrives here as the replacement character already
		}
	}
	return strings.TrimSpace(b.String())
}
