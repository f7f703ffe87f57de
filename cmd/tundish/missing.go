package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tundish/capture/capfile"
)

const (
	captureEnding = ".capture"
	sheetEnding   = ".toml"
	// namedMost is how many files of a folder are named.
	namedMost = 3
)

// noCapture puts into words that a capture cannot be opened: what, where, and what to do.
func noCapture(err error) error {
	switch {
	case errors.Is(err, capfile.ErrNotCapture):
		return hinted{err, `a capture is what "tundish record" and "tundish import" make, mostly NAME.capture; files of other programs come in by "tundish import"`}
	case errors.Is(err, fs.ErrPermission):
		return hinted{err, "ask the file's owner for the right to read it, or copy it to a folder of your own"}
	}
	return absent(err, captureEnding, `"tundish record JOB.toml" records one, "tundish import" makes one of files, "tundish demo" of a simulated house`)
}

// noSheet is the same of a job sheet.
func noSheet(err error) error {
	return absent(err, sheetEnding, `"tundish sources -o JOB.toml" writes one to begin with`)
}

// absent turns "no such file" of an input into a mistake of the command line. It says in what folder was looked, and names
// files of the same kind that are there; where there are none it says how one is made.
func absent(err error, ending, made string) error {
	var e *fs.PathError
	if !errors.Is(err, fs.ErrNotExist) || !errors.As(err, &e) {
		return err
	}
	folder := filepath.Dir(e.Path)
	full, failed := filepath.Abs(folder)
	if failed != nil {
		full = folder
	}
	entries, failed := os.ReadDir(folder)
	if failed != nil {
		return hinted{usagef("%s: there is no folder %s", e.Path, full), "look for a typing mistake, or for a stick or share that is not connected"}
	}
	var there []string
	for _, x := range entries {
		if strings.EqualFold(filepath.Ext(x.Name()), ending) {
			there = append(there, x.Name())
		}
	}
	hint := made
	if len(there) > 0 {
		more := ""
		if n := len(there) - namedMost; n > 0 {
			there, more = there[:namedMost], fmt.Sprintf(" and %d more", n)
		}
		slices.Sort(there)
		hint = "there is " + strings.Join(there, ", ") + more
	}
	return hinted{usagef("%s: there is no such file in %s", e.Path, full), hint}
}
