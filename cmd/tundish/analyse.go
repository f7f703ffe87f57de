package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strconv"

	"golang.org/x/term"

	"tundish/analyse"
	"tundish/cmd/tundish/jobsheet"
	"tundish/dashboards/findings"
)

type analyseCmd struct {
	Capture  string `arg:"" help:"The capture to look at."`
	JSON     bool   `name:"json" help:"Write JSON for programs."`
	Episodes bool   `help:"Add every firing, demand, lockout and silence."`
	Why      string `placeholder:"KIND" help:"Tell the reasoning of one kind: data, criteria, what was measured and ruled out, causes."`
	Job      string `placeholder:"JOB.toml" help:"A job sheet that amends the one in the capture."`
	keepFlags
}

func (c analyseCmd) Run(ctx context.Context, s *streams) (err error) {
	var why *analyse.Check
	if c.Why != "" {
		if why, err = checkOf(c.Why); err != nil {
			return err
		}
	}
	kept, err := openCapture(c.Capture, c.Job)
	if err != nil {
		return err
	}
	defer func() { err = firstError(err, kept.close()) }()
	kept.keep = c.keeper(s.log)
	result, seen, err := kept.analyse(ctx)
	if err != nil {
		return err
	}
	o := findings.Options{Episodes: c.Episodes, Why: why, Amended: kept.amendedWords(), Warnings: append(kept.warnings(seen), kept.disputes(result)...), Sensors: kept.sheet.Sensors()}
	if c.JSON {
		return findings.WriteJSON(s.out, result, o)
	}
	return findings.WriteText(s.out, result, kept.sheet.Job.Zone, textWidth(s.out), o)
}

// checkOf finds the check of a kind.
func checkOf(kind string) (*analyse.Check, error) {
	all := checks()
	var kinds []string
	for i := range all {
		if all[i].Kind == kind {
			return &all[i], nil
		}
		kinds = append(kinds, all[i].Kind)
	}
	return nil, usagef("%q is no kind of finding%s", kind, jobsheet.Suggestion(kind, kinds))
}

// plainWidth is the width of text that goes to a file or a pipe.
const plainWidth = 76

// textWidth is how many characters a line may have: the terminal's, or COLUMNS, or a plain page.
func textWidth(w io.Writer) int {
	if f, ok := w.(*os.File); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil && width > 0 {
			return width
		}
	}
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		return n
	}
	return plainWidth
}

func firstError(a, b error) error {
	if a != nil {
		return a
	}
	return b
}

type verifyCmd struct {
	Capture string `arg:"" help:"The capture to prove."`
}

func (c verifyCmd) Run(ctx context.Context, s *streams) error {
	proof, err := verify(ctx, c.Capture)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "intact: %s in %s", count(proof.Records, "record"), count(proof.Blocks, "sealed block"))
	if proof.Tail > 0 {
		fmt.Fprintf(s.out, " and %s not sealed yet", count(proof.Tail, "row"))
	}
	fmt.Fprintf(s.out, "\nhead:   %s\n", proof.Head)
	if !proof.Closed {
		fmt.Fprintln(s.out, "state:  still being recorded, or stopped without a clean end")
	}
	_, err = fmt.Fprintln(s.out, "This proves that nothing was changed since it was sealed, if the head is the one that was\n"+
		"noted then. It does not prove who recorded it, or that the clock was right.")
	return err
}
