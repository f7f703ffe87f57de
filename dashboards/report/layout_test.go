package report

import (
	"slices"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// pagesOf gives the lines of each page without its foot, spaces squeezed, empty ones left out.
func pagesOf(t testing.TB, in Input) [][]string {
	t.Helper()
	var out [][]string
	for _, page := range strings.Split(strings.TrimSuffix(pdfText(t, pdfOf(t, in)), "\f"), "\f") {
		var lines []string
		for _, l := range strings.Split(page, "\n") {
			if l = squeeze(l); l != "" && !strings.Contains(l, "chain head "+in.Proof.shortHead()) {
				lines = append(lines, l)
			}
		}
		out = append(out, lines)
	}
	return out
}

// TestNothingTornOff: wherever the pages happen to break, no heading, no title of a chart and no line that leads to
// what follows is the last thing on a page, and no table leaves its last row alone on the next one. The breaks are
// moved through a page's length by notes of more and more lines.
func TestNothingTornOff(t *testing.T) {
	in := millRow(t, 2)
	in.Scan = nil // charts are as high without readings
	doc, err := compose(in)
	if err != nil {
		t.Fatal(err)
	}
	titles := map[string]bool{}
	for _, s := range doc.sections {
		titles[s.title] = true
		for _, b := range s.blocks {
			if f, ok := b.(figure); ok {
				titles[squeeze(f.chart.heading())] = true
			}
		}
	}
	heads := []string{"Looked for Why it is clear", "Source Counted Number", "From Lasted What was seen", "Check Criterion Value Source"}
	for range 31 { // two lines each time: about as many as a page has
		pages := pagesOf(t, in)
		for i, lines := range pages {
			last := lines[len(lines)-1]
			if titles[last] || strings.HasSuffix(last, ":") || slices.Contains(heads, last) {
				t.Errorf("%d lines of notes, page %d ends with %q", strings.Count(in.Job.Notes, "line"), i+1, last)
			}
			if i == 0 || !slices.Contains(heads, lines[0]) || len(lines) < 3 {
				continue
			}
			if titles[lines[2]] {
				t.Errorf("page %d begins with one row of a table: %q", i+1, lines[1])
			}
		}
		in.Job.Notes += "a line of words that is long enough to fill the whole of the column in which the notes of a job are printed, and then of one more line below it, up to here. "
	}
}

// TestFigureFitsWhatHeadingLeft: a chart that a heading has kept room for never asks for a page of its own, however
// the heights fall.
func TestFigureFitsWhatHeadingLeft(t *testing.T) {
	in := millRow(t, 2)
	in.Scan = nil
	c, err := compose(in)
	if err != nil {
		t.Fatal(err)
	}
	var chart figure
	for _, s := range c.sections {
		for _, b := range s.blocks {
			if f, ok := b.(figure); ok && !f.chart.fixed() {
				chart = f
			}
		}
	}
	if chart.chart == nil {
		t.Fatal("no chart to try")
	}
	p := newPDF(&document{sections: []section{{level: 4, title: "The decisive hours", blocks: []block{chart}}}}, in)
	for step := range 1600 {
		p.newPage()
		p.y = topMargin + 0.4327*float64(step)
		p.heading(p.doc.sections[0], 0)
		page := p.f.PageNo()
		p.figure(chart)
		if p.f.PageNo() != page {
			t.Fatalf("from height %v the chart left its heading behind", topMargin+0.4327*float64(step))
		}
		if p.y > pageHeight-bottomMargin+7 { // the space below a chart may fall off
			t.Fatalf("from height %v the chart reaches down to %v", topMargin+0.4327*float64(step), p.y)
		}
	}
}

// TestSmallPanelNamesBothEnds: steps of 0.2 do not add up to the end of the axis in binary.
func TestSmallPanelNamesBothEnds(t *testing.T) {
	in := millRow(t, 2)
	in.Result.Facts.Lockouts = in.Result.Facts.Lockouts[:1]
	p := (&plotter{in: in, zone: in.zone()}).chart("pressure", in.Result.From, in.Result.To, "lockout")
	at := slices.IndexFunc(p.extra, func(x panel) bool { return x.unit == "bar" })
	if at < 0 {
		t.Fatal("no panel of pressure")
	}
	for i, v := range []float64{1.3, 1.61} {
		p.extra[at].traces[0].add(in.Result.From.Add(time.Duration(i+1)*time.Hour), v)
	}
	svg := svgFigure(p, "x", htmlChart)
	for _, want := range []string{">1.2<", ">1.8<"} {
		if !strings.Contains(svg, want) {
			t.Errorf("the axis lacks %s", want)
		}
	}
}

// TestUnknownFirings: a record of temperatures alone must not read as if the burner had been out.
func TestUnknownFirings(t *testing.T) {
	in := millRow(t, 1)
	f := *in.Result.Facts
	f.Firings, f.Demands, f.Lockouts = nil, nil, nil
	in.Result.Facts, in.Result.Findings = &f, nil
	in.Result.Coverage = slices.DeleteFunc(in.Result.Coverage, func(c analyse.Coverage) bool { return c.Series.Point.Binary() })
	doc, err := compose(in)
	if err != nil {
		t.Fatal(err)
	}
	p := doc.plots()[0]
	if p.title != "Temperatures over the whole record" {
		t.Error(p.title)
	}
	if said := p.describe(); !strings.Contains(said, "Firings were not recorded.") || strings.Contains(said, "No heating firing") {
		t.Error(said)
	}
	if svg := svgFigure(p, "x", htmlChart); strings.Contains(svg, ">firing<") || strings.Contains(svg, ">demand<") {
		t.Error("an empty row stands for what was not recorded")
	}
	in.Result.Coverage = append(in.Result.Coverage, analyse.Coverage{Series: decode.Series{Source: "boiler", Point: decode.Flame}})
	if doc, err = compose(in); err != nil {
		t.Fatal(err)
	}
	if said := doc.plots()[0].describe(); !strings.Contains(said, "No heating firing seen.") {
		t.Error(said)
	}
}
