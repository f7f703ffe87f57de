package main

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"time"

	"tundish/analyse"
	"tundish/capture"
	"tundish/capture/recorder"
	"tundish/decode"
)

// statusEvery is how often the status line is drawn: often enough to see a probe warm in the hand, calm enough to
// read.
const statusEvery = 2 * time.Second

// watch decodes what is recorded as it comes, for the status line only.
type watch struct {
	mu       sync.Mutex
	decoders decoders
	last     map[decode.Series]float64
}

func newWatch(all decoders) *watch {
	return &watch{decoders: all, last: map[decode.Series]float64{}}
}

// see shows a record that was kept. A decoder that fails outright is watched no more; the record goes on.
func (w *watch) see(rec capture.Record) {
	w.mu.Lock()
	defer w.mu.Unlock()
	defer func() {
		if recover() != nil {
			delete(w.decoders, rec.Source)
		}
	}()
	d := w.decoders[rec.Source]
	if d == nil || rec.Note != "" {
		return
	}
	// What is wrong with a payload is told after the recording.
	_ = d.Decode(rec, func(r decode.Reading) { w.last[r.Series] = r.Value })
}

// values are the last values of a source, the most telling first.
func (w *watch) values(source string) string {
	w.mu.Lock()
	defer w.mu.Unlock()
	var out []string
	for _, p := range decode.Points() {
		v, ok := w.last[decode.Series{Source: source, Point: p}]
		if !ok {
			continue
		}
		if p.Binary() {
			out = append(out, fmt.Sprintf("%s %s", p, map[bool]string{true: "on", false: "off"}[v == 1]))
		} else {
			out = append(out, fmt.Sprintf("%s %.4g %s", p, v, p.Unit()))
		}
	}
	return strings.Join(out, ", ")
}

// showStatus draws the status on a terminal until the function that it returns is called. Elsewhere it says once
// where the record goes.
func showStatus(to *screen, logger *recorder.Recorder, w *watch, path string) (stop func()) {
	if !to.terminal() {
		fmt.Fprintf(to, "recording into %s; SIGINT or SIGTERM stops it cleanly\n", path)
		return func() {}
	}
	fmt.Fprintf(to, "Recording into %s. Ctrl-C stops it cleanly.\n", path)
	p := &statusPage{path: path, watch: w}
	done := make(chan struct{})
	var wait sync.WaitGroup
	wait.Go(func() {
		tick := time.NewTicker(statusEvery)
		defer tick.Stop()
		for {
			to.show(p.lines(logger.Status()))
			select {
			case <-done:
				return
			case <-tick.C:
			}
		}
	})
	return func() {
		close(done)
		wait.Wait()
		to.leave()
	}
}

// statusPage is what each source delivers.
type statusPage struct {
	path  string
	watch *watch
}

func (p *statusPage) lines(st recorder.Status) []string {
	clock := "clock not synchronised"
	if st.Synced {
		clock = "clock synchronised"
	}
	lines := []string{fmt.Sprintf("%s recorded, %s, %s, safe up to %s ago", analyse.Span(st.At), p.size(), clock,
		analyse.Span(max(0, st.At-st.CommittedAt)))}
	for _, s := range st.Sources {
		lines = append(lines, s.Name+": "+p.state(st, s))
	}
	return lines
}

func (p *statusPage) state(st recorder.Status, s recorder.SourceStatus) string {
	switch {
	case s.Lost != "":
		return fmt.Sprintf("lost for %s: %s", analyse.Span(st.At-s.LostAt), s.Lost)
	case s.Records == 0:
		return fmt.Sprintf("nothing yet, for %s", analyse.Span(s.Silent))
	case s.Silent > time.Minute:
		return fmt.Sprintf("silent for %s", analyse.Span(s.Silent))
	}
	values := p.watch.values(s.Name)
	if values == "" {
		values = fmt.Sprintf("no value yet; last came %q", s.LastPayload)
	}
	return fmt.Sprintf("%.0f a minute; %s", s.PerMinute, values)
}

func (p *statusPage) size() string {
	var total int64
	for _, suffix := range []string{"", "-wal"} {
		if info, err := os.Stat(p.path + suffix); err == nil {
			total += info.Size()
		}
	}
	if total < 1e6 {
		return fmt.Sprintf("%.0f kB", float64(total)/1e3)
	}
	return fmt.Sprintf("%.1f MB", float64(total)/1e6)
}
