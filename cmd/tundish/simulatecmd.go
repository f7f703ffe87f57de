package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tundish/cmd/tundish/cases"
	"tundish/cmd/tundish/house"
)

type simulateCmd struct {
	Case string `arg:"" optional:"" help:"A case of the library or a scenario of the house; --list shows them."`
	Seed uint64 `default:"1" help:"Another seed is another winter and another family."`
	Into string `placeholder:"DIR" help:"Folder for the files; it is made if it is missing. Nothing is overwritten."`
	Days int    `placeholder:"N" help:"Only so many days of it (default: as many as the case has)."`
	List bool   `help:"List the cases, a line each."`
}

const truthFile = "truth.json"

// simulatedFiles are what the command may write, those to import first.
var simulatedFiles = []string{house.FileJob, house.FileBus, house.FileProbes, truthFile}

// simCase is something that can be simulated.
type simCase struct {
	name, doc string
	make      func(seed uint64) house.Scenario
	judge     func(house.Scenario) labeller // nil: its kinds are not labelled
}

// labeller follows a simulation and then labels every kind.
type labeller struct {
	second func(*house.State)
	labels func(house.Truth) []labelJSON
}

// simCases are all that can be simulated.
func simCases() []simCase {
	var all []simCase
	for _, c := range cases.All() {
		all = append(all, simCase{name: c.Name, doc: c.Doc, make: c.Scenario, judge: func(s house.Scenario) labeller {
			o := cases.NewObserver(s)
			return labeller{o.Second, func(t house.Truth) []labelJSON { return newLabels(s, cases.Labels(c, s, t, o.Measures())) }}
		}})
	}
	for _, s := range house.Scenarios() {
		all = append(all, simCase{name: s.Name, doc: s.Doc, make: func(uint64) house.Scenario { return s }})
	}
	return all
}

func (c simulateCmd) Run(ctx context.Context, s *streams) error {
	all := simCases()
	if c.List {
		return listCases(s.out, all)
	}
	what, err := c.find(all)
	if err != nil {
		return err
	}
	made, err := c.makeFolder()
	if err != nil {
		return err
	}
	truth, err := c.write(ctx, s.err, what)
	if err != nil {
		if made {
			_ = os.Remove(c.Into) // only where it is empty; the error to tell is the other one
		}
		return err
	}
	_, err = fmt.Fprintf(s.out, "%s, seed %d, in %s: %s, %s, %s\n", what.name, c.Seed, c.Into, count(int(truth.Ended.Hours()), "hour"),
		count(len(truth.Firings), "firing"), count(len(truth.Lockouts), "lockout"))
	return err
}

func (c simulateCmd) find(all []simCase) (simCase, error) {
	const hint = `"tundish simulate --list" shows the cases`
	if c.Case == "" {
		return simCase{}, hinted{usagef("no case is named"), hint}
	}
	i := slices.IndexFunc(all, func(x simCase) bool { return x.name == c.Case })
	if i < 0 {
		text := fmt.Sprintf("no case is called %q", c.Case)
		if near := nearNames(c.Case, all); len(near) > 0 {
			text += "; near it are " + strings.Join(near, ", ")
		}
		return simCase{}, hinted{usagef("%s", text), hint}
	}
	if c.Days < 0 {
		return simCase{}, usagef("--days: %d days are no record; give 1 or more", c.Days)
	}
	if c.Into == "" {
		return simCase{}, hinted{usagef("no folder is named"), "say where the files shall go with --into DIR"}
	}
	return all[i], nil
}

// makeFolder makes the folder where it is missing, and refuses one that holds a file of those names.
func (c simulateCmd) makeFolder() (made bool, err error) {
	for _, name := range simulatedFiles {
		if path := filepath.Join(c.Into, name); exists(path) {
			return false, hinted{usagef("%s exists: simulate overwrites nothing", path), "name another folder with --into DIR"}
		}
	}
	if exists(c.Into) {
		return false, nil
	}
	return true, os.MkdirAll(c.Into, 0o755)
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// write simulates aside, in a folder of its own, and moves the files to their place when all are whole.
func (c simulateCmd) write(ctx context.Context, errw io.Writer, what simCase) (truth house.Truth, err error) {
	aside, err := os.MkdirTemp(c.Into, asideName(c.Into)+"*")
	if err != nil {
		return truth, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(aside)) }()
	scenario := what.make(c.Seed)
	if c.Days > 0 {
		scenario.Days = c.Days
	}
	bar := newProgress(errw, "simulating", int64(scenario.Days)*24*60)
	defer bar.end()
	l := house.Listener{Progress: bar.minutes}
	var j labeller
	if what.judge != nil {
		j = what.judge(scenario)
		l.Second = j.second
	}
	if truth, err = scenario.WriteFiles(ctx, c.Seed, aside, l); err != nil {
		return truth, err
	}
	told := newTruthJSON(what, c.Seed, scenario, truth)
	if j.labels != nil {
		told.Labels = j.labels(truth)
	}
	if err := writeAside(filepath.Join(aside, truthFile), told.write); err != nil {
		return truth, err
	}
	return truth, moveAll(aside, c.Into)
}

// moveAll moves the files of a folder into another; after an error none of them is left there.
func moveAll(from, to string) error {
	entries, err := os.ReadDir(from)
	if err != nil {
		return err
	}
	for i, e := range entries {
		if err := os.Rename(filepath.Join(from, e.Name()), filepath.Join(to, e.Name())); err != nil {
			for _, done := range entries[:i] {
				_ = os.Remove(filepath.Join(to, done.Name()))
			}
			return err
		}
	}
	syncFolder(filepath.Join(to, truthFile))
	return nil
}

func listCases(w io.Writer, all []simCase) error {
	wide := 0
	for _, x := range all {
		wide = max(wide, len(x.name))
	}
	for _, x := range all {
		if _, err := fmt.Fprintf(w, "%-*s  %s\n", wide, x.name, x.doc); err != nil {
			return err
		}
	}
	return nil
}

// mostNear is how many names are offered for one that is not there.
const mostNear = 5

// nearNames are the names that look most like a word: those that hold it, and those that share half of their pairs of
// letters with it (the Dice coefficient). Own proposal.
func nearNames(word string, all []simCase) []string {
	type scored struct {
		name  string
		alike float64
	}
	var list []scored
	for _, x := range all {
		w := strings.ToLower(word)
		if a := alike(w, x.name); a >= 0.5 || len(w) > 2 && strings.Contains(x.name, w) {
			list = append(list, scored{x.name, a})
		}
	}
	slices.SortStableFunc(list, func(a, b scored) int { return cmp.Compare(b.alike, a.alike) })
	var out []string
	for _, x := range list[:min(mostNear, len(list))] {
		out = append(out, x.name)
	}
	return out
}

// alike is twice the number of shared pairs of letters over the number of all, 0…1.
func alike(a, b string) float64 {
	if len(a) < 2 || len(b) < 2 {
		return 0
	}
	have := map[string]int{}
	for i := range len(a) - 1 {
		have[a[i:i+2]]++
	}
	shared := 0
	for i := range len(b) - 1 {
		if p := b[i : i+2]; have[p] > 0 {
			have[p]--
			shared++
		}
	}
	return 2 * float64(shared) / float64(len(a)+len(b)-2)
}
