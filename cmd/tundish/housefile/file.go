// Package housefile reads the house file: the TOML file that describes a house for its heat loss, room by room, and what
// heats it. It checks everything and reports all errors of a file at once, each with room, element, key, file and line.
//
// Every key carries its unit. [Start] is a commented file to begin with; what can be left out is told there.
package housefile

import (
	_ "embed"
	"fmt"
	"os"
	"slices"
	"unicode/utf8"

	"bytes"

	"tundish/analyse/building"
	"tundish/analyse/emitter"
	"tundish/analyse/water"
	"tundish/cmd/tundish/jobsheet"
)

// Start is a house file to begin with: commented, and sound as it stands.
//
//go:embed start.toml
var Start []byte

// File is a house file that holds no error.
type File struct {
	Name  string // as it was named when read
	Text  []byte // as it stands in the file
	House building.House
	// Rooms are the emitters of the rooms that have any; their need is the computation's to tell.
	Rooms []emitter.Room
	Pipes []emitter.Pipe
	// DesignFlowC and DesignReturnC are the water's at design, °C; nil: not told.
	DesignFlowC, DesignReturnC *float64
	// Mean is how flow and return become one excess over the room; zero: by the rule.
	Mean emitter.Mean
	// Liquid is what circulates; zero: water.
	Liquid water.Liquid
	// Year is the typical year of the place, coldest first; empty: not told.
	Year []building.HoursAt

	at map[string]int
}

// maxSize is the largest house file that is read, bytes: a hundred times the longest sensible one.
const maxSize = 1 << 20

// Load reads a house file. What is wrong with its content comes back as [jobsheet.Errors].
func Load(file string) (*File, error) {
	info, err := os.Stat(file)
	switch {
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, jobsheet.Errors{{File: file, Msg: "is a folder; a house file is a TOML file"}}
	case info.Size() > maxSize:
		return nil, jobsheet.Errors{{File: file, Msg: fmt.Sprintf("%d bytes are too many for a house file (at most %d)", info.Size(), maxSize)}}
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return Parse(file, text)
}

// Parse reads a house file from its text; file is the name to use in errors.
func Parse(file string, text []byte) (*File, error) {
	if !utf8.Valid(text) || bytes.IndexByte(text, 0) >= 0 {
		return nil, jobsheet.Errors{{File: file, Msg: "is not text; a house file is a TOML file in UTF-8"}}
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	tree, at, err := jobsheet.Tree(file, text)
	if err != nil {
		return nil, err
	}
	r := &reader{file: file, at: at}
	f := &File{Name: file, Text: text, at: at}
	fill(r, "", "", tree, f, fileFields)
	r.emitters(f)
	if len(r.errs) == 0 { // else what is missing may be what could not be read
		for _, p := range f.House.Check() {
			if !p.Warning {
				r.errs = append(r.errs, f.Place(p))
			}
		}
	}
	if len(r.errs) > 0 {
		slices.SortStableFunc(r.errs, func(a, b jobsheet.Error) int { return a.Line - b.Line })
		return nil, r.errs
	}
	return f, nil
}

// Place says where in the file a problem stands.
func (f *File) Place(p building.Problem) jobsheet.Error {
	e := jobsheet.Error{File: f.Name, Line: jobsheet.LineOf(f.at, p.Path), Key: p.Place, Msg: p.Msg}
	if key := p.Key(); key != "" {
		e.Key = joined(p.Place, key)
	}
	switch {
	case p.Word != "" && len(p.Known) == 0:
		e.Msg += ", which has no other"
	case p.Word != "":
		e.Msg += jobsheet.Suggestion(p.Word, p.Known)
	}
	return e
}

func joined(place, key string) string {
	switch {
	case place == "":
		return key
	case key == "":
		return place
	}
	return place + ": " + key
}
