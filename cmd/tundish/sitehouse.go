package main

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"tundish/analyse"
	"tundish/analyse/building"
	"tundish/cmd/tundish/housefile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode/unit"
)

// loadSheet reads a job sheet, and beside it the house file that it names. A file that is missing is a mistake of the
// command line or of the sheet.
func loadSheet(job string) (*jobsheet.Sheet, error) {
	sheet, err := jobsheet.Load(job)
	if err != nil {
		return nil, noSheet(err)
	}
	if sheet.Site.House == "" {
		return sheet, nil
	}
	path := sheet.Site.House
	if !filepath.IsAbs(path) {
		path = filepath.Join(filepath.Dir(job), path)
	}
	file, err := housefile.Load(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ofHouse(sheet, "%s: there is no such file beside the job sheet", sheet.Site.House)
	}
	if err != nil {
		return nil, err
	}
	return sheet, computeHouse(sheet, file)
}

// setHouse fills what the house file that is kept with a job sheet computes.
func setHouse(sheet *jobsheet.Sheet, text []byte) error {
	file, err := housefile.Parse(sheet.Site.House, text)
	if err != nil {
		return err
	}
	return computeHouse(sheet, file)
}

// computeHouse lets what a house takes as a whole stand for design_heat_loss_kw, and its outside temperature for
// outside_design_c.
func computeHouse(sheet *jobsheet.Sheet, file *housefile.File) error {
	loss, err := building.Compute(&file.House)
	if err != nil {
		return err
	}
	outside := unit.Celsius(loss.OutsideC)
	if told := sheet.Plant.OutsideDesign; told.Known && told.Value != outside {
		return ofHouse(sheet, "%s is computed for %v, but outside_design_c says %v", sheet.Site.House, outside, told.Value)
	}
	if loss.Whole.TotalW <= 0 {
		return ofHouse(sheet, "%s loses no heat: %.0f W", sheet.Site.House, loss.Whole.TotalW)
	}
	if in := sheet.Plant.InsideDesign; in.Known && in.Value <= outside {
		return ofHouse(sheet, "%s is computed for %v outside, and inside_design_c is %v", sheet.Site.House, outside, in.Value)
	}
	sheet.Plant.OutsideDesign = analyse.Some(outside)
	sheet.Plant.DesignHeatLoss = analyse.Some(unit.KW(loss.Whole.TotalW / 1000))
	sheet.Site.HouseText = file.Text
	return nil
}

// ofHouse is an error with the key site.house.
func ofHouse(sheet *jobsheet.Sheet, format string, args ...any) error {
	const key = "site.house"
	e := jobsheet.Error{File: sheet.File, Key: key, Msg: fmt.Sprintf(format, args...)}
	if _, at, err := jobsheet.Tree(sheet.File, sheet.Text); err == nil {
		e.Line = jobsheet.LineOf(at, key)
	}
	return jobsheet.Errors{e}
}
