package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
)

var update = flag.Bool("update", false, "rewrite what scripts and goldens expect")

func TestMain(m *testing.M) {
	if _, set := os.LookupEnv(keepEnv); !set { // nothing of a test is kept, unless the test is about that
		os.Setenv(keepEnv, keepOff)
	}
	testscript.Main(m, map[string]func(){"tundish": main})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       *update,
		Condition: func(c string) (bool, error) {
			if c != "race" {
				return false, fmt.Errorf("no such condition: %s", c)
			}
			return raceDetector, nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":    exits,
			"flip":     flip,
			"noise":    noise,
			"simfile":  simfile,
			"field":    field,
			"waitfor":  waitfor,
			"waitgone": waitgone,
			"chop":     chop,
			"found":    foundLockouts,
		},
	})
}

// exits runs a program and holds it to its exit status: exits 2 tundish verify x
func exits(ts *testscript.TestScript, neg bool, args []string) {
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		got = -1
		if m := regexp.MustCompile(`exit status (\d+)`).FindStringSubmatch(err.Error()); m != nil {
			got, _ = strconv.Atoi(m[1])
		}
	}
	if got != want {
		ts.Fatalf("%v exits %d, want %d", args[1:], got, want)
	}
}

// flip changes one bit of a file: flip FILE OFFSET (from the end where negative)
func flip(ts *testscript.TestScript, _ bool, args []string) {
	path := ts.MkAbs(args[0])
	b, err := os.ReadFile(path)
	ts.Check(err)
	at, err := strconv.Atoi(args[1])
	ts.Check(err)
	if at < 0 {
		at += len(b)
	}
	b[at] ^= 0x10
	ts.Check(os.WriteFile(path, b, 0o644))
}

// noise writes bytes without sense: noise FILE COUNT
func noise(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	r := rand.New(rand.NewPCG(1, 2))
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b, 0o644))
}

// simfile writes some hours of a simulated house as files to import: simfile SCENARIO HOURS makes
// sim.toml and bus.log.
func simfile(ts *testscript.TestScript, _ bool, args []string) {
	s, ok := house.Find(args[0])
	if !ok {
		ts.Fatalf("no scenario %q", args[0])
	}
	hours, err := strconv.Atoi(args[1])
	ts.Check(err)
	log, err := os.Create(ts.MkAbs("bus.log"))
	ts.Check(err)
	enough := fmt.Errorf("enough")
	_, err = s.Simulate(context.Background(), 1, house.Listener{Record: func(rec capture.Record) error {
		if rec.At > time.Duration(hours)*time.Hour {
			return enough
		}
		if rec.Source == "boiler" {
			fmt.Fprintf(log, "%s %s", s.Start.Add(rec.At).Format(time.RFC3339Nano), rec.Payload)
		}
		return nil
	}})
	if err != nil && err != enough {
		ts.Check(err)
	}
	ts.Check(log.Close())
	// The same sheet, with its sources as a real job would have them.
	head, _, _ := strings.Cut(string(s.JobSheet(1)), "[[source]]")
	sheet := head + "[[source]]\nname = \"boiler\"\nkind = \"opentherm\"\n"
	ts.Check(os.WriteFile(ts.MkAbs("sim.toml"), []byte(sheet), 0o644))
}

// field holds a value of a JSON file to a pattern: field FILE findings.0.kind lockout
func field(ts *testscript.TestScript, neg bool, args []string) {
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &v))
	for _, step := range strings.Split(args[1], ".") {
		switch x := v.(type) {
		case map[string]any:
			v = x[strings.ReplaceAll(step, "|", ".")]
		case []any:
			i, err := strconv.Atoi(step)
			if err != nil || i >= len(x) {
				v = nil
				break
			}
			v = x[i]
		default:
			v = nil
		}
	}
	got := fmt.Sprint(v)
	if ok, _ := regexp.MatchString("^(?:"+args[2]+")$", got); ok == neg {
		ts.Fatalf("%s of %s is %s", args[1], args[0], got)
	}
}

// waitfor waits until a capture holds at least so many records: waitfor CAPTURE COUNT
func waitfor(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.ParseUint(args[1], 10, 64)
	ts.Check(err)
	for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		if r, err := capfile.Open(ts.MkAbs(args[0])); err == nil {
			have := r.Head().Records
			ts.Check(r.Close())
			if have >= n {
				return
			}
		}
	}
	ts.Fatalf("%s did not come to %d records", args[0], n)
}

// waitgone waits until no file of a name is there: waitgone PATTERN
func waitgone(ts *testscript.TestScript, _ bool, args []string) {
	for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		files, err := filepath.Glob(ts.MkAbs(args[0]))
		ts.Check(err)
		if len(files) == 0 {
			return
		}
	}
	ts.Fatalf("%s is still there", args[0])
}

// chop takes bytes off the end of a file: chop FILE COUNT
func chop(ts *testscript.TestScript, _ bool, args []string) {
	path := ts.MkAbs(args[0])
	n, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	info, err := os.Stat(path)
	ts.Check(err)
	ts.Check(os.Truncate(path, info.Size()-n))
}
