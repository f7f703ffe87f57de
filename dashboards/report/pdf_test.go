package report

import (
	"bytes"
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/analyse"
	"tundish/decode"
)

// pdfText extracts the text of a PDF with pdftotext (poppler-utils): another program than the one that wrote it.
func pdfText(t testing.TB, pdf []byte) string {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Fatal("pdftotext is not installed: install poppler-utils to run this test")
	}
	file := filepath.Join(t.TempDir(), "report.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	var problems bytes.Buffer
	cmd := exec.Command(tool, "-layout", "-enc", "UTF-8", file, "-")
	cmd.Stderr = &problems
	out, err := cmd.Output()
	if err != nil || problems.Len() > 0 {
		t.Fatalf("pdftotext: %v: %s", err, problems.String())
	}
	return string(out)
}

// squeeze makes every run of white space one space, so that line breaks do not matter.
func squeeze(s string) string { return strings.Join(strings.Fields(s), " ") }

func wantAll(t *testing.T, text string, wants ...string) {
	t.Helper()
	text = squeeze(text)
	for _, w := range wants {
		if !strings.Contains(text, squeeze(w)) {
			t.Errorf("missing: %s", w)
		}
	}
}

// saidInFull is what both forms of the report of Mill Row 3 must say.
func saidInFull(in Input) []string {
	out := []string{
		"Mill Row 3", "3 Mill Row, Invented Town", "A. Sample", "Europe/London (GMT)", "Mon 12 Jan 2026, 00:00:00 to Thu 15 Jan 2026, 00:00:00",
		"2 faults were found, and 1 thing worth knowing.", "Act – Lockout.", "Advice – Short cycling.", "Note – Appliance's bus silent.",
		"What happened before it", "What would settle it", "no ignition", "last firing that held",
		"Checked and clear", "Not assessable", "no cylinder temperature",
		"How it was measured", "300 mm below the casing", "parity errors", "requests without an answer", "95.8 %", "1 204 331", "99.9 %",
		millHead, "tundish verify mill-row-3.capture", "What it does not prove", "212 records at the end",
		"common practice, no source", "The values by which the checks decided",
		"tenant calls: no heating", "(without text)", "within 0.1 s", "tundish 0.1.0",
		"Not stated on the job sheet: serial number, water content",
		"Gas Safety", "GS38", "personal data", "Resetting again and again", "scalds", "Local rules come first", "carbon monoxide",
	}
	for _, f := range in.Result.Findings {
		out = append(out, f.Summary)
		for _, c := range f.Causes {
			out = append(out, c.Because, c.Settle)
		}
	}
	return out
}

func TestPDFSaysEverything(t *testing.T) {
	in := millRow(t, 3)
	text := pdfText(t, pdfOf(t, in))
	wants := saidInFull(in)
	for i, w := range wants { // first letters of table cells are capitals
		if w == "no cylinder temperature" {
			wants[i] = "No cylinder temperature"
		}
	}
	wantAll(t, text, wants...)
	wantAll(t, text, "Page 1 of ", "chain head "+millHead[:headDigits])
	pages := strings.Count(text, "\f")
	if n := strings.Count(text, "chain head "+millHead[:headDigits]); n != pages {
		t.Errorf("the foot is on %d of %d pages", n, pages)
	}
}

func TestPDFSameBytes(t *testing.T) {
	a, b := pdfOf(t, millRow(t, 3)), pdfOf(t, millRow(t, 3))
	if !bytes.Equal(a, b) {
		t.Error("the same input gave two different files")
	}
	for _, w := range []string{"/Lang (en-GB)", "/Outlines", "D:20260115000000"} {
		if !bytes.Contains(a, []byte(w)) {
			t.Errorf("the file lacks %s", w)
		}
	}
}

// TestPrintableCharacters: characters that reports need are in the typeface and come back out of the file.
func TestPrintableCharacters(t *testing.T) {
	const needed = "° Δ − – ≤ ≥ ³ µ “ ” ‘ ’ § · … × → é ü ß €"
	face := newTypeface()
	if got := face.printable(needed); got != needed || face.replaced {
		t.Fatalf("printed as %q", got)
	}
	in := millRow(t, 2)
	spaced := "so: " + strings.ReplaceAll(needed, " ", " and ") // single characters in a row would be read as one wide word
	in.Job.Notes = spaced
	wantAll(t, pdfText(t, pdfOf(t, in)), spaced)
}

// TestPDFReplacesWhatItCannotPrint: what the typeface lacks becomes a mark and is told.
func TestPDFReplacesWhatItCannotPrint(t *testing.T) {
	in := millRow(t, 2)
	in.Job.Client = "שלום 漢字 🔥x"
	text := pdfText(t, pdfOf(t, in))
	mark := newTypeface().mark
	want := strings.Repeat(mark, 4) + " " + strings.Repeat(mark, 2) + " " + mark + "x"
	wantAll(t, text, want, "The mark "+mark+" stands for a character")
	if other := pdfText(t, pdfOf(t, millRow(t, 2))); strings.Contains(other, "stands for a character") {
		t.Error("a report without such characters explains the mark")
	}
}

func TestAmendedOnEveryPage(t *testing.T) {
	in := millRow(t, 2)
	in.Amended = "output_min_kw 6.0 → 5.2"
	text := pdfText(t, pdfOf(t, in))
	wantAll(t, text, "The job sheet was amended after recording: output_min_kw 6.0 → 5.2.")
	pages := strings.Count(text, "\f")
	if n := strings.Count(text, "Job sheet amended after recording: output_min_kw 6.0 → 5.2"); n != pages {
		t.Errorf("told on %d of %d pages", n, pages)
	}
	if first, _, _ := strings.Cut(text, "\f"); !strings.Contains(first, "The job sheet was amended") {
		t.Error("not told in the verdict on page 1")
	}
}

func TestBrokenSealComesFirst(t *testing.T) {
	in := millRow(t, 2)
	in.Proof.Intact, in.Proof.Problem = false, "block 17: its hash is not that of its content"
	text := pdfText(t, pdfOf(t, in))
	wantAll(t, text, "The seal of the capture is not shown to be whole: block 17: its hash is not that of its content.", "not whole: block 17")
	if strings.Index(text, "block 17") > strings.Index(text, "2 faults were found") {
		t.Error("the broken seal stands below the findings")
	}
	in = millRow(t, 2)
	in.Proof.Recording = true
	wantAll(t, pdfText(t, pdfOf(t, in)), "was still being recorded when this report was made")
}

// TestLittleKnown: a report of next to nothing says what is not known, and leaves no empty labels.
func TestLittleKnown(t *testing.T) {
	in := Input{Result: &analyse.Result{}}
	text := pdfText(t, pdfOf(t, in))
	wantAll(t, text, "Job without a name", "Period of the record: not known", "Nothing was checked", "Which devices were connected is not known",
		"Chain head not known", "whose version is not known", "No series was recorded", "clock was known is not recorded")
	for _, label := range []string{"Client", "Address", "Engineer", "Firm", "Serial number", "Consent to", "Notes", "Capture file", "0001", "NaN"} {
		if strings.Contains(text, label) {
			t.Errorf("%q stands there with nothing behind it", label)
		}
	}
}

func TestNothingFound(t *testing.T) {
	in := millRow(t, 2)
	in.Result.Findings = nil
	wantAll(t, pdfText(t, pdfOf(t, in)), "Nothing was found.", "Checked and clear of: Small flow–return difference;", "Not assessable, so neither found nor cleared: Output far above the need;")
}

func TestErrors(t *testing.T) {
	var b bytes.Buffer
	if err := WritePDF(t.Context(), Input{}, &b); !errors.Is(err, errNoResult) {
		t.Errorf("without a result: %v", err)
	}
	broken := errors.New("block 3 is unreadable")
	in := millRow(t, 2)
	in.Scan = func(context.Context, time.Time, time.Time, func(decode.Reading) error) error { return broken }
	if err := WritePDF(t.Context(), in, &b); !errors.Is(err, broken) {
		t.Errorf("unreadable capture: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := WriteHTML(ctx, millRow(t, 2), &b); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if b.Len() > 0 {
		t.Errorf("%d bytes were written all the same", b.Len())
	}
	if err := WritePDF(t.Context(), Input{Result: &analyse.Result{}}, brokenWriter{}); !errors.Is(err, errDisk) {
		t.Errorf("disk full: %v", err)
	}
}

var errDisk = errors.New("no space left")

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errDisk }

// TestTableFits: columns never add up to more than the page is wide, whatever stands in them.
func TestTableFits(t *testing.T) {
	p := newPDF(&document{}, Input{Result: &analyse.Result{}})
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(t, "columns")
		cell := rapid.StringMatching(`[a-z ]{0,60}|[A-Z]{0,400}`)
		tb := table{head: rapid.SliceOfN(cell, n, n).Draw(t, "head")}
		for range rapid.IntRange(0, 4).Draw(t, "rows") {
			tb.rows = append(tb.rows, rapid.SliceOfN(cell, n, n).Draw(t, "row"))
		}
		sum := cellGap * float64(n-1)
		for i, w := range p.columns(tb) {
			if !(w > 0) {
				t.Fatalf("column %d is %v wide", i, w)
			}
			sum += w
		}
		if sum > textWidth+0.01 {
			t.Fatalf("the table is %v wide, the page %v", sum, textWidth)
		}
	})
}

// TestWrapKeepsText: breaking lines loses nothing but spaces, and no line is too wide.
func TestWrapKeepsText(t *testing.T) {
	p := newPDF(&document{}, Input{Result: &analyse.Result{}})
	p.style("", bodySize, inkText)
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`([a-zé°]{1,8} ?){0,40}|[A-Z]{0,300}`).Draw(t, "text")
		width := rapid.Float64Range(30, 480).Draw(t, "width")
		lines := p.wrap(s, width)
		for _, l := range lines {
			if w := p.f.GetStringWidth(l); w > width+0.01 {
				t.Fatalf("line %q is %v wide, room is %v", l, w, width)
			}
		}
		strip := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		if got := strip(strings.Join(lines, "")); got != strip(s) {
			t.Fatalf("%q became %q", s, got)
		}
	})
}
