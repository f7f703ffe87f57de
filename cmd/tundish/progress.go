package main

import (
	"io"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"
)

// progress shows how far a long piece of work is: a bar on a terminal, nothing elsewhere.
type progress struct{ bar *progressbar.ProgressBar }

// newProgress begins a bar for a work of total steps.
func newProgress(w io.Writer, what string, total int64) progress {
	if s, ok := w.(*screen); ok {
		w = s.w
	}
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return progress{}
	}
	return progress{progressbar.NewOptions64(total, progressbar.OptionSetWriter(f),
		progressbar.OptionSetDescription(what), progressbar.OptionSetWidth(24),
		progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish(), progressbar.OptionSetElapsedTime(false))}
}

// at tells how many steps are done. A bar that cannot be drawn must not stop the work.
func (p progress) at(done int64) {
	if p.bar != nil {
		_ = p.bar.Set64(done)
	}
}

// minutes is at, of a simulated time whose steps are minutes.
func (p progress) minutes(done, _ time.Duration) { p.at(int64(done / time.Minute)) }

func (p progress) end() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}

// readSoFar is the progress of reading files, bytes.
type readSoFar struct {
	progress
	done int64
}

// counted is a file whose reading is told; of may be nil.
type counted struct {
	io.Reader
	of *readSoFar
}

func (c counted) Read(b []byte) (int, error) {
	n, err := c.Reader.Read(b)
	if c.of != nil {
		c.of.done += int64(n)
		c.of.at(c.of.done)
	}
	return n, err
}

// sizes is how many bytes files have together.
func sizes(files []inputFile) (sum int64) {
	for _, f := range files {
		sum += f.size
	}
	return sum
}
