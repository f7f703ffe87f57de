package main

import (
	"io"
	"os"
	"strings"
	"sync"

	"github.com/charmbracelet/x/ansi"
	"golang.org/x/term"

	"tundish/dashboards/findings"
)

// screen is standard error, shared by what passes (log lines) and what stays (a page that is drawn anew in its
// place). On anything but a terminal it is a plain writer.
type screen struct {
	mu    sync.Mutex
	w     io.Writer
	page  string // as it stands at the bottom of the terminal
	drawn int    // lines of it
}

func (s *screen) file() (*os.File, bool) {
	f, ok := s.w.(*os.File)
	return f, ok && term.IsTerminal(int(f.Fd()))
}

// live is where lines go while a page is drawn: above it where both are on the terminal.
func (s *streams) live() io.Writer {
	if f, ok := s.out.(*os.File); ok && s.screen.terminal() && term.IsTerminal(int(f.Fd())) {
		return s.screen
	}
	return s.out
}

func (s *screen) terminal() bool {
	_, ok := s.file()
	return ok
}

// narrowScreen is the width below which a page is wrapped as if for a plain one: what a terminal reports then is
// seldom its width.
const narrowScreen = 20

func (s *screen) width() int {
	if f, ok := s.file(); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil && width >= narrowScreen {
			return width
		}
	}
	return plainWidth
}

// Write puts whole lines above the page.
func (s *screen) Write(text []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.drawn == 0 {
		return s.w.Write(text)
	}
	_, err := io.WriteString(s.w, clearLines(s.drawn)+string(text)+s.page)
	return len(text), err
}

// show draws the page in place of the one before. A terminal that cannot be written to must not stop the work.
func (s *screen) show(lines []string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	erase := ""
	if s.drawn > 0 {
		erase = clearLines(s.drawn)
	}
	var b strings.Builder
	s.drawn = 0
	for _, l := range lines {
		indent := ""
		for part := range strings.SplitSeq(ansi.Wrap(findings.Printable(l), s.width()-3, ""), "\n") {
			b.WriteString("\r" + indent + part + "\n")
			indent = "  "
			s.drawn++
		}
	}
	s.page = b.String()
	_, _ = io.WriteString(s.w, erase+s.page)
}

// leave lets the page stand; what comes next begins on a line of its own, also behind a "^C" that the terminal shows.
func (s *screen) leave() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.drawn, s.page = 0, ""
	_, _ = io.WriteString(s.w, "\n")
}

// clearLines goes up some lines and clears all from there (ECMA-48: CUU, ED).
func clearLines(n int) string { return ansi.CursorUp(n) + "\r" + ansi.EraseDisplay(0) }
