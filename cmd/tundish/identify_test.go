package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"
)

// handTree is the kernel's folder of two probes and more, whose temperatures a test sets.
type handTree struct {
	t    *testing.T
	root string
}

// set writes a DS18B20's file: the register in 1/16 °C, the CRC by the datasheet's polynomial.
func (h handTree) set(probe string, c float64) {
	h.t.Helper()
	w := uint16(int16(c * 16))
	pad := []byte{byte(w), byte(w >> 8), 0x4b, 0x46, 0x7f, 0xff, 0x0f, 0x10}
	crc := byte(0)
	for _, b := range pad {
		crc ^= b
		for range 8 {
			if crc&1 != 0 {
				crc = crc>>1 ^ 0x8C
			} else {
				crc >>= 1
			}
		}
	}
	line := fmt.Sprintf("% x %02x", pad, crc)
	text := fmt.Sprintf("%s : crc=%02x YES\n%s t=%d\n", line, crc, line, int(int16(w))*1000/16)
	path := filepath.Join(h.root, probe, "w1_slave")
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		h.t.Fatal(err)
	}
	if err := os.WriteFile(path+".new", []byte(text), 0o644); err != nil {
		h.t.Error(err)
	}
	if err := os.Rename(path+".new", path); err != nil {
		h.t.Error(err)
	}
}

// hearer hears what a command prints, and does something at some of its lines.
type hearer struct {
	mu   sync.Mutex
	text bytes.Buffer
	wait sync.WaitGroup // for what it does
	at   []reaction
}

type reaction struct {
	word string
	do   func()
}

func (l *hearer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.text.Write(p)
	for len(l.at) > 0 && strings.Contains(l.text.String(), l.at[0].word) {
		l.wait.Go(l.at[0].do)
		l.at = l.at[1:]
	}
	return len(p), nil
}

func (l *hearer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

const handSheet = `# keep
[job]
name = "x" # this
[[source]]
name = "probes"
kind = "one-wire"
root = %q
points = { "28-00000000000f" = "return" } # was another
`

const probeA, probeB, probeC = "28-00000000000a", "28-00000000000b", "28-00000000000c"

func newHands(t *testing.T) (h handTree, job string) {
	h = handTree{t, filepath.Join(t.TempDir(), "devices")}
	for _, p := range []string{probeA, probeB, probeC} {
		h.set(p, 20)
	}
	job = filepath.Join(t.TempDir(), "job.toml")
	if err := os.WriteFile(job, fmt.Appendf(nil, handSheet, h.root), 0o600); err != nil {
		t.Fatal(err)
	}
	return h, job
}

// warmed raises a probe as a hand does, in steps that readings lie between.
func (h handTree) warmed(probe string) func() {
	return func() {
		for c := 20.0; c <= 27; c += 0.25 {
			h.set(probe, c)
			time.Sleep(15 * time.Millisecond) // the hand's pace, not a wait
		}
	}
}

// hear makes a hearer that has done all when the test's folders go.
func hear(t *testing.T, at ...reaction) *hearer {
	l := &hearer{at: at}
	t.Cleanup(l.wait.Wait)
	return l
}

func patient(t *testing.T) context.Context {
	ctx, stop := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(stop)
	return ctx
}

// TestIdentifyInOrder: probes are named in the order in which they get warm; a probe that is at 60 °C and rises is no
// hand; the sheet changes in its points alone.
func TestIdentifyInOrder(t *testing.T) {
	h, job := newHands(t)
	h.set(probeC, 58)
	out := hear(t, []reaction{
		{"First: flow", func() { h.set(probeC, 66); h.warmed(probeB)() }},
		{"Next: return", h.warmed(probeA)},
	}...)
	errs := &hearer{}
	if got := run(patient(t), []string{"sources", "--identify", job, "--as", "flow,return", "--every", "10ms"}, strings.NewReader(""), out, errs); got != exitDone {
		t.Fatalf("exit %d\n%s%s", got, out, errs)
	}
	text, err := os.ReadFile(job)
	want := strings.Replace(fmt.Sprintf(handSheet, h.root), `{ "28-00000000000f" = "return" }`,
		`{ "28-00000000000b" = "flow", "28-00000000000a" = "return" }`, 1)
	if err != nil || string(text) != want {
		t.Errorf("%v\n%s", err, text)
	}
	if info, err := os.Stat(job); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the file's mode became %v, %v", info.Mode(), err)
	}
	for _, line := range strings.Split(out.String(), "\n") {
		if n := utf8.RuneCountInString(line); n > 46 && !strings.Contains(line, job) {
			t.Errorf("%d columns: %s", n, line)
		}
	}
}

// TestIdentifyAsks: the person is asked, may err, may leave a probe out, and may end.
func TestIdentifyAsks(t *testing.T) {
	h, job := newHands(t)
	read, person := io.Pipe()
	say := func(words string) func() { return func() { fmt.Fprint(person, words) } }
	out := hear(t, []reaction{
		{"Warm one probe", h.warmed(probeA)},
		{probeA + " rises", say("flwo\n")},
		{"did you mean flow", say("flow\n")},
		{probeA + " is flow", h.warmed(probeB)},
		{probeB + " rises", say("flow\n")},
		{"flow is another probe already", say("\nend\n")},
	}...)
	errs := &hearer{}
	if got := run(patient(t), []string{"sources", "--identify", job, "--every", "10ms"}, read, out, errs); got != exitDone {
		t.Fatalf("exit %d\n%s%s", got, out, errs)
	}
	text, _ := os.ReadFile(job)
	if !strings.Contains(string(text), `points = { "28-00000000000f" = "return", "28-00000000000a" = "flow" } # was another`) {
		t.Errorf("%s", text)
	}
}

// TestIdentifyNewSheet: with -o a starting sheet with the points comes of it.
func TestIdentifyNewSheet(t *testing.T) {
	h, _ := newHands(t)
	file := filepath.Join(t.TempDir(), "new.toml")
	out := hear(t, reaction{"First: outside", h.warmed(probeC)})
	errs := &hearer{}
	args := []string{"sources", "--identify", "--root", h.root, "--serial", h.root, "-o", file, "--as", "outside", "--every", "10ms"}
	if got := run(patient(t), args, strings.NewReader(""), out, errs); got != exitDone {
		t.Fatalf("exit %d\n%s%s", got, out, errs)
	}
	text, _ := os.ReadFile(file)
	if !strings.Contains(string(text), "points = { \"28-00000000000c\" = \"outside\" }") {
		t.Errorf("%s", text)
	}
}

// TestNothingWrittenAfterAStop: identify and pair that are stopped, and a sheet that was changed meanwhile.
func TestNothingWrittenAfterAStop(t *testing.T) {
	h, job := newHands(t)
	before := fmt.Sprintf(handSheet, h.root)
	pairSheet := strings.Replace(before, `"28-00000000000f" = "return"`, `"28-00000000000a" = "flow", "28-00000000000b" = "return"`, 1)
	for _, c := range []struct {
		name, sheet, word, says string
		args                    []string
		do                      func(stop func())
	}{
		{"identify stopped", before, "Warm one", "stopped: nothing was written", []string{"sources", "--identify", job, "--as", "flow", "--every", "10ms"},
			func(stop func()) { stop() }},
		{"pair stopped", pairSheet, "Comparing", "stopped: nothing was written", []string{"pair", job, "probes/flow", "probes/return", "--every", "10ms"},
			func(stop func()) { stop() }},
		{"pair, the sheet changed", pairSheet, "Comparing", "was changed by somebody else meanwhile", []string{"pair", job, "probes/flow", "probes/return", "--every", "10ms", "--for", "2s"},
			func(func()) {
				if err := os.WriteFile(job, []byte(pairSheet+"# mine\n"), 0o600); err != nil {
					t.Error(err)
				}
			}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if err := os.WriteFile(job, []byte(c.sheet), 0o600); err != nil {
				t.Fatal(err)
			}
			ctx, stop := context.WithCancel(patient(t))
			defer stop()
			out, errs := hear(t, reaction{c.word, func() { c.do(stop) }}), &hearer{}
			if got := run(ctx, c.args, strings.NewReader(""), out, errs); got != exitFail || !strings.Contains(errs.String(), c.says) {
				t.Errorf("exit %d\n%s%s", got, out, errs)
			}
			text, _ := os.ReadFile(job)
			if strings.TrimSuffix(string(text), "# mine\n") != c.sheet {
				t.Errorf("the sheet became\n%s", text)
			}
		})
	}
}

// TestWarming: two that rise together are no hand.
func TestWarming(t *testing.T) {
	w := newWarming()
	for i := range 60 {
		at := time.Duration(i) * time.Second
		a, b := 20+float64(i)/10, 20+float64(i)/12
		if w.take(probeA, at, a) || w.take(probeB, at, b) {
			if a-b < aheadK-0.1 {
				t.Fatalf("after %v: %.1f and %.1f °C", at, a, b)
			}
			return
		}
	}
}
