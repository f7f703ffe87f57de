package main

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
	"tundish/decode/opentherm"
)

// framesOf gives the first lines of a simulated case's bus, and their frames with the times of their last changes.
func framesOf(t *testing.T, scenario, dir string, lines int) (log string, frames []timedFrame) {
	t.Helper()
	command(t, "simulate", scenario, "--days", "1", "--into", dir)
	in, err := os.Open(filepath.Join(dir, "bus.log"))
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	var text strings.Builder
	for s := bufio.NewScanner(in); lines > 0 && s.Scan(); lines-- {
		fmt.Fprintf(&text, "%s\n", s.Text())
		stamp, rest, _ := strings.Cut(s.Text(), " ")
		at, err := time.Parse(time.RFC3339Nano, stamp)
		if err != nil {
			t.Fatal(err)
		}
		if f, ok := opentherm.FindFrame([]byte(rest), nil); ok {
			frames = append(frames, timedFrame{at, f})
		}
	}
	return text.String(), frames
}

type timedFrame struct {
	at time.Time
	f  opentherm.Frame
}

// changes calls line for each change of level, in order: its time, the µs since the one before it, the level after it.
func changes(frames []timedFrame, line func(at time.Time, us int64, level int, f opentherm.Frame)) {
	last := frames[0].at.Add(-time.Second)
	for _, x := range frames {
		edges := x.f.Edges()
		for i, e := range edges {
			at := x.at.Add(e - edges[len(edges)-1])
			line(at, at.Sub(last).Microseconds(), 1-i%2, x.f)
			last = at
		}
	}
}

func command(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if s := run(t.Context(), args, strings.NewReader(""), &out, &errs); s != exitDone {
		t.Fatalf("%q: exit status %d: %s", args, s, errs.String())
	}
	return out.String()
}

const edgesSheet = "[job]\nname = \"x\"\ntimezone = \"UTC\"\n[plant]\nhot_water = \"cylinder\"\n[[source]]\nname = \"boiler\"\nkind = "

// A simulated bus as level changes gives, through import, the very readings that it gives as frames in text.
func TestEdgesEndToEnd(t *testing.T) {
	t.Parallel()
	for _, scenario := range []string{"sound", "noisy-line"} {
		t.Run(scenario, func(t *testing.T) {
			dir := t.TempDir()
			log, frames := framesOf(t, scenario, dir, 2500)
			if len(frames) < 2000 {
				t.Fatalf("%d frames", len(frames))
			}
			var edges strings.Builder
			changes(frames, func(at time.Time, us int64, level int, _ opentherm.Frame) {
				fmt.Fprintf(&edges, "%s %d %d\r\n", at.Format(time.RFC3339Nano), us, level)
			})
			exported := map[string]string{}
			for kind, text := range map[string]string{"opentherm": log, "opentherm-edges": edges.String()} {
				file := func(name string) string { return filepath.Join(dir, kind+name) }
				for name, content := range map[string]string{".log": text, ".toml": edgesSheet + fmt.Sprintf("%q\n", kind)} {
					if err := os.WriteFile(file(name), []byte(content), 0o644); err != nil {
						t.Fatal(err)
					}
				}
				command(t, "import", file(".toml"), "-o", file(".capture"), "boiler="+file(".log"))
				command(t, "export", file(".capture"), "-o", file(".csv"))
				csv, err := os.ReadFile(file(".csv"))
				if err != nil {
					t.Fatal(err)
				}
				exported[kind] = string(csv)
			}
			if n := strings.Count(exported["opentherm"], "\n"); n < 2000 {
				t.Errorf("%d readings", n)
			}
			if diff := cmp.Diff(strings.Split(exported["opentherm"], "\n"), strings.Split(exported["opentherm-edges"], "\n")); diff != "" {
				t.Errorf("readings differ (-text +edges):\n%.2000s", diff)
			}
		})
	}
}

// Two ports, one for each direction of one bus: requests and replies find each other, and all belongs to the first.
func TestEdgesOnTwoPorts(t *testing.T) {
	t.Parallel()
	log, frames := framesOf(t, "sound", t.TempDir(), 400)
	decoded := func(sheet string, recs []capture.Record) (all []decode.Reading) {
		s, err := jobsheet.Parse("job.toml", []byte(sheet))
		if err != nil {
			t.Fatal(err)
		}
		decoders, err := newDecoders(s, s)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range recs {
			if err := decoders[r.Source].Decode(r, func(x decode.Reading) { x.Seq = 0; all = append(all, x) }); err != nil {
				t.Fatal(err)
			}
		}
		if d := decoders["appliance"]; d != nil {
			for _, c := range d.Tally() {
				if c.Name == "frames" || strings.HasPrefix(c.Name, "frames ") && c.N > 0 {
					t.Errorf("the second port counts %d %s", c.N, c.Name)
				}
			}
		}
		return all
	}
	var text, edges []capture.Record
	start := frames[0].at.Add(-time.Minute)
	for i, l := range strings.Split(strings.TrimSpace(log), "\n") {
		_, rest, _ := strings.Cut(l, " ")
		text = append(text, capture.Record{Seq: 1, Run: 1, Source: "boiler", At: frames[i].at.Sub(start), Time: frames[i].at, Payload: []byte(rest)})
	}
	changes(frames, func(at time.Time, us int64, _ int, f opentherm.Frame) {
		source := "appliance"
		if f.FromMaster() {
			source = "boiler"
		}
		edges = append(edges, capture.Record{Seq: 1, Run: 1, Source: source, At: at.Sub(start), Time: at, Payload: fmt.Appendf(nil, "%d\r\n", us)})
	})
	want := decoded(edgesSheet+`"opentherm"`, text)
	got := decoded(edgesSheet+"\"opentherm-edges\"\n[[source]]\nname = \"appliance\"\nkind = \"opentherm-edges\"\nsame_bus_as = \"boiler\"\n", edges)
	if diff := cmp.Diff(want, got); diff != "" || len(want) < 200 {
		t.Errorf("%d readings; they differ (-text +edges):\n%.2000s", len(want), diff)
	}
}

// A wrong time base gives no frame, and the set-up check says what to do.
func TestEdgesWrongTimeBase(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	_, frames := framesOf(t, "sound", dir, 300)
	var edges strings.Builder
	first := int64(0)
	changes(frames, func(at time.Time, _ int64, _ int, _ opentherm.Frame) {
		if first == 0 {
			first = at.UnixMicro()
		}
		fmt.Fprintf(&edges, "%s %d\r\n", at.Format(time.RFC3339Nano), at.UnixMicro()-first+1000)
	})
	job, out, log := filepath.Join(dir, "e.toml"), filepath.Join(dir, "e.capture"), filepath.Join(dir, "e.log")
	for name, content := range map[string]string{job: edgesSheet + `"opentherm-edges"`, log: edges.String()} {
		if err := os.WriteFile(name, []byte(content), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	command(t, "import", job, "-o", out, "boiler="+log)
	if told := strings.Join(strings.Fields(command(t, "check", out)), " "); !strings.Contains(told, "no frame comes of its level changes") {
		t.Error(told)
	}
}
