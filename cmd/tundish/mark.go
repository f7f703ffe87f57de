package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"tundish/analyse"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/dashboards/findings"
)

const (
	// longestMark is the most characters of a mark. Own proposal: it stands in one line of a story.
	longestMark = 300
	// farOutside is how far from the record a mark may lie without a warning: people note when they call, and the logger
	// is fetched days later. Own proposal.
	farOutside = 24 * time.Hour
)

type markCmd struct {
	Capture string `arg:"" help:"The capture to keep it in."`
	Text    string `arg:"" help:"What was noticed or done: \"reset pressed\", \"cold shower\"."`
	At      string `placeholder:"TIME" help:"When: RFC 3339, or \"2026-01-13 06:41\" in the job's time zone (default: now)."`
}

func (c markCmd) Run(s *streams) error {
	text := strings.TrimSpace(c.Text)
	if err := markText(text); err != nil {
		return usageError{fmt.Errorf("the mark's text %w", err)}
	}
	kept, err := openCapture(c.Capture, "")
	if err != nil {
		return err
	}
	zone, from, to := kept.sheet.Job.Zone, time.Time{}, time.Time{}
	for _, r := range kept.reader.Runs() {
		if r.Kind == capfile.Note || r.From.IsZero() {
			continue
		}
		if from.IsZero() || r.From.Before(from) {
			from = r.From
		}
		if r.To.After(to) {
			to = r.To
		}
	}
	if err := kept.close(); err != nil {
		return err
	}
	at := time.Now()
	if c.At != "" {
		if at, err = markTime(c.At, zone); err != nil {
			return usageError{err}
		}
	}
	w, err := capfile.Continue(c.Capture, capfile.Options{})
	then := "the logger that records into it takes the mark in within seconds, with its next commit"
	switch {
	case errors.Is(err, capfile.ErrBusy):
		err = leaveMark(c.Capture, waitingMark{At: at, Now: c.At == "", Text: text})
	case err != nil:
		err = noCapture(err)
	default:
		var head capfile.Head
		head, err = keepMark(w, c.Capture, at, text)
		then = "head " + head.String()
	}
	if err != nil {
		return err
	}
	if !from.IsZero() && (at.Before(from.Add(-farOutside)) || at.After(to.Add(farOutside))) {
		fmt.Fprintf(s.err, "warning: the record goes from %s to %s; the mark lies far outside and tells nothing of it\n", markClock(from, zone), markClock(to, zone))
	}
	_, err = fmt.Fprintf(s.out, "%s: marked %s: %s\n%s\n", findings.Printable(c.Capture), markClock(at, zone), text, then)
	return err
}

func markClock(t time.Time, zone *time.Location) string {
	return t.In(zone).Format("Mon 2 Jan 2006 15:04 MST")
}

func markText(text string) error {
	switch n := utf8.RuneCountInString(text); {
	case text == "":
		return errors.New("is empty; say what was noticed or done")
	case !utf8.ValidString(text):
		return errors.New("is not UTF-8")
	case n > longestMark:
		return fmt.Errorf("has %d characters, at most %d are kept", n, longestMark)
	}
	return jobsheet.OneLine(text)
}

// localTimes are how a time is written in the job's zone.
var localTimes = []string{"2006-01-02 15:04", "2006-01-02 15:04:05"}

// markTime reads a time. Where clocks are changed, a local time may never have been, or been twice.
func markTime(text string, zone *time.Location) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, checkYear(text, t)
	}
	for _, form := range localTimes {
		t, err := time.ParseInLocation(form, text, zone)
		if err != nil {
			continue
		}
		if t.Format(form) != text {
			return t, fmt.Errorf("--at: %q never was in %s: the clocks went forward over it", text, zone)
		}
		for _, by := range []time.Duration{-time.Hour, time.Hour} {
			if other := t.Add(by); other.Format(form) == text {
				return t, fmt.Errorf("--at: %q was twice in %s, as the clocks went back; say which by an offset: %s or %s", text, zone,
					t.Format(time.RFC3339), other.Format(time.RFC3339))
			}
		}
		return t, checkYear(text, t)
	}
	return time.Time{}, fmt.Errorf("--at: %q is no time: write 2026-01-13T06:41:00Z, or \"2026-01-13 06:41\" in the job's time zone (%s)", text, zone)
}

// checkYear refuses what no capture can hold.
func checkYear(text string, t time.Time) error {
	if y := t.UTC().Year(); y < 1970 || y > 2150 {
		return fmt.Errorf("--at: %q: the year must be from 1970 to 2150", text)
	}
	return nil
}

// keepMark puts a mark into a capture that nobody records into, as a run of its own, and closes it.
func keepMark(w *capfile.Writer, path string, at time.Time, text string) (capfile.Head, error) {
	err := errors.Join(noteMark(w, at, text), w.Commit())
	if err = errors.Join(err, w.Close()); err != nil {
		return capfile.Head{}, fmt.Errorf("%s: %w", path, err)
	}
	return w.Head(), nil
}

// marks are what people noted, in order of time; those whose time is not known are left out.
func (c *captured) marks() []analyse.Mark {
	var out []analyse.Mark
	for _, m := range c.reader.Marks() {
		if !m.Time.IsZero() {
			out = append(out, analyse.Mark{At: m.Time, Text: m.Text})
		}
	}
	slices.SortStableFunc(out, func(a, b analyse.Mark) int { return a.At.Compare(b.At) })
	return out
}
