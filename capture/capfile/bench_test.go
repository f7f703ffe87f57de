package capfile

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"tundish/capture"
)

// verbatimProbes gives every probe record a line that is kept verbatim, to measure what the scratchpad form saves.
func verbatimProbes(list []capture.Record) []capture.Record {
	for i := range list {
		if list[i].Source == "probes" {
			list[i].Payload = append(list[i].Payload, '\n')
		}
	}
	return list
}

func only(list []capture.Record, source string) (kept []capture.Record) {
	for _, rec := range list {
		if rec.Source == source {
			kept = append(kept, rec)
		}
	}
	return kept
}

// BenchmarkScan reads back 8 hours of a bus (2 frames a second, 12 data ids polled in turn) and 2 probes at 1 s.
func BenchmarkScan(b *testing.B) {
	const seconds = 8 * 3600
	all := func() []capture.Record { return system(1, 0, seconds, rand.New(rand.NewPCG(1, 1))) }
	for name, list := range map[string][]capture.Record{
		"bus":             only(all(), "boiler"),
		"probes":          only(all(), "probes"),
		"probes-verbatim": only(verbatimProbes(all()), "probes"),
		"both":            all(),
	} {
		b.Run(name, func(b *testing.B) {
			path := filepath.Join(b.TempDir(), "a.capture")
			w := create(b, path, 0)
			startRun(b, w, Record, noon)
			appendAll(b, w, list)
			must(b, w.Close())
			st, err := os.Stat(path)
			must(b, err)
			r, err := Open(path)
			must(b, err)
			defer r.Close()
			bodies := 0
			for i := range r.index.blocks {
				body, err := r.index.blocks[i].loadBody(r.body, nil)
				must(b, err)
				bodies += len(body)
			}
			b.ReportAllocs()
			for b.Loop() {
				n := 0
				for _, err := range r.Records(b.Context(), Window{}) {
					if err != nil { // not must: its Helper costs as much as the reading
						b.Fatal(err)
					}
					n++
				}
				if n != len(list) {
					b.Fatalf("%d records, want %d", n, len(list))
				}
			}
			n := float64(len(list))
			b.ReportMetric(n*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mrecords/s")
			b.ReportMetric(float64(st.Size())/n, "fileB/record")
			b.ReportMetric(float64(bodies)/n, "bodyB/record")
		})
	}
}

// BenchmarkCommit records in the manner of the logger, a commit every 5 s of recorded time, and tells what
// reaches the disk.
func BenchmarkCommit(b *testing.B) {
	w := create(b, filepath.Join(b.TempDir(), "a.capture"), 0)
	run := startRun(b, w, Record, noon)
	rnd := rand.New(rand.NewPCG(1, 1))
	second := 0
	for b.Loop() {
		appendAll(b, w, system(run, second, 5, rnd))
		second += 5
		must(b, w.Observe(run, Observation{At: time.Duration(second) * time.Second, Wall: noon.Add(time.Duration(second) * time.Second)}))
		must(b, w.Commit())
	}
}
