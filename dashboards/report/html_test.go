package report

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// plainText drops the tags of a page and resolves the entities that the template writes.
func plainText(page string) string {
	_, body, _ := strings.Cut(page, "<body>")
	text := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(body, " ")
	return strings.NewReplacer("&#39;", "'", "&#34;", `"`, "&lt;", "<", "&gt;", ">", "&#43;", "+", "&amp;", "&").Replace(text)
}

func TestHTMLSaysEverything(t *testing.T) {
	in := millRow(t, 3)
	page := htmlOf(t, in)
	for i, w := range saidInFull(in) {
		if !strings.Contains(strings.ToLower(squeeze(plainText(page))), strings.ToLower(squeeze(w))) {
			t.Errorf("%d: missing: %s", i, w)
		}
	}
	for _, id := range []string{"verdict", "job", "findings", "finding-1", "finding-3", "record", "clear", "not-assessable", "measured", "coverage", "clock", "seal", "criteria", "cautions"} {
		if n := strings.Count(page, ` id="`+id+`"`); n != 1 {
			t.Errorf("section %s is there %d times", id, n)
		}
	}
	if htmlOf(t, millRow(t, 3)) != page {
		t.Error("the same input gave two different pages")
	}
}

// TestHTMLSameContent: both forms walk one content; each chapter heading of one is in the other.
func TestHTMLSameContent(t *testing.T) {
	in := millRow(t, 2)
	doc, err := compose(in)
	if err != nil {
		t.Fatal(err)
	}
	page, text := squeeze(plainText(htmlOf(t, in))), squeeze(pdfText(t, pdfOf(t, in)))
	for _, s := range doc.sections {
		if !strings.Contains(page, s.title) || !strings.Contains(text, s.title) {
			t.Errorf("heading %q is not in both", s.title)
		}
	}
}

// TestHTMLWellFormed reads the whole page with the lenient reader for unclosed HTML tags, and each chart with the
// strict one.
func TestHTMLWellFormed(t *testing.T) {
	page := htmlOf(t, millRow(t, 3))
	d := xml.NewDecoder(strings.NewReader(strings.TrimPrefix(page, "<!DOCTYPE html>")))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	if err := readAll(d); err != nil {
		t.Errorf("page: %v", err)
	}
	charts := regexp.MustCompile(`(?s)<svg.*?</svg>`).FindAllString(page, -1)
	if len(charts) < 7 { // two lockouts, cycling, silence, three days, outside
		t.Errorf("%d charts", len(charts))
	}
	for i, c := range charts {
		if err := readAll(xml.NewDecoder(strings.NewReader(c))); err != nil {
			t.Errorf("chart %d: %v", i+1, err)
		}
		if !strings.Contains(c, "<title") || !strings.Contains(c, "<desc") {
			t.Errorf("chart %d has no text alternative", i+1)
		}
	}
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if ids[m[1]] {
			t.Errorf("id %s is there twice", m[1])
		}
		ids[m[1]] = true
	}
}

func readAll(d *xml.Decoder) error {
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// TestHTMLHeadingsInOrder: no heading is more than one level below the one before.
func TestHTMLHeadingsInOrder(t *testing.T) {
	last := 0
	for _, m := range regexp.MustCompile(`<h([1-6])`).FindAllStringSubmatch(htmlOf(t, millRow(t, 2)), -1) {
		level, _ := strconv.Atoi(m[1])
		if level > last+1 {
			t.Errorf("h%d follows h%d", level, last)
		}
		last = level
	}
	if last == 0 {
		t.Error("no headings")
	}
}

// TestHTMLHostile: foreign text stays text, in the page, in its style sheet and in its charts.
func TestHTMLHostile(t *testing.T) {
	const evil = `</style></title><script>alert(1)</script>"'><img src=x onerror=alert(2)>`
	in := millRow(t, 2)
	in.Job.Name, in.Job.Engineer, in.Amended = evil, evil, evil
	in.Result.Findings[0].Kind, in.Result.Findings[0].Summary = evil, evil
	for i := range in.Result.Coverage {
		in.Result.Coverage[i].Series.Source = evil
	}
	page := htmlOf(t, in)
	for _, bad := range []string{"<script", "<img", "onerror=alert(2)>"} {
		if strings.Contains(page, bad) {
			t.Errorf("%s came through", bad)
		}
	}
	if n := strings.Count(page, "</style>"); n != 1 {
		t.Errorf("the style sheet ends %d times", n)
	}
	in.Job.Name = "safe\u202egpj.exe\x1b[2J"
	page = htmlOf(t, in)
	if strings.ContainsAny(page, "\u202e\x1b") {
		t.Error("characters that disguise text came through")
	}
}

// TestHTMLStandsAlone: nothing is fetched, nothing runs.
func TestHTMLStandsAlone(t *testing.T) {
	page := htmlOf(t, millRow(t, 2))
	for _, bad := range []string{"http:", "https:", "<script", "url(", "@import", "src=", "<link", "javascript:"} {
		if strings.Contains(page, bad) {
			t.Errorf("%s in the page", bad)
		}
	}
	if !strings.HasPrefix(page, "<!DOCTYPE html>\n<html lang=\"en-GB\">") {
		t.Error("the page does not name its language first")
	}
}

// TestContrast works out WCAG 2.2 contrast (1.4.3 text 4.5 : 1, 1.4.11 graphics 3 : 1) for print and for both
// schemes of the screen, from the colours in use.
func TestContrast(t *testing.T) {
	white := [3]int{255, 255, 255}
	for i := range inkPrint {
		if need := needs(inkNames[i]); ratio(inkPrint[i], white) < need {
			t.Errorf("print %s: %.2f, want %.1f", inkNames[i], ratio(inkPrint[i], white), need)
		}
	}
	schemes := map[string][2][3]int{}
	for _, m := range regexp.MustCompile(`--([a-z]+): light-dark\(#([0-9a-f]{6}), #([0-9a-f]{6})\)`).FindAllStringSubmatch(styleText, -1) {
		schemes[m[1]] = [2][3]int{rgb(m[2]), rgb(m[3])}
	}
	if len(schemes) < 12 {
		t.Fatalf("%d colours in the style sheet", len(schemes))
	}
	paper := schemes["paper"]
	for name, c := range schemes {
		for k, scheme := range []string{"light", "dark"} {
			if name != "paper" && ratio(c[k], paper[k]) < needs(name) {
				t.Errorf("%s %s: %.2f, want %.1f", scheme, name, ratio(c[k], paper[k]), needs(name))
			}
		}
	}
}

// needs is the contrast an ink must have: grid and rules carry nothing; bars and hatching are graphics, all others
// also colour text.
func needs(name string) float64 {
	switch name {
	case "grid", "line":
		return 1
	case "firing", "demand", "absent":
		return 3
	}
	return 4.5
}

func rgb(hex string) (c [3]int) {
	v, _ := strconv.ParseUint(hex, 16, 32)
	return [3]int{int(v >> 16), int(v >> 8 & 255), int(v & 255)}
}

// ratio is the contrast ratio of WCAG 2.2 by relative luminance.
func ratio(a, b [3]int) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(c [3]int) float64 {
	lin := func(v int) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c[0]) + 0.7152*lin(c[1]) + 0.0722*lin(c[2])
}
