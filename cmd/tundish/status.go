package main

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/charmbracelet/x/ansi"
	"golang.org/x/term"

	"tundish/analyse"
	"tundish/capture"
	"tundish/capture/recorder"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// statusEvery is how often the status line is drawn: often enough to see a probe warm in the hand, calm enough to
// read.
const statusEvery = 2 * time.Second

// watch decodes what is recorded as it comes, for the status line only.
type watch struct {
	mu       sync.Mutex
	decoders map[string]*sourceDecoder
	last     map[decode.Series]float64
}

func newWatch(sheet *jobsheet.Sheet) (*watch, error) {
	w := &watch{decoders: map[string]*sourceDecoder{}, last: map[decode.Series]float64{}}
	for i := range sheet.Sources {
		d, err := newSourceDecoder(&sheet.Sources[i], sheet)
		if err != nil {
			return nil, err
		}
		w.decoders[sheet.Sources[i].Name] = d
	}
	return w, nil
}

func (w *watch) see(rec capture.Record) {
	w.mu.Lock()
	defer w.mu.Unlock()
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
// where the record goes, and watches nothing.
func showStatus(s *streams, rec *recorder.Recorder, w *watch, path string) (stop func()) {
	f, ok := s.err.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		fmt.Fprintf(s.err, "recording into %s; SIGINT or SIGTERM stops it cleanly\n", path)
		return func() {}
	}
	fmt.Fprintf(f, "Recording into %s. Ctrl-C stops it cleanly.\n", path)
	p := &statusPage{path: path, watch: w}
	done := make(chan struct{})
	var wait sync.WaitGroup
	wait.Go(func() {
		tick := time.NewTicker(statusEvery)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
				width, _, err := term.GetSize(int(f.Fd()))
				if err != nil || width < 20 {
					width = plainWidth
				}
				fmt.Fprint(f, p.draw(rec.Status(), width))
			}
		}
	})
	return func() {
		close(done)
		wait.Wait()
	}
}

// statusPage draws what each source delivers, in place.
type statusPage struct {
	path  string
	watch *watch
	drawn int // lines
}

func (p *statusPage) draw(st recorder.Status, width int) string {
	var b strings.Builder
	if p.drawn > 0 {
		fmt.Fprintf(&b, "\x1b[%dA\x1b[J", p.drawn)
	}
	var lines []string
	for _, l := range p.lines(st) {
		indent := ""
		for _, part := range strings.Split(ansi.Wrap(l, width-3, ""), "\n") {
			lines = append(lines, indent+part)
			indent = "  "
		}
	}
	for _, l := range lines {
		b.WriteString("\r" + l + "\n")
	}
	p.drawn = len(lines)
	return b.String()
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
