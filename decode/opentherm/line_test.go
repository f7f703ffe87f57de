package opentherm

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestFindFrame(t *testing.T) {
	const f = "C000030A"
	tests := []struct {
		name, line string
		found      bool
	}{
		{"alone", f, true},
		{"line end", f + "\r\n", true},
		{"lower case", "c000030a\n", true},
		{"words around", "bus: C000030A ok\n", true},
		{"punctuation at both edges", "<C000030A>", true},
		{"after an arrow", "→C000030A←", true},
		{"after bytes that are no UTF-8", "\xff\xfeC000030A\xff", true},
		{"escape before it", "\x1b[32mC000030A", false}, // the m touches it
		{"letter before", "xC000030A", false},
		{"letter after", "C000030Ax", false},
		{"digit before", "1C000030A", false},
		{"nine digits", "C000030A0", false},
		{"seven digits", "C000030", false},
		{"underscore before", "_C000030A", false},
		{"underscore after", "C000030A_", false},
		{"letter beyond ASCII before", "éC000030A", false},
		{"letter beyond ASCII after", "C000030Aß", false},
		{"digit beyond ASCII after", "C000030A٣", false},
		{"hexadecimal prefix", "0xC000030A", false},
		{"two frames", "C000030A 40193D80", false},
		{"the same twice", "C000030A C000030A", false},
		{"a frame and a date of eight digits", "20260112 C000030A", false},
		{"a frame and a shorter run", "0300 C000030A", true},
		{"a frame and a longer run", "123456789 C000030A", true},
		{"cut by a blank", "C000 030A", false},
		{"empty", "", false},
		{"line end only", "\r\n", false},
		{"broken rune at the end", "C000030A\xc3", true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, ok := FindFrame([]byte(tt.line), nil)
			if ok != tt.found || ok && got != 0xC000030A {
				t.Errorf("%q: %s, %v; want found %v", tt.line, got, ok, tt.found)
			}
		})
	}
}

func TestFindFrameByPattern(t *testing.T) {
	tests := []struct {
		name, pattern, line string
		found               bool
	}{
		{"letters touch it", `rx(?P<frame>[0-9A-F]{8})x`, "rxC000030Ax\n", true},
		{"second of two", `=> (?P<frame>[0-9A-F]{8})`, "40193D80 => C000030A\n", true},
		{"end of the line", `^\d+ (?P<frame>[0-9A-Fa-f]{8})$`, "17 c000030a\r\n", true},
		{"group by the other notation", `(?<frame>[0-9A-F]{8})`, "C000030A", true},
		{"no match", `=> (?P<frame>[0-9A-F]{8})`, "C000030A\n", false},
		{"group too short", `(?P<frame>[0-9A-F]{6})`, "C000030A\n", false},
		{"group not hexadecimal", `(?P<frame>.{8})`, "no frame in here\n", false},
		{"group took no part", `C000030A|(?P<frame>[0-9]{8})`, "C000030A\n", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			re, err := CompilePattern(tt.pattern)
			if err != nil {
				t.Fatal(err)
			}
			got, ok := FindFrame([]byte(tt.line), re)
			if ok != tt.found || ok && got != 0xC000030A {
				t.Errorf("%q: %s, %v; want found %v", tt.line, got, ok, tt.found)
			}
		})
	}
	for _, bad := range []string{`(`, `[0-9A-F]{8}`, `(?P<Frame>.{8})`} {
		if re, err := CompilePattern(bad); err == nil {
			t.Errorf("the pattern %q is accepted as %v", bad, re)
		}
	}
	if re, err := CompilePattern(""); re != nil || err != nil {
		t.Errorf("the empty pattern gives %v, %v", re, err)
	}
}

var (
	wordRule   = regexp.MustCompile(`[\pL\p{Nd}_]+`)
	digitsRule = regexp.MustCompile(`^[0-9A-Fa-f]{8}$`)
)

// oracle is the rule of an adapter's line said another way: cut the line into words, count those of 8 digits.
func oracle(line string) (string, bool) {
	var found []string
	for _, w := range wordRule.FindAllString(line, -1) {
		if digitsRule.MatchString(w) {
			found = append(found, w)
		}
	}
	if len(found) != 1 {
		return "", false
	}
	return found[0], true
}

func agree(t interface{ Fatalf(string, ...any) }, line []byte) {
	want, ok := oracle(string(line))
	got, found := FindFrame(line, nil)
	if found != ok || found && got.String() != strings.ToUpper(want) {
		t.Fatalf("%q: %s, %v; want %q, %v", line, got, found, want, ok)
	}
}

func TestFindFrameAgreesWithItsRule(t *testing.T) {
	piece := rapid.SampledFrom([]string{"C000030A", "40193d80", "1234567", "_", " ", "x", "é", "→", "\xff", "٣", "0", "\n", "\r\n"})
	rapid.Check(t, func(t *rapid.T) {
		agree(t, []byte(strings.Join(rapid.SliceOfN(piece, 0, 6).Draw(t, "pieces"), "")))
	})
}

func FuzzFindFrame(f *testing.F) {
	for _, w := range worked {
		f.Add([]byte(w.hex + "\r\n"))
	}
	f.Add([]byte("bus 1: C000030A/40193D80"))
	f.Add([]byte("\xc3C000030A\xe2\x86"))
	f.Fuzz(func(t *testing.T, line []byte) {
		before := bytes.Clone(line)
		agree(t, line)
		if !bytes.Equal(line, before) {
			t.Fatalf("the line was changed: %q, %q", before, line)
		}
	})
}
