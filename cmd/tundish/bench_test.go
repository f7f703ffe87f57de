package main

import (
	"path/filepath"
	"testing"

	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
)

// BenchmarkAnalyse is the analysis of a recorded demo against reading the same records alone, as records a second
// and as the ratio of the two.
func BenchmarkAnalyse(b *testing.B) {
	scenario, _ := house.Find(demoScenario)
	path := filepath.Join(b.TempDir(), "job.capture")
	if _, err := simulate(b.Context(), path, scenario, 1, nil); err != nil {
		b.Fatal(err)
	}
	kept, err := openCapture(path, "")
	if err != nil {
		b.Fatal(err)
	}
	defer kept.close()
	records := float64(kept.reader.Head().Records)
	perRecord := map[string]float64{}
	for _, c := range []struct {
		name string
		run  func() error
	}{
		{"read", func() error {
			for _, err := range kept.reader.Records(b.Context(), capfile.Window{}) {
				if err != nil {
					return err
				}
			}
			return nil
		}},
		{"analyse", func() error {
			_, _, err := kept.analyse(b.Context())
			return err
		}},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := c.run(); err != nil {
					b.Fatal(err)
				}
			}
			perRecord[c.name] = float64(b.Elapsed().Nanoseconds()) / float64(b.N) / records
			b.ReportMetric(perRecord[c.name], "ns/record")
			if read := perRecord["read"]; read > 0 && c.name == "analyse" {
				b.ReportMetric(perRecord["analyse"]/read, "×reading")
			}
		})
	}
}
