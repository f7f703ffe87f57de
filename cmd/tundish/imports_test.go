package main

import (
	"encoding/json"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// allowed says which packages of ours each package may import: data flows capture → decode → analyse → dashboards,
// imports go the other way, and cmd wires. A name that ends in "/" stands for everything below it. Test packages
// (…test) may be imported by tests only, which this list leaves aside.
var allowed = map[string][]string{
	"capture":               {},
	"capture/capfile":       {"capture"},
	"capture/":              {"capture"},
	"decode":                {"capture"},
	"decode/unit":           {},
	"decode/":               {"capture", "decode", "decode/unit"},
	"analyse/episode":       {"decode", "decode/unit"},
	"analyse":               {"decode", "decode/unit", "analyse/episode"},
	"analyse/water":         {},
	"analyse/assume":        {},
	"analyse/fuel":          {"analyse/water"},
	"analyse/emitter":       {"analyse/assume", "analyse/water"},
	"analyse/":              {"analyse", "analyse/assume", "analyse/emitter", "analyse/episode", "analyse/fuel", "analyse/water", "decode", "decode/unit"},
	"dashboards/":           {"analyse", "analyse/", "decode", "decode/"},
	"cmd/tundish/jobsheet":  {"analyse", "analyse/episode", "capture/readingscsv", "decode", "decode/"},
	"cmd/tundish/housefile": {"analyse/building", "analyse/emitter", "analyse/water", "cmd/tundish/jobsheet"},
	"cmd/tundish/house":     {"capture", "capture/", "decode", "decode/", "analyse/episode"},
	"cmd/tundish/scoring":   {"analyse", "analyse/episode", "capture", "cmd/tundish/cases", "cmd/tundish/house", "cmd/tundish/jobsheet", "decode", "decode/"},
	"cmd/tundish/cases":     {"cmd/tundish/house", "analyse/episode", "capture"},
	"cmd/tundish":           {"analyse", "analyse/", "capture", "capture/", "cmd/tundish/", "dashboards/", "decode", "decode/"},
}

func TestDirectionOfImports(t *testing.T) {
	out, err := exec.CommandContext(t.Context(), "go", "list", "-json=ImportPath,Imports", "tundish/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := dec.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		name, ours := strings.CutPrefix(p.ImportPath, "tundish/")
		if !ours {
			continue
		}
		seen++
		rule, ok := ruleFor(name)
		if !ok {
			t.Errorf("%s has no place in the architecture: say in allowed what it may import", name)
			continue
		}
		for _, i := range p.Imports {
			if other, ours := strings.CutPrefix(i, "tundish/"); ours && !permits(rule, other) {
				t.Errorf("%s imports %s; it may import %v", name, other, rule)
			}
			if (strings.HasPrefix(name, "decode") || strings.HasPrefix(name, "analyse")) && !strings.HasSuffix(name, "test") &&
				slices.Contains([]string{"os", "net", "net/http", "log", "log/slog", "math/rand", "math/rand/v2", "sync"}, i) {
				t.Errorf("%s imports %s: decode and analyse do no I/O, log nothing and start nothing", name, i)
			}
		}
	}
	if seen < 10 {
		t.Errorf("only %d packages were seen", seen)
	}
}

func ruleFor(name string) ([]string, bool) {
	if r, ok := allowed[name]; ok {
		return r, true
	}
	for i := strings.LastIndexByte(name, '/'); i > 0; i = strings.LastIndexByte(name[:i], '/') {
		if r, ok := allowed[name[:i+1]]; ok {
			return r, true
		}
	}
	return nil, false
}

func permits(rule []string, other string) bool {
	return slices.ContainsFunc(rule, func(r string) bool {
		return r == other || strings.HasSuffix(r, "/") && strings.HasPrefix(other, r)
	})
}
