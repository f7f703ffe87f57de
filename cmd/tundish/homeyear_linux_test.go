package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/house"
	"tundish/decode"
)

// homeDay are the records of one simulated day: a bus with a conversation a second (two frames), and four probes read
// once a second.
func homeDay(t testing.TB) ([]capture.Record, house.Scenario) {
	t.Helper()
	list := house.Scenarios()
	s := list[slices.IndexFunc(list, func(s house.Scenario) bool { return s.Name == "cold-mornings" })]
	s.Days, s.NoBus, s.NoProbes = 1, false, false
	s.Bus.Every, s.Bus.StatusEvery, s.Probes.Every = time.Second, 2, time.Second
	var day []capture.Record
	_, err := s.Simulate(context.Background(), 1, house.Listener{Record: func(rec capture.Record) error {
		rec.Payload = slices.Clone(rec.Payload)
		day = append(day, rec)
		if rec.Source == house.SourceProbes { // the other pair hangs beside it
			rec.Source = "more"
			day = append(day, rec)
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	return day, s
}

// makeHome writes a capture of days all alike.
func makeHome(t testing.TB, path string, days int) {
	t.Helper()
	records, s := homeDay(t)
	w, err := capfile.Create(path, capfile.Options{})
	if err != nil {
		t.Fatal(err)
	}
	sheet := string(s.JobSheet(1))
	i := strings.Index(sheet, "[[source]]\nname = \""+house.SourceProbes)
	if i < 0 {
		i = strings.LastIndex(sheet, "[[source]]")
	}
	sheet += "\n" + strings.Replace(sheet[i:], "\""+house.SourceProbes+"\"", "\"more\"", 1)
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Record, Program: "test", Started: s.Start, Sources: []string{house.SourceBus, house.SourceProbes, "more"}})
	if err == nil {
		err = w.Sheet(run, "job.toml", []byte(sheet))
	}
	for d := range days {
		for _, rec := range records {
			if err == nil {
				rec.Run, rec.At = run, rec.At+time.Duration(d)*24*time.Hour
				err = w.Append(rec)
			}
		}
		if err == nil {
			err = w.Commit()
		}
	}
	if err == nil {
		err = w.EndRun(run, time.Duration(days)*24*time.Hour, "a test ends")
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
}

// resident is the greatest resident memory of this process so far, in bytes; 0 where the system does not tell.
func resident() int64 { return residentOf(os.Getpid()) }

// residentOf is the same of another process. What the system tells of one that has ended will not do: it is at least what
// its parent had when it was begun.
func residentOf(process int) int64 {
	text, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", process))
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kb, _ := strconv.ParseInt(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(rest), "kB")), 10, 64)
			return kb << 10
		}
	}
	return 0
}

// processor is the time for which processors have worked for this process.
func processor() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// TestHomeYear tells how long the analysis of a home's year takes and what memory: a bus with two frames a second and
// four probes a second, 190 million records. TUNDISH_HOMEYEAR names a folder for the capture (about a gigabyte, kept
// for the next time), TUNDISH_HOMEDAYS another number of days.
func TestHomeYear(t *testing.T) {
	folder := os.Getenv("TUNDISH_HOMEYEAR")
	if folder == "" {
		t.Skip("takes minutes: set TUNDISH_HOMEYEAR to a folder for the capture")
	}
	days := 365
	if n, err := strconv.Atoi(os.Getenv("TUNDISH_HOMEDAYS")); err == nil && n > 0 {
		days = n
	}
	path := filepath.Join(folder, fmt.Sprintf("home-%d.capture", days))
	if _, err := os.Stat(path); err != nil {
		makeHome(t, path, days)
		t.Skipf("%s is made; run again to measure, so that the making is no part of the memory", path)
	}
	c, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	began, busy := time.Now(), processor()
	result, seen, err := c.analyse(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	took := time.Since(began)
	busy = processor() - busy
	if len(result.Facts.Days) != days || len(result.Facts.Firings) < days {
		t.Errorf("%d days, %d firings", len(result.Facts.Days), len(result.Facts.Firings))
	}
	t.Logf("%d records, %d days, %d workers: %.1f s, processors busy for %.1f s: %.0f ns a record; %d MB resident at the most",
		seen.records, days, runtime.GOMAXPROCS(0), took.Seconds(), busy.Seconds(), float64(busy.Nanoseconds())/float64(seen.records), resident()>>20)
}

// BenchmarkHomeYear is what a record costs on one core: to read it alone, to decode it, and to analyse it.
func BenchmarkHomeYear(b *testing.B) {
	path := filepath.Join(b.TempDir(), "home.capture")
	makeHome(b, path, 4)
	c, err := openCapture(path, "")
	if err != nil {
		b.Fatal(err)
	}
	defer c.close()
	records := float64(c.reader.Head().Records)
	var began time.Duration
	each := func(b *testing.B) { // by the processor's time: the machine may have other work
		b.ReportMetric(float64((processor()-began).Nanoseconds())/float64(b.N)/records, "cpu-ns/record")
	}
	b.Run("read", func(b *testing.B) {
		began = processor()
		for b.Loop() {
			for _, err := range c.reader.Records(context.Background(), capfile.Window{}) {
				if err != nil {
					b.Fatal(err)
				}
			}
		}
		each(b)
	})
	b.Run("decode", func(b *testing.B) {
		began = processor()
		for b.Loop() {
			if _, err := c.scan(context.Background(), capfile.Window{}, listener{}, dropReading); err != nil {
				b.Fatal(err)
			}
		}
		each(b)
	})
	b.Run("analyse", func(b *testing.B) {
		began = processor()
		for b.Loop() {
			if _, _, err := c.analyseOn(context.Background(), 1); err != nil {
				b.Fatal(err)
			}
		}
		each(b)
	})
}

func dropReading(decode.Reading) error { return nil }
