package housefile

import (
	"strings"
	"testing"

	"tundish/analyse/building"
	"tundish/analyse/emitter"
	"tundish/analyse/water"
)

// A mixture is taken only where the file names it with its share, and its figures only where they are known.
func TestGlycol(t *testing.T) {
	for name, c := range map[string]struct {
		text, wrong string
		want        water.Liquid
	}{
		"water":              {},
		"propylene":          {text: "[glycol]\nname = \"propylene\"\nshare_percent = 30\n", want: water.PropyleneGlycol30},
		"ethylene":           {text: "[glycol]\nname = \"ethylene\"\nshare_percent = 30\n", want: water.EthyleneGlycol30},
		"another share":      {text: "[glycol]\nname = \"propylene\"\nshare_percent = 25\n", wrong: "glycol: density_kg_m3: is missing, with heat_kj_kgk: only 30 %"},
		"another name":       {text: "[glycol]\nname = \"brine\"\nshare_percent = 30\n", wrong: "glycol: density_kg_m3: is missing"},
		"no share":           {text: "[glycol]\nname = \"propylene\"\n", wrong: "house.toml:1: glycol: share_percent: is missing"},
		"no name":            {text: "[glycol]\nshare_percent = 30\n", wrong: "glycol: name: is missing"},
		"a share as a part":  {text: "[glycol]\nname = \"propylene\"\nshare_percent = 0\n", wrong: "house.toml:3: glycol: share_percent: 0 is not above 0"},
		"half a data sheet":  {text: "[glycol]\nname = \"propylene\"\nshare_percent = 25\ndensity_kg_m3 = 1010\n", wrong: "specific heat of 25 % propylene glycol is 0"},
		"heat in joules":     {text: "[glycol]\nname = \"propylene\"\nshare_percent = 25\ndensity_kg_m3 = 1010\nheat_kj_kgk = 3900\n", wrong: "specific heat"},
		"an unknown key":     {text: "[glycol]\nname = \"propylene\"\nshare = 30\n", wrong: "house.toml:3: glycol: share: unknown key"},
		"by its data sheet":  {text: "[glycol]\nname = \"brine\"\nshare_percent = 25\ndensity_kg_m3 = 1010\nheat_kj_kgk = 3.9\nviscosity_mpas = 1.2\nsource = \"data sheet of 2024\"\n", want: water.Liquid{Name: "25 % brine", DensityKgM3: 1010, HeatKJKgK: 3.9, ViscosityMPaS: 1.2, Source: "data sheet of 2024"}},
		"not a table":        {text: "glycol = 30\n", wrong: "house.toml:1: glycol: must be a table"},
		"a mean of no kind":  {text: "excess_mean = \"geometric\"\n", wrong: `house.toml:1: excess_mean: "geometric" is no mean: arithmetic or logarithmic`},
		"a mean as a number": {text: "excess_mean = 1\n", wrong: "house.toml:1: excess_mean: must be a text"},
	} {
		text := c.text + sound
		if strings.HasPrefix(c.text, "[") { // a table ends where the next begins
			text = c.text + strings.TrimPrefix(sound, "outside_c = -3.0\n")
		}
		f, err := Parse("house.toml", []byte(text))
		if strings.HasPrefix(c.text, "[") && c.wrong == "" {
			f, err = Parse("house.toml", []byte(sound+c.text))
		}
		switch {
		case c.wrong != "":
			if err == nil || !strings.Contains(err.Error(), c.wrong) {
				t.Errorf("%s: %v, want %q", name, err, c.wrong)
			}
		case err != nil:
			t.Errorf("%s: %v", name, err)
		default:
			loss, err := building.Compute(&f.House)
			if err != nil {
				t.Fatal(err)
			}
			if got := f.System(loss).Liquid; got != c.want {
				t.Errorf("%s: %+v, want %+v", name, got, c.want)
			}
		}
	}
}

func TestMean(t *testing.T) {
	for text, want := range map[string]emitter.Mean{"": emitter.ByRule, "excess_mean = \"arithmetic\"\n": emitter.Arithmetic, "excess_mean = \"logarithmic\"\n": emitter.Logarithmic} {
		f, err := Parse("house.toml", []byte(text+sound))
		if err != nil || f.Mean != want {
			t.Errorf("%q: %v, %v", text, f, err)
		}
	}
}
