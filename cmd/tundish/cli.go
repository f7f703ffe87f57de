package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/dashboards/findings"
)

// Exit statuses.
const (
	exitDone  = 0
	exitFail  = 1 // the work failed
	exitUsage = 2 // the command line or an input file is wrong
)

// commands is the command line.
type commands struct {
	Demo     demoCmd     `cmd:"" help:"The whole job on a simulated house with faults in it: record, analyse, report."`
	Sources  sourcesCmd  `cmd:"" help:"List what can be recorded from: serial ports, 1-Wire probes, brokers; write a starting job sheet; tell probes apart by hand (--identify)."`
	Pair     pairCmd     `cmd:"" help:"Compare two probes in the same water, and keep offset and uncertainty in the job sheet."`
	Record   recordCmd   `cmd:"" help:"Run the logger until it is stopped, into a capture beside the job sheet. Started again, it goes on in the same capture."`
	Import   importCmd   `cmd:"" help:"Make a capture from files, one for each source. It overwrites nothing."`
	Analyse  analyseCmd  `cmd:"" help:"Say what a capture shows: found, clear, not assessable; as text or as JSON."`
	Check    checkCmd    `cmd:"" help:"Say whether a set-up is fit to be left: what it can tell, what looks wrongly fitted, and what to do now."`
	Criteria criteriaCmd `cmd:"" help:"Print the values by which the checks decide, each with its unit and source."`
	Heatloss heatlossCmd `cmd:"" help:"Compute a house's design heat loss, room by room, from a house file; --new writes one to begin with."`
	Report   reportCmd   `cmd:"" help:"Write the evidence report of a capture (PDF or HTML)."`
	Verify   verifyCmd   `cmd:"" help:"Prove the seal chain of a capture, or name the first block that fails."`
	Export   exportCmd   `cmd:"" help:"Write a capture's readings for other tools (CSV or Parquet), a row a reading or a column a series."`
	Mark     markCmd     `cmd:"" help:"Keep in a capture what a person noticed or did, and when: \"reset pressed\"."`
	Decode   decodeCmd   `cmd:"" help:"Explain OpenTherm frames given as 8 hex digits; a wrong frame says why."`
	Simulate simulateCmd `cmd:"" help:"Write a simulated home as files to import, and beside them what truly happened (truth.json)."`
	Score    scoreCmd    `cmd:"" help:"Measure how far what is told can be trusted, on simulated houses."`
	Version  versionCmd  `cmd:"" help:"Print the program's version."`
}

// streams are what a command reads and writes besides files.
type streams struct {
	in       io.Reader
	out, err io.Writer
	screen   *screen // err, shared with the log
	log      *slog.Logger
}

// usageError is a mistake in the command line or in an input file.
type usageError struct{ err error }

func (e usageError) Error() string { return e.err.Error() }
func (e usageError) Unwrap() error { return e.err }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// hinted is an error with a word on what to do.
type hinted struct {
	err  error
	hint string
}

func (e hinted) Error() string { return e.err.Error() }
func (e hinted) Unwrap() error { return e.err }

const description = `A data logger and analyser for heating systems. It listens, and never sends on a bus or commands an appliance.

New here? "tundish demo" does the whole job on a simulated house.`

// run is the program: it returns the exit status.
func run(ctx context.Context, args []string, in io.Reader, out, errw io.Writer) int {
	var c commands
	exited := -1
	parser, err := kong.New(&c, kong.Name("tundish"), kong.Description(description),
		kong.Writers(out, errw), kong.Exit(func(code int) { exited = code }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 76}),
		kong.Vars{"check_after": checkAfter.String(), "pair_for": pairFor.String()},
		kong.BindTo(ctx, (*context.Context)(nil)))
	if err != nil {
		fmt.Fprintln(errw, "error:", err)
		return exitFail
	}
	k, err := parser.Parse(commandFirst(parser, args))
	if exited >= 0 { // help was asked for and printed
		return exited
	}
	if err != nil {
		fmt.Fprintf(errw, "error: %s\n", findings.Printable(parseWords(err)))
		fmt.Fprintln(errw, `hint: "tundish --help" shows the commands, "tundish COMMAND --help" what each takes`)
		return exitUsage
	}
	shared := &screen{w: errw}
	s := &streams{in: in, out: out, err: errw, screen: shared, log: slog.New(slog.NewTextHandler(shared, nil))}
	return fail(errw, k.Run(s))
}

// parseWords says what is wrong with a command line.
func parseWords(err error) string {
	var p *kong.ParseError
	if word, ok := strings.CutPrefix(err.Error(), "unexpected argument "); ok && errors.As(err, &p) && p.Context.Selected() == nil {
		return "unknown command " + word
	}
	return err.Error()
}

// commandFirst moves the command's name to the front, and with it what the command is of, since flags may stand before
// them too. A flag's value that is called like a command must then stand behind the command.
func commandFirst(parser *kong.Kong, args []string) []string {
	var names []string
	for of := parser.Model.Node; len(of.Children) > 0; {
		at, next := childAmong(of, args)
		if next == nil {
			break
		}
		names, args, of = append(names, args[at]), slices.Delete(slices.Clone(args), at, at+1), next
	}
	return append(names, args...)
}

// childAmong finds the first word that names a command; what stands before it must begin with a flag.
func childAmong(of *kong.Node, args []string) (at int, child *kong.Node) {
	for i, a := range args {
		j := slices.IndexFunc(of.Children, func(n *kong.Node) bool { return n.Name == a })
		if j >= 0 {
			return i, of.Children[j]
		}
		if i == 0 && !strings.HasPrefix(a, "-") {
			break
		}
	}
	return 0, nil
}

// fail prints what went wrong and gives the exit status.
func fail(errw io.Writer, err error) int {
	if err == nil {
		return exitDone
	}
	for _, line := range strings.Split(err.Error(), "\n") {
		fmt.Fprintf(errw, "error: %s\n", findings.Printable(line))
	}
	var h hinted
	if errors.As(err, &h) {
		fmt.Fprintf(errw, "hint: %s\n", h.hint)
	}
	return status(err)
}

func status(err error) int {
	var (
		usage   usageError
		sheet   jobsheet.Errors
		version *capfile.VersionError
	)
	if errors.As(err, &usage) || errors.As(err, &sheet) || errors.As(err, &version) || errors.Is(err, capfile.ErrNotCapture) {
		return exitUsage
	}
	return exitFail
}

type versionCmd struct{}

func (versionCmd) Run(s *streams) error {
	_, err := fmt.Fprintln(s.out, programName())
	return err
}

// programName is the program with its version, as it stands in captures and reports: a release carries its tag, a
// build from a checkout its revision.
func programName() string {
	version := "(development)"
	if info, ok := debug.ReadBuildInfo(); ok {
		if v := info.Main.Version; v != "" && v != "(devel)" {
			version = v
		}
	}
	return "tundish " + version
}
