package report

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// FuzzText: no text, however hostile, stops a report.
func FuzzText(f *testing.F) {
	for _, s := range []string{"Mill Row 3", strings.Repeat("W", 3000), "<script>alert(1)</script>", "שלום עולם", "🔥👨‍👩‍👧", "\u202egnp.exe",
		"a\x00b\x1b[31m\r\n", "\xff\xfe", "{nb}", "(\\)", strings.Repeat("a ", 2000), "\u0301\u0301", "' onload='x", "-->", "]]>"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		s = s[:min(len(s), 1<<12)] // longer than any text of a job sheet
		in := Input{Result: &analyse.Result{Job: s, From: noon, To: noon.Add(time.Hour)}, Amended: s, Program: s, Clock: []string{s}}
		in.Job = Job{Name: s, Client: s, Notes: s, Engineer: s}
		in.Sources = []Source{{Name: s, Kind: s, At: s, Points: []string{s}, Counts: []decode.Count{{Name: s, N: 1}}}}
		in.Marks = []Mark{{noon, s}}
		in.Proof = Proof{File: s, Head: s, Problem: s}
		in.Result.Findings = []analyse.Finding{{Kind: s, Summary: s, Cause: s, From: noon, To: noon, Numbers: []analyse.Number{{Name: s, Label: s, Unit: s}},
			Evidence: []analyse.Evidence{{From: noon, To: noon, Note: s, Cause: s, Before: []string{s}}}, Causes: []analyse.Cause{{Cause: s, Because: s, Settle: s}}}}
		in.Result.Checked = []analyse.Checked{{Kind: s, Because: s}}
		in.Result.Criteria = []analyse.Criterion{{Kind: s, Name: s, Unit: s, Source: s}}
		in.Result.Coverage = []analyse.Coverage{{Series: decode.Series{Source: s, Point: decode.Flow}, Readings: 1}}
		var b bytes.Buffer
		if err := WritePDF(context.Background(), in, &b); err != nil {
			t.Fatalf("PDF: %v", err)
		}
		if err := WriteHTML(context.Background(), in, &b); err != nil {
			t.Fatalf("HTML: %v", err)
		}
		face := newTypeface()
		if clean := cleanText(s); clean != "" && strings.TrimSpace(face.printable(clean)) == "" {
			t.Fatalf("%q vanished", s)
		}
	})
}
