package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"tundish/analyse/building"
	"tundish/cmd/tundish/housefile"
	"tundish/dashboards/findings"
)

type heatlossCmd struct {
	House         string `arg:"" optional:"" placeholder:"HOUSE.toml" help:"The house file: rooms, elements, air, radiators, pipes."`
	JSON          bool   `name:"json" help:"Write JSON for programs."`
	New           bool   `help:"Write a commented house file to begin with."`
	Out           string `short:"o" placeholder:"FILE" help:"With --new: the file to write (default: standard output). It overwrites nothing."`
	Constructions bool   `help:"List the library of constructions, with their layers and U-values."`
}

func (c heatlossCmd) Run(s *streams) error {
	ways := 0
	for _, is := range []bool{c.House != "", c.New, c.Constructions} {
		if is {
			ways++
		}
	}
	switch {
	case ways != 1:
		return hinted{usagef("heatloss takes a house file, or --new, or --constructions"), `"tundish heatloss --new -o house.toml" writes a file to begin with`}
	case c.Out != "" && !c.New:
		return usagef("-o goes with --new")
	case c.JSON && c.House == "":
		return usagef("--json goes with a house file")
	case c.New:
		return writeStart(s, c.Out)
	case c.Constructions:
		return findings.ConstructionsText(s.out, building.Library(), textWidth(s.out))
	}
	f, loss, o, err := heatLossOf(c.House)
	if err != nil {
		return err
	}
	if o.Emitters, err = heatEmitters(f, loss); err != nil {
		o.Warnings = append(o.Warnings, strings.ReplaceAll(err.Error(), "\n", "; "))
	}
	if c.JSON {
		return findings.HeatLossJSON(s.out, loss, o)
	}
	return findings.HeatLossText(s.out, loss, textWidth(s.out), o)
}

// heatLossOf reads a house file and computes its heat loss.
func heatLossOf(file string) (*housefile.File, *building.Result, findings.HeatLossOptions, error) {
	var o findings.HeatLossOptions
	f, err := housefile.Load(file)
	if err != nil {
		return nil, nil, o, absent(err, sheetEnding, `"tundish heatloss --new -o HOUSE.toml" writes one to begin with`)
	}
	loss, o, err := lossOf(f)
	return f, loss, o, err
}

// lossOf computes the heat loss of a house file, with what is unusual in it.
func lossOf(f *housefile.File) (*building.Result, findings.HeatLossOptions, error) {
	var o findings.HeatLossOptions
	loss, err := building.Compute(&f.House)
	if err != nil {
		return nil, o, usageError{err}
	}
	for _, w := range loss.Warnings {
		o.Warnings = append(o.Warnings, f.Place(w).Error())
	}
	return loss, o, nil
}

// writeStart writes the starting file: to a name that is free, or to standard output.
func writeStart(s *streams, path string) error {
	if path == "" {
		_, err := s.out.Write(housefile.Start)
		return err
	}
	if err := checkFolder(path); err != nil {
		return err
	}
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return usagef("%s: exists already and is left as it is; name another file", path)
	}
	if err != nil {
		return err
	}
	_, err = file.Write(housefile.Start)
	if err = errors.Join(err, file.Sync(), file.Close()); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	return written(s.out, path)
}

func written(w io.Writer, path string) error {
	_, err := fmt.Fprintf(w, "%s: written; change what is not yours, then: tundish heatloss %s\n", findings.Printable(path), findings.Printable(path))
	return err
}
