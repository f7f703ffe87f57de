package main

import (
	"context"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"
	"time"

	"tundish/cmd/tundish/cases"
	"tundish/cmd/tundish/jobsheet"
	"tundish/cmd/tundish/scoring"
	"tundish/decode"
)

type scoreFindingsCmd struct {
	Seeds        string   `default:"9001-9003" placeholder:"SEEDS" help:"Seeds, as 9001-9003 or 1,5,7 (default: ${default}, which are never used while tuning)."`
	Case         []string `placeholder:"GLOB" help:"Only cases of these names; * stands for any letters."`
	About        []string `placeholder:"KIND" help:"Only cases that are meant to have one of these kinds or to look like it, and sound homes."`
	Kind         []string `placeholder:"KIND" help:"Tell only of these kinds."`
	Build        []string `placeholder:"NAME" help:"Only cases on these builds."`
	WithoutBuild []string `placeholder:"NAME" help:"No cases on these builds."`
	Elsewhere    bool     `help:"Instead of the library's homes: every way of the library on the builds that are left out of tuning."`
	Worse        []string `placeholder:"NAME" help:"Also with a worse set-up, as probes-60s (a name that is not there tells the names); all: with each of them."`
	Verbose      bool     `help:"Add a line for each wrong answer."`
	Out          string   `short:"o" placeholder:"FILE.md" help:"Where to write it; else to standard output."`
}

func (c scoreFindingsCmd) Run(ctx context.Context, s *streams) error {
	cfg, err := c.config()
	if err != nil {
		return err
	}
	if c.Out != "" {
		if err := checkFolder(c.Out); err != nil {
			return err
		}
	}
	cfg.Progress = tenths(s.err, "homes judged")
	f, err := scoring.MakeFindings(ctx, cfg)
	if err != nil {
		return err
	}
	text := f.Markdown(c.command())
	if wrong := f.Wrong(); c.Verbose && wrong != "" {
		text += "\n## Wrong answers\n\n```\n" + wrong + "```\n"
	}
	return writeText(s.out, c.Out, text)
}

// wiring lends the program's own checks and decoders.
func wiring() scoring.Wiring {
	return scoring.Wiring{
		Checks: checks,
		Bus:    func(s *jobsheet.Source) bool { return kindOf(s).bus },
		Decoder: func(s *jobsheet.Source, sheet *jobsheet.Sheet) (decode.Decoder, error) {
			return kindOf(s).decode(s, sheet)
		},
		Sensors: (*jobsheet.Sheet).Sensors,
	}
}

// tenths tells the progress ten times in all.
func tenths(w io.Writer, what string) func(done, total int) {
	began, told := time.Now(), 0
	return func(done, total int) {
		if tenth := 10 * done / total; tenth > told {
			told = tenth
			fmt.Fprintf(w, "%d of %d %s after %s\n", done, total, what, time.Since(began).Round(time.Second))
		}
	}
}

// writeText writes to a file, or where none is named to out.
func writeText(out io.Writer, file, text string) error {
	if file == "" {
		_, err := io.WriteString(out, text)
		return err
	}
	return writeAside(file, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	})
}

// command is the command line that makes the same table.
func (c scoreFindingsCmd) command() string {
	words := "`tundish score findings --seeds " + c.Seeds
	if c.Elsewhere {
		words += " --elsewhere"
	}
	words += flagWords([]flagList{{"case", c.Case}, {"about", c.About}, {"kind", c.Kind}, {"build", c.Build},
		{"without-build", c.WithoutBuild}, {"worse", c.Worse}})
	if c.Verbose {
		words += " --verbose"
	}
	return words + "`"
}

// flagList is a flag with all its values.
type flagList struct {
	name   string
	values []string
}

// flagWords writes flags as they were given.
func flagWords(list []flagList) (words string) {
	for _, f := range list {
		if len(f.values) > 0 {
			words += " --" + f.name + " " + shellWord(strings.Join(f.values, ","))
		}
	}
	return words
}

// shellWord quotes what a shell would read as more than a word.
func shellWord(x string) string {
	if strings.ContainsAny(x, "*?[] ") {
		return "'" + x + "'"
	}
	return x
}

func (c scoreFindingsCmd) config() (scoring.FindingsConfig, error) {
	cfg := scoring.FindingsConfig{Wiring: wiring(), Kinds: c.Kind, Moved: c.Elsewhere}
	var err error
	if cfg.Seeds, err = seeds(c.Seeds); err != nil {
		return cfg, err
	}
	for _, k := range slices.Concat(c.Kind, c.About) {
		if _, err := checkOf(k); err != nil {
			return cfg, err
		}
	}
	if err := knownBuilds(c.Build, c.WithoutBuild); err != nil {
		return cfg, err
	}
	for _, g := range c.Case {
		if _, err := path.Match(g, ""); err != nil {
			return cfg, usagef("--case: %q is no pattern: %v", g, err)
		}
	}
	if cfg.Worse, err = variants(c.Worse); err != nil {
		return cfg, err
	}
	list := cases.All()
	if c.Elsewhere {
		list = scoring.Elsewhere(scoring.LeftOut())
	}
	for _, x := range list {
		if c.wants(x) {
			cfg.Cases = append(cfg.Cases, x)
		}
	}
	if len(cfg.Cases) == 0 {
		return cfg, hinted{usagef("no case is left to score"), `"tundish simulate --list" shows the cases`}
	}
	return cfg, nil
}

// wants tells whether a case is asked for.
func (c scoreFindingsCmd) wants(x cases.Case) bool {
	named := func(g string) bool { ok, _ := path.Match(g, x.Name); return ok }
	about := func(kind string) bool {
		return x.Healthy() || x.LookAlikeOf == kind || slices.Contains(x.Intended, kind)
	}
	return (len(c.Case) == 0 || slices.ContainsFunc(c.Case, named)) &&
		(len(c.About) == 0 || slices.ContainsFunc(c.About, about)) &&
		(len(c.Build) == 0 || slices.Contains(c.Build, x.Build)) && !slices.Contains(c.WithoutBuild, x.Build)
}

// knownBuilds refuses names that no build has.
func knownBuilds(lists ...[]string) error {
	var names []string
	for _, b := range cases.Builds() {
		names = append(names, b.Name)
	}
	for _, b := range slices.Concat(lists...) {
		if !slices.Contains(names, b) {
			return usagef("no build is called %q; there are %s", b, strings.Join(names, ", "))
		}
	}
	return nil
}

// variants finds worse set-ups by their names.
func variants(names []string) (list []scoring.Variant, err error) {
	all := scoring.Variants()
	if slices.Equal(names, []string{"all"}) {
		return all, nil
	}
	for _, name := range names {
		i := slices.IndexFunc(all, func(v scoring.Variant) bool { return v.Name == name })
		if i < 0 {
			return nil, usagef("--worse: no set-up is called %q; there are %s", name, variantNames())
		}
		list = append(list, all[i])
	}
	return list, nil
}

func variantNames() string {
	var names []string
	for _, v := range scoring.Variants() {
		names = append(names, v.Name)
	}
	return strings.Join(names, ", ")
}
