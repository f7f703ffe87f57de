package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"tundish/cmd/tundish/scoring"
)

type scoreCmd struct {
	Episodes scoreEpisodesCmd `cmd:"" help:"How far the episodes can be trusted: what is told of simulated houses against what was done to them, as a table (Markdown)."`
	Findings scoreFindingsCmd `cmd:"" help:"How right the findings are: what is said of the library's homes against what is true of them, as tables (Markdown)."`
	Healthy  scoreHealthyCmd  `cmd:"" help:"What is wrongly found at sound homes, over many home-weeks."`
}

type scoreEpisodesCmd struct {
	Seeds string   `default:"9001-9003" placeholder:"SEEDS" help:"Seeds, as 9001-9003 or 1,5,7 (default: ${default}, which are never used while tuning)."`
	Days  int      `default:"2" help:"Days of each record."`
	Plant []string `placeholder:"NAME" help:"Only these kinds of plant."`
	Out   string   `short:"o" placeholder:"FILE.md" help:"Where to write it; else to standard output."`
}

// mostSeeds bounds what one command measures. Own proposal.
const mostSeeds = 1000

func (c scoreEpisodesCmd) Run(ctx context.Context, s *streams) error {
	cfg, err := c.config()
	if err != nil {
		return err
	}
	if c.Out != "" {
		if err := checkFolder(c.Out); err != nil {
			return err
		}
	}
	cfg.Progress = tenths(s.err, "ways to listen measured")
	table, err := scoring.Make(ctx, cfg)
	if err != nil {
		return err
	}
	return writeText(s.out, c.Out, table.Markdown(c.command()))
}

// command is the command line that makes the same table.
func (c scoreEpisodesCmd) command() string {
	words := fmt.Sprintf("`tundish score episodes --seeds %s --days %d", c.Seeds, c.Days)
	for _, p := range c.Plant {
		words += " --plant " + strconv.Quote(p)
	}
	return words + "`"
}

func (c scoreEpisodesCmd) config() (scoring.Config, error) {
	cfg := scoring.Config{Plants: scoring.Plants(), Days: c.Days}
	if c.Days < 1 {
		return cfg, usagef("--days: %d days are no record; give 1 or more", c.Days)
	}
	var err error
	if cfg.Seeds, err = seeds(c.Seeds); err != nil {
		return cfg, err
	}
	if len(c.Plant) == 0 {
		return cfg, nil
	}
	var names []string
	known := map[string]scoring.Plant{}
	for _, p := range cfg.Plants {
		names, known[p.Name] = append(names, p.Name), p
	}
	cfg.Plants = nil
	for _, name := range c.Plant {
		p, ok := known[name]
		if !ok {
			return cfg, usagef("--plant: no kind of plant is called %q; there are %s", name, strings.Join(names, "; "))
		}
		cfg.Plants = append(cfg.Plants, p)
	}
	return cfg, nil
}

// seeds reads a list such as 9001-9003,17.
func seeds(text string) ([]uint64, error) {
	wrong := usagef("--seeds: %q is no list of seeds; write 9001-9003 or 1,5,7, at most %d", text, mostSeeds)
	var out []uint64
	for _, part := range strings.Split(text, ",") {
		first, last, isRange := strings.Cut(part, "-")
		a, err := strconv.ParseUint(strings.TrimSpace(first), 10, 64)
		if err != nil {
			return nil, wrong
		}
		b := a
		if isRange {
			if b, err = strconv.ParseUint(strings.TrimSpace(last), 10, 64); err != nil || b < a {
				return nil, wrong
			}
		}
		if b-a >= mostSeeds || len(out)+int(b-a)+1 > mostSeeds {
			return nil, wrong
		}
		for n := range b - a + 1 {
			out = append(out, a+n)
		}
	}
	return out, nil
}
