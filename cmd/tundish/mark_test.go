package main

import (
	"strings"
	"testing"
	"time"
)

func TestMarkText(t *testing.T) {
	for text, want := range map[string]string{
		"reset pressed": "", "Störung – kein Warmwasser": "", strings.Repeat("x", longestMark): "",
		"":                                 "is empty",
		"a\x1b[2J":                         "control character U+001B",
		"two\nlines":                       "control character U+000A",
		"turned \u202e round":              "control character U+202E",
		"\xff":                             "not UTF-8",
		strings.Repeat("ä", longestMark+1): "301 characters, at most 300",
	} {
		err := markText(text)
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%.20q: %v, want %q", text, err, want)
		}
	}
}

// The clocks of Europe/London in 2026 go forward on 29 March at 01:00 UTC and back on 25 October at 01:00 UTC (IANA time zone data).
func TestMarkTime(t *testing.T) {
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ text, want string }{
		{"2026-01-13 06:41", "2026-01-13T06:41:00Z"},
		{"2026-07-13 06:41:30", "2026-07-13T05:41:30Z"},
		{"2026-01-13T06:41:00+01:00", "2026-01-13T05:41:00Z"},
		{"2026-03-29 00:59", "2026-03-29T00:59:00Z"},
		{"2026-03-29 02:00", "2026-03-29T01:00:00Z"},
		{"2026-10-25 02:00", "2026-10-25T02:00:00Z"},
		{"2026-03-29 01:00", "never was"}, {"2026-10-25 01:00", "was twice"}, {"2026-13-01 06:00", "is no time"}, {"06:41", "is no time"},
		{"1969-01-01T00:00:00Z", "the year must be"},
	} {
		at, err := markTime(c.text, london)
		got := at.UTC().Format(time.RFC3339)
		if err != nil {
			got = err.Error()
		}
		if got != c.want && (err == nil || !strings.Contains(got, c.want)) {
			t.Errorf("%s is %s, want %s", c.text, got, c.want)
		}
	}
}
