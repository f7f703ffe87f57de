package jobsheet

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tundish/decode/light"
)

const sheetWithLight = "[job]\nname = \"x\"\ntimezone = \"UTC\"\n[[source]]\nname = \"lamp\"\nkind = \"readings\"\n[light]\n"

func TestLight(t *testing.T) {
	s, err := Parse("job.toml", []byte(sheetWithLight+`
off = { words = "no supply", means = "no-mains" }
rapid = "a reset is taken"
4 = { words = "no flame", means = "lockout", cause = "ignition" }
`))
	if err != nil {
		t.Fatal(err)
	}
	want := light.Table{light.Off: {Words: "no supply", Means: light.NoMains}, light.Rapid: {Words: "a reset is taken"},
		4: {Words: "no flame", Means: light.Lockout, Cause: "ignition"}}
	if d := cmp.Diff(want, s.Light); d != "" {
		t.Error(d)
	}
}

func TestLightErrors(t *testing.T) {
	for _, c := range [][2]string{
		{"21 = \"x\"", "light.21: is no sign of a light"},
		{"04 = \"x\"", "light.04: is no sign of a light"},
		{"blink = \"x\"", "light.blink: is no sign of a light"},
		{"3 = 7", "must be words in quotes"},
		{"3 = { means = \"broken\" }", "means must be one of"},
		{"3 = { means = \"lockout\", cause = \"bad luck\" }", "cause must be one of"},
		{"3 = { cause = \"ignition\" }", "a cause is of a lockout"},
		{"3 = { wrds = \"x\" }", "wrds"},
		{"3 = \"" + strings.Repeat("x", 300) + "\"", "longer than"},
	} {
		_, err := Parse("job.toml", []byte(sheetWithLight+c[0]+"\n"))
		if err == nil || !strings.Contains(err.Error(), c[1]) {
			t.Errorf("%s: got %v, want %q", c[0], err, c[1])
		}
	}
}
