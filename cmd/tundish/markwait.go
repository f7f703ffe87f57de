package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
)

// A capture has one writer. A mark that is made while a logger records waits in a small file beside the capture, and the
// logger takes it in with its next commit.

const (
	waitingInfix = ".mark-"
	// longestWaiting is the most bytes of such a file: a mark's text in JSON, each byte written as an escape. Own proposal.
	longestWaiting = 8 << 10
	// sameMark is how near two marks of the same words are one: a run's clock may place a mark somewhat off. Own proposal.
	sameMark = 2 * time.Second
)

// waitingMark is a mark that is not in the capture yet.
type waitingMark struct {
	At   time.Time `json:"at"`
	Now  bool      `json:"now"` // At is what the machine's clock said, which may be wrong: the run's clock knows better
	Text string    `json:"text"`
}

// leaveMark leaves a mark for the logger.
func leaveMark(capturePath string, m waitingMark) error {
	name := fmt.Sprintf("%s%s%d-%d", capturePath, waitingInfix, time.Now().UnixNano(), os.Getpid())
	return writeAside(name, func(w io.Writer) error { return json.NewEncoder(w).Encode(m) })
}

// waitingMarks are the files of those that wait, in the order in which they were made.
func waitingMarks(capturePath string) []string {
	all, err := os.ReadDir(filepath.Dir(capturePath))
	if err != nil {
		return nil // whoever opens the capture says it
	}
	var out []string
	for _, e := range all { // they come sorted
		if strings.HasPrefix(e.Name(), filepath.Base(capturePath)+waitingInfix) && e.Type().IsRegular() {
			out = append(out, filepath.Join(filepath.Dir(capturePath), e.Name()))
		}
	}
	return out
}

func readWaiting(path string) (m waitingMark, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return m, err
	}
	if info.Size() > longestWaiting {
		return m, fmt.Errorf("%d bytes are no mark", info.Size())
	}
	text, err := os.ReadFile(path)
	if err == nil {
		err = json.Unmarshal(text, &m)
	}
	if err != nil {
		return m, err
	}
	return m, errors.Join(markText(m.Text), checkYear(m.At.Format(time.RFC3339), m.At))
}

// markTaker takes in the marks that wait.
type markTaker struct {
	path  string
	clock capture.Clock
	log   *slog.Logger
	known []capfile.Mark // in the capture before: what was taken in when power failed is not taken twice
	bad   []string       // files that hold no mark: told once
	taken []string       // in the capture with the next commit
}

func newMarkTaker(path string, clock capture.Clock, log *slog.Logger) (*markTaker, error) {
	t := &markTaker{path: path, clock: clock, log: log}
	if len(waitingMarks(path)) == 0 {
		return t, nil
	}
	r, err := capfile.Open(path)
	if err != nil {
		return nil, err
	}
	t.known = r.Marks()
	return t, r.Close()
}

// due tells whether a mark waits.
func (t *markTaker) due() bool {
	return slices.ContainsFunc(waitingMarks(t.path), func(file string) bool { return !slices.Contains(t.bad, file) })
}

// take puts the marks that wait into the capture, before a commit.
func (t *markTaker) take(w *capfile.Writer, run uint32) error {
	for _, file := range waitingMarks(t.path) {
		if slices.Contains(t.bad, file) || slices.Contains(t.taken, file) {
			continue
		}
		m, err := readWaiting(file)
		if err != nil {
			t.bad = append(t.bad, file)
			t.log.Warn("a file beside the capture holds no mark: look at it, and remove it", "file", file, "error", err)
			continue
		}
		if !t.has(m) {
			if err := t.put(w, run, m); err != nil {
				return err
			}
		}
		t.taken = append(t.taken, file)
	}
	return nil
}

func (t *markTaker) has(m waitingMark) bool {
	return slices.ContainsFunc(t.known, func(k capfile.Mark) bool {
		return k.Text == m.Text && k.Time.Sub(m.At).Abs() < sameMark
	})
}

// put marks a moment of the run where it was made in this run, else the wall clock's time.
func (t *markTaker) put(w *capfile.Writer, run uint32, m waitingMark) error {
	if at := t.clock.Now() - time.Since(m.At); m.Now && at >= 0 && at <= t.clock.Now() {
		return w.Mark(run, at, m.Text)
	}
	return noteMark(w, m.At, m.Text)
}

// committed removes the files of what is lasting now.
func (t *markTaker) committed() {
	for _, file := range t.taken {
		if err := os.Remove(file); err != nil {
			t.bad = append(t.bad, file)
			t.log.Warn("a mark is in the capture, but its file beside it cannot be removed", "file", file, "error", err)
		}
	}
	t.taken = t.taken[:0]
}

// noteMark keeps a mark as a run of its own.
func noteMark(w *capfile.Writer, at time.Time, text string) error {
	run, err := w.StartRun(capfile.RunInfo{Kind: capfile.Note, Program: programName(), Started: at})
	if err != nil {
		return err
	}
	return errors.Join(w.Mark(run, 0, text), w.EndRun(run, 0, "a mark was made"))
}
