package main

import (
	"context"
	"fmt"
	"slices"

	"tundish/cmd/tundish/cases"
	"tundish/cmd/tundish/scoring"
)

type scoreHealthyCmd struct {
	Seeds        string   `default:"9001-9003" placeholder:"SEEDS" help:"Seeds, as 9001-9003 or 1,5,7 (default: ${default}, which are never used while tuning)."`
	Weeks        int      `placeholder:"N" help:"How many home-weeks, seed by seed over the builds (default: one of each build and seed)."`
	Build        []string `placeholder:"NAME" help:"Only these builds."`
	WithoutBuild []string `placeholder:"NAME" help:"Not these builds."`
	Out          string   `short:"o" placeholder:"FILE.md" help:"Where to write it; else to standard output."`
}

func (c scoreHealthyCmd) Run(ctx context.Context, s *streams) error {
	cfg, err := c.config()
	if err != nil {
		return err
	}
	if c.Out != "" {
		if err := checkFolder(c.Out); err != nil {
			return err
		}
	}
	cfg.Progress = tenths(s.err, "home-weeks judged")
	w, err := scoring.MakeWeeks(ctx, cfg)
	if err != nil {
		return err
	}
	return writeText(s.out, c.Out, w.Markdown(c.command(cfg.Weeks)))
}

func (c scoreHealthyCmd) config() (scoring.WeeksConfig, error) {
	cfg := scoring.WeeksConfig{Wiring: wiring(), Weeks: c.Weeks}
	var err error
	if cfg.Seeds, err = seeds(c.Seeds); err != nil {
		return cfg, err
	}
	if err := knownBuilds(c.Build, c.WithoutBuild); err != nil {
		return cfg, err
	}
	for _, b := range cases.Builds() {
		if (len(c.Build) == 0 || slices.Contains(c.Build, b.Name)) && !slices.Contains(c.WithoutBuild, b.Name) {
			cfg.Builds = append(cfg.Builds, b.Name)
		}
	}
	most := len(cfg.Seeds) * len(cfg.Builds)
	switch {
	case most == 0:
		return cfg, usagef("no build is left")
	case c.Weeks < 0 || c.Weeks > most:
		return cfg, usagef("--weeks: %d seeds on %d builds make up to %d home-weeks, and not %d", len(cfg.Seeds), len(cfg.Builds), most, c.Weeks)
	case c.Weeks == 0:
		cfg.Weeks = most
	}
	return cfg, nil
}

// command is the command line that makes the same table.
func (c scoreHealthyCmd) command(weeks int) string {
	return fmt.Sprintf("`tundish score healthy --weeks %d --seeds %s%s`", weeks, c.Seeds,
		flagWords([]flagList{{"build", c.Build}, {"without-build", c.WithoutBuild}}))
}
