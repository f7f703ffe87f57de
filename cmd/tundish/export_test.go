package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// done runs the program and wants it to be done.
func done(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(t.Context(), args, nil, &out, &errs); code != exitDone {
		t.Fatalf("%q: %d: %s", args, code, errs.String())
	}
	return out.String()
}

// exported makes a capture of a simulated home and gives its folder.
func exported(t *testing.T) (folder string) {
	t.Helper()
	folder = t.TempDir()
	in := func(name string) string { return filepath.Join(folder, name) }
	done(t, "simulate", demoScenario, "--days", "1", "--into", in("home"))
	for _, name := range []string{"home/bus.log", "home/probes.csv"} { // some hours are enough
		lines := strings.SplitAfter(string(read(t, in(name))), "\n")
		if err := os.WriteFile(in(name), []byte(strings.Join(lines[:min(len(lines), 6000)], "")), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	done(t, "import", in("home/job.toml"), "-o", in("a.capture"), "boiler="+in("home/bus.log"), "probes="+in("home/probes.csv"))
	for _, f := range []string{"long.csv", "long.parquet"} {
		done(t, "export", in("a.capture"), "-o", in(f))
	}
	for _, f := range []string{"wide.csv", "wide.parquet"} {
		done(t, "export", "--wide", in("a.capture"), "-o", in(f))
	}
	return folder
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func sortedLines(t *testing.T, path string) []string {
	t.Helper()
	lines := strings.Split(strings.TrimSpace(string(read(t, path))), "\n")
	slices.Sort(lines)
	return lines
}

func TestExport(t *testing.T) {
	folder := exported(t)
	t.Run("comes back", func(t *testing.T) { comesBack(t, folder) })
	t.Run("Parquet read elsewhere", func(t *testing.T) { readElsewhere(t, folder) })
}

// comesBack: what is exported can be imported again, and gives the same readings to the last digit, in either form.
func comesBack(t *testing.T, folder string) {
	in := func(name string) string { return filepath.Join(folder, name) }
	want := sortedLines(t, in("long.csv"))
	if len(want) < 5000 {
		t.Fatalf("only %d readings", len(want))
	}
	for _, form := range []string{"long", "wide"} {
		file := in(form + ".csv")
		done(t, "import", in("home/job.toml"), "-o", in(form+".capture"), "boiler="+file, "probes="+file)
		done(t, "export", in(form+".capture"), "-o", in(form+"-again.csv"))
		got := sortedLines(t, in(form+"-again.csv"))
		wanted := want
		if form == "wide" {
			wanted = slices.DeleteFunc(slices.Clone(want), func(l string) bool { return strings.HasSuffix(l, ",doubtful") })
		}
		if !slices.Equal(got, wanted) {
			t.Errorf("%s: %d readings came back, want %d: %s", form, len(got), len(wanted), cmp.Diff(head(wanted), head(got)))
		}
	}
}

func head(lines []string) []string { return lines[:min(len(lines), 20)] }

// parquetJS prints what another program reads in a Parquet file: the metadata, and rows as lines of the long form.
const parquetJS = `
import { asyncBufferFromFile, parquetReadObjects, parquetMetadataAsync } from 'hyparquet'
import { compressors } from 'hyparquet-compressors'
const file = await asyncBufferFromFile(process.argv[2])
const meta = await parquetMetadataAsync(file)
const about = Object.fromEntries(meta.key_value_metadata.map(x => [x.key, x.value]))
const rows = await parquetReadObjects({ file, compressors, parsers: { timestampFromNanoseconds: n => n } })
const text = v => typeof v === 'bigint' ? String(v) : v
process.stdout.write(JSON.stringify({ about, rows }, (k, v) => text(v)))
`

// readElsewhere has the files read by a library that shares nothing with the one that wrote them (hyparquet).
func readElsewhere(t *testing.T, folder string) {
	modules := os.Getenv("TUNDISH_NODE_MODULES")
	if modules == "" {
		t.Skip("TUNDISH_NODE_MODULES names no folder with hyparquet and hyparquet-compressors: ./test makes one")
	}
	script := filepath.Join(modules, "read-parquet.mjs")
	if err := os.WriteFile(script, []byte(parquetJS), 0o600); err != nil {
		t.Fatal(err)
	}
	parse := func(name string) (about map[string]string, rows []map[string]any) {
		var errs bytes.Buffer
		c := exec.CommandContext(t.Context(), "node", script, filepath.Join(folder, name))
		c.Stderr = &errs
		out, err := c.Output()
		if err != nil {
			t.Fatalf("%s: %v: %s", name, err, errs.String())
		}
		var x struct {
			About map[string]string
			Rows  []map[string]any
		}
		if err := json.Unmarshal(out, &x); err != nil {
			t.Fatal(err)
		}
		return x.About, x.Rows
	}
	want := sortedLines(t, filepath.Join(folder, "long.csv"))
	want = slices.DeleteFunc(want, func(l string) bool { return strings.HasPrefix(l, "time,") })
	about, rows := parse("long.parquet")
	if about["job"] == "" || len(about["capture head"]) != 64 {
		t.Errorf("long.parquet says of itself %v", about)
	}
	var got []string
	for _, r := range rows {
		got = append(got, fmt.Sprintf("%s,%s,%s,%s,%s", nanos(t, r["time"]), r["series"], number(r["value"].(float64)), r["unit"], r["quality"]))
	}
	slices.Sort(got)
	if !slices.Equal(got, want) {
		t.Errorf("long.parquet has %d rows, the CSV %d: %s", len(got), len(want), cmp.Diff(head(want), head(got)))
	}
	about, rows = parse("wide.parquet")
	good := slices.DeleteFunc(want, func(l string) bool { return strings.HasSuffix(l, ",doubtful") })
	got = got[:0]
	for _, r := range rows {
		for name, v := range r {
			if x, is := v.(float64); is {
				got = append(got, fmt.Sprintf("%s,%s,%s,%s,good", nanos(t, r["time"]), name, number(x), about["unit "+name]))
			}
		}
	}
	slices.Sort(got)
	if !slices.Equal(got, good) {
		t.Errorf("wide.parquet has %d values, the CSV %d: %s", len(got), len(good), cmp.Diff(head(good), head(got)))
	}
}

// nanos is a time in ns since 1970, as it stands in the CSV.
func nanos(t *testing.T, v any) string {
	t.Helper()
	n, err := strconv.ParseInt(fmt.Sprint(v), 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return stampOf(time.Unix(0, n))
}
