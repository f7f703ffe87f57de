package main

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// seenOn plays a terminal that knows what the screen sends: cursor up, clear to the end, return, new line.
func seenOn(t *testing.T, sent string) []string {
	t.Helper()
	lines, row := []string{""}, 0
	for sent != "" {
		var n int
		switch {
		case strings.HasPrefix(sent, "\x1b["):
			end := strings.IndexAny(sent, "AJ")
			if sent[end] == 'A' {
				if _, err := fmt.Sscanf(sent+" ", "\x1b[%dA", &n); err != nil {
					n = 1
				}
				row = max(0, row-n)
			} else {
				lines = append(lines[:row], "")
			}
			sent = sent[end+1:]
		case sent[0] == '\r':
			sent = sent[1:]
		case sent[0] == '\n':
			if row++; row == len(lines) {
				lines = append(lines, "")
			}
			sent = sent[1:]
		default:
			end := strings.IndexAny(sent, "\x1b\r\n")
			lines[row], sent = sent[:end], sent[end:]
		}
	}
	return lines
}

// A log line between two drawings stands above the page, which stays whole.
func TestLogAbovePage(t *testing.T) {
	var sent bytes.Buffer
	s := &screen{w: &sent}
	fmt.Fprintln(s, "Recording")
	s.show([]string{"10 s recorded", "boiler: 5 a minute"})
	fmt.Fprintln(s, "boiler lost")
	s.show([]string{"12 s recorded", "boiler: lost", "probes: nothing yet"})
	fmt.Fprintln(s, "boiler back")
	s.leave()
	fmt.Fprintln(s, "job.capture: 3 records")
	want := "Recording|boiler lost|boiler back|12 s recorded|boiler: lost|probes: nothing yet||job.capture: 3 records|"
	if got := strings.Join(seenOn(t, sent.String()), "|"); got != want {
		t.Errorf("the terminal shows\n%s\nwant\n%s", got, want)
	}
}

// Log lines and drawings come from different goroutines.
func TestScreenIsShared(t *testing.T) {
	var sent bytes.Buffer
	s := &screen{w: &sent}
	var all sync.WaitGroup
	all.Go(func() {
		for i := range 100 {
			s.show([]string{"page", fmt.Sprint(i)})
		}
	})
	all.Go(func() {
		for range 100 {
			fmt.Fprintln(s, "log")
		}
	})
	all.Wait()
	lines := seenOn(t, sent.String())
	if len(lines) != 103 || lines[99] != "log" || lines[100] != "page" || lines[101] != "99" {
		t.Errorf("the terminal ends with %q of %d lines", lines[max(0, len(lines)-5):], len(lines))
	}
}

// faulty is a decoder that fails outright.
type faulty struct{}

func (faulty) Decode(capture.Record, func(decode.Reading)) error { panic("a defect") }

// What is watched cannot stop the record: it is kept first, and a decoder that fails is watched no more.
func TestWatchCannotStopTheRecord(t *testing.T) {
	sheet, err := jobsheet.Parse("job.toml", []byte(probeSheet("flow")))
	if err != nil {
		t.Fatal(err)
	}
	w, err := capfile.Create(filepath.Join(t.TempDir(), "job.capture"), capfile.Options{})
	if err != nil {
		t.Fatal(err)
	}
	number, err := beginRun(w, sheet)
	if err != nil {
		t.Fatal(err)
	}
	all, err := newDecoders(sheet, sheet)
	if err != nil {
		t.Fatal(err)
	}
	seen := newWatch(all)
	s := sink{w, number, seen, nil}
	rec := capture.Record{Run: number, Source: "probes", Channel: "28-0000a71c01f4", Payload: []byte(probe25)}
	if err := s.Append(rec); err != nil || seen.values("probes") != "flow 25.06 °C" {
		t.Errorf("the status shows %q, error %v", seen.values("probes"), err)
	}
	all["probes"] = &sourceDecoder{own: faulty{}}
	for range 2 {
		if err := s.Append(rec); err != nil {
			t.Error(err)
		}
	}
	if err := w.Close(); err != nil || w.Head().Records != 3 {
		t.Errorf("%d records are kept, error %v; want 3", w.Head().Records, err)
	}
	fresh := newWatch(decoders{"probes": &sourceDecoder{own: faulty{}}})
	if err := (sink{w, number, fresh, nil}).Append(rec); !errors.Is(err, capfile.ErrClosed) || len(fresh.decoders) != 1 {
		t.Errorf("error %v; a record that was not kept was watched", err)
	}
}

// Only want of room is answered by making room.
func TestHintFitsTheError(t *testing.T) {
	for _, c := range []struct {
		err  error
		hint bool
	}{{fmt.Errorf("x: %w", capfile.ErrFull), true}, {errors.New("input/output error"), false}} {
		path := filepath.Join(t.TempDir(), "job.capture")
		w, err := capfile.Create(path, capfile.Options{})
		if err != nil {
			t.Fatal(err)
		}
		err = recordCmd{}.end(w, 1, capture.StartClock(), path, c.err, false, &streams{})
		var h hinted
		if !errors.Is(err, c.err) || errors.As(err, &h) != c.hint {
			t.Errorf("%v gives %#v, hint wanted: %v", c.err, err, c.hint)
		}
	}
}
