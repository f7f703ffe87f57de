package main

import (
	"path/filepath"
	"slices"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/decode"
)

// What a decoder holds back until the next record comes is given, however long that takes: it is no late reading where no
// sender's time stands in the messages. Room temperatures that nobody confirmed are written before a pause of the bus,
// before a restart, and last of all (OpenTherm, data id 24).
func TestHeldBackIsNotLate(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "held.capture")
	start := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	w, err := capfile.Create(path, capfile.Options{})
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(err)
	sources := []string{"boiler", "probes"}
	for n := range 2 {
		run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: start.Add(time.Duration(n) * 6 * time.Hour), Sources: sources})
		must(err)
		must(w.Sheet(run, "job.toml", []byte("[job]\nname = \"Held\"\ntimezone = \"Europe/London\"\n[plant]\nhot_water = \"none\"\n"+busSource+probesSource)))
		for _, at := range []time.Duration{time.Second, time.Hour} {
			must(w.Append(capture.Record{Run: run, Source: "boiler", At: at, Payload: []byte("90181400")}))
		}
		must(w.Append(capture.Record{Run: run, Source: "probes", At: 2 * time.Hour, Channel: "readings/flow", Payload: []byte("21.5")}))
		must(w.EndRun(run, 3*time.Hour, "a test ends"))
	}
	must(w.Close())
	c, err := openCapture(path, "")
	must(err)
	defer c.close()
	var want, got []decode.Reading
	take := func(into *[]decode.Reading) func(decode.Reading) error {
		return func(r decode.Reading) error {
			*into = append(*into, r)
			return nil
		}
	}
	_, err = c.scan(t.Context(), capfile.Window{}, listener{}, take(&want))
	must(err)
	p := newPool(c, 1)
	defer p.close()
	must(c.findLate(t.Context(), p))
	_, err = c.scanPlaced(t.Context(), capfile.Window{}, placing{}, take(&got))
	must(err)
	if len(want) != 6 || !slices.Equal(got, want) {
		t.Errorf("given %d readings of %d: %v, want %v", len(got), len(want), got, want)
	}
}
