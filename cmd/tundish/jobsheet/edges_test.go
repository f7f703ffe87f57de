package jobsheet

import (
	"strings"
	"testing"

	"tundish/decode/opentherm"
)

func TestEdges(t *testing.T) {
	const head = "[job]\nname = \"x\"\ntimezone = \"UTC\"\n"
	const boiler = "[[source]]\nname = \"boiler\"\nkind = \"opentherm-edges\"\n"
	const other = "[[source]]\nname = \"other\"\nkind = \"opentherm-edges\"\n"
	s, err := Parse("job.toml", []byte(head+boiler+"port = \"/dev/x\"\nbaud = 115200\nraise_lines = true\ntime = \"counter\"\npattern = 't(?P<us>\\d+)'\n"+other+"same_bus_as = \"boiler\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	b, o := s.Sources[0], s.Sources[1]
	if b.Edges == nil || *b.Edges != (Edges{Time: opentherm.Counter, Pattern: `t(?P<us>\d+)`}) || b.Port != "/dev/x" || b.Baud != 115200 || !b.RaiseLines || b.Pattern != "" {
		t.Errorf("%+v %+v", b, b.Edges)
	}
	if o.Edges == nil || *o.Edges != (Edges{SameBus: "boiler"}) {
		t.Errorf("%+v", o.Edges)
	}
	for text, want := range map[string]string{
		boiler + "time = \"sometimes\"\n":                                                 `job.toml:7: source[0].time: must be one of "since-change", "since-any-change", "counter"`,
		boiler + "time = 1\n":                                                             "source[0].time: must be one of",
		boiler + "pattern = '(?P<frame>\\d+)'\n":                                          "no group named us",
		boiler + "tiem = \"counter\"\n":                                                   "did you mean time?",
		boiler + "same_bus_as = \"nobody\"\n":                                             `job.toml:7: source[0].same_bus_as: there is no source "nobody"`,
		boiler + "same_bus_as = \"boiler\"\n":                                             "is the source itself",
		boiler + "same_bus_as = \"p\"\n[[source]]\nname = \"p\"\nkind = \"one-wire\"\n":   `source "p" is of kind "one-wire"`,
		boiler + "same_bus_as = \"other\"\n" + other + "same_bus_as = \"boiler\"\n":       "only one of the two may",
		"[[source]]\nname = \"boiler\"\nkind = \"opentherm\"\npattern = '(?P<us>\\d+)'\n": "no group named frame",
		"[[source]]\nname = \"boiler\"\nkind = \"opentherm\"\ntime = \"counter\"\n":       "unknown key",
	} {
		if _, err := Parse("job.toml", []byte(head+text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v; want %q", text, err, want)
		}
	}
}
