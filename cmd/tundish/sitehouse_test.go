package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tundish/capture/capfile"
)

// A house file that changed between two runs is told, and the last one counts. A changed byte of it breaks the seal.
func TestHouseOfEachRun(t *testing.T) {
	dir := t.TempDir()
	path, job := filepath.Join(dir, "job.capture"), filepath.Join(dir, "job.toml")
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("job.toml", strings.Replace(probeSheet("flow"), "[[source]]", "[site]\nhouse = \"house.toml\"\n[[source]]", 1))
	for i, volume := range []string{"60.0", "120.0"} {
		write("house.toml", "outside_c = -3.0\n[[room]]\nname = \"All\"\ninside_c = 21.0\nvolume_m3 = "+volume+
			"\nair_changes_per_h = 1.0\nelement = [ { name = \"wall\", area_m2 = 40.0, u_w_m2k = 2.0 } ]\n")
		sheet, err := loadSheet(job)
		if err != nil {
			t.Fatal(err)
		}
		w, err := openWriter(path)
		if err != nil {
			t.Fatal(err)
		}
		begin := firstRun.Add(time.Duration(i) * 2 * time.Hour)
		run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: begin, Sources: []string{"probes"}})
		if err != nil {
			t.Fatal(err)
		}
		for _, err := range []error{keepSheet(w, run, sheet), w.Observe(run, capfile.Observation{Wall: begin, Synced: true}), w.EndRun(run, time.Hour, "stopped"), w.Close()} {
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	out, _ := runs(t, exitDone, "analyse", path)
	// By hand: 40·2.0 + 0.5·0.33·120 = 99.8 W/K, times 24 K.
	flat := strings.Join(strings.Fields(out), " ")
	for _, want := range []string{"the house file house.toml changed", "design heat loss, 2.4 kW, is computed from house.toml"} {
		if !strings.Contains(flat, want) {
			t.Errorf("%q is not told:\n%s", want, out)
		}
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.LastIndex(b, []byte("volume_m3 = 120.0"))
	if at < 0 {
		t.Fatal("the house file does not stand in the capture as text")
	}
	b[at+12] = '9'
	write("job.capture", string(b))
	runs(t, exitFail, "verify", path)
}
