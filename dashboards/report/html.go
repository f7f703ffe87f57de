package report

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"html/template"
	"io"
)

var (
	//go:embed html.tmpl
	pageText string
	//go:embed style.css
	styleText string
)

// htmlChart is the size of charts on a screen, in CSS pixels. It grows and shrinks with the page.
var htmlChart = layout{width: 700, height: 230, size: 12}

// phoneChart is for screens narrower than the wide chart can be read on; the style sheet shows one of the two.
var phoneChart = layout{width: 350, height: 190, size: 11.5}

// htmlBlock is one block, ready for the template: exactly one of the fields is set.
type htmlBlock struct {
	Para   *htmlPara
	List   *htmlList
	Pairs  []htmlPair
	Table  *htmlTable
	Figure *htmlFigure
}

type (
	htmlPara   struct{ Class, Text string }
	htmlItem   struct{ Strong, Text string }
	htmlPair   struct{ Label, Value string }
	htmlFigure struct {
		Title, Caption string
		Wide, Narrow   template.HTML
	}
	htmlList struct {
		Ordered bool
		Items   []htmlItem
	}
	htmlTable struct {
		Label string
		Times bool // the first column is a time
		Words bool // the last column is words, or it is meant to stack: on a narrow screen its rows are set one below the other
		Head  []htmlCell
		Rows  [][]htmlCell
	}
	htmlCell struct {
		Text    string
		Label   string // of its column
		Numeric bool
		Row     bool // names the row
	}
	htmlSection struct {
		Level     int
		ID, Title string
		Blocks    []htmlBlock
	}
)

type htmlPage struct {
	Lang, Title, Place, Subtitle, Author, Warning, Foot string
	Style                                               template.CSS
	Contents                                            []htmlSection // chapters only
	Sections                                            []htmlSection
}

// WriteHTML writes the report as one HTML file that needs no network and no script. Errors as for [WritePDF];
// nothing is written to w before the whole report is made.
func WriteHTML(ctx context.Context, in Input, w io.Writer) error {
	doc, err := prepare(ctx, in)
	if err != nil {
		return err
	}
	t, err := template.New("report").Parse(pageText)
	if err != nil {
		return fmt.Errorf("report as HTML: %w", err)
	}
	var b bytes.Buffer
	if err := t.Execute(&b, newHTMLPage(doc)); err != nil {
		return fmt.Errorf("report as HTML: %w", err)
	}
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("report as HTML: %w", err)
	}
	return nil
}

func newHTMLPage(d *document) htmlPage {
	page := htmlPage{Lang: d.lang, Title: d.title, Place: d.place, Subtitle: d.subtitle, Author: d.author, Warning: d.warning,
		Foot: d.foot + " · " + d.head, Style: template.CSS(styleText)} // our own embedded file
	figures := 0
	for _, s := range d.sections {
		h := htmlSection{Level: s.level, ID: s.id, Title: s.title}
		for _, b := range s.blocks {
			if _, ok := b.(figure); ok {
				figures++
			}
			h.Blocks = append(h.Blocks, newHTMLBlock(b, s.title, figures))
		}
		page.Sections = append(page.Sections, h)
		if s.level == 2 {
			page.Contents = append(page.Contents, h)
		}
	}
	return page
}

// paraClasses are the classes of the tones.
var paraClasses = [...]string{plain: "", lead: "lead", warning: "warning", aside: "aside"}

func newHTMLBlock(b block, label string, number int) htmlBlock {
	var out htmlBlock
	switch b := b.(type) {
	case para:
		out.Para = &htmlPara{paraClasses[b.tone], b.text}
	case list:
		out.List = &htmlList{Ordered: b.ordered}
		for _, it := range b.items {
			out.List.Items = append(out.List.Items, htmlItem{it.strong, it.text})
		}
	case pairs:
		for _, it := range b {
			out.Pairs = append(out.Pairs, htmlPair{it.label, it.value})
		}
	case table:
		out.Table = newHTMLTable(b, label)
	case figure:
		wide := svgFigure(b.chart, fmt.Sprintf("chart-%d", number), htmlChart)
		narrow := svgFigure(b.chart, fmt.Sprintf("chart-%d-narrow", number), phoneChart)
		// Both are made and escaped by svgSurface.
		out.Figure = &htmlFigure{b.chart.heading(), b.chart.describe(), template.HTML(wide), template.HTML(narrow)}
	}
	return out
}

func newHTMLTable(t table, label string) *htmlTable {
	out := &htmlTable{Label: label, Times: len(t.head) > 0 && (t.head[0] == "From" || t.head[0] == "Time")}
	numeric := func(c int) bool { return c < len(t.numeric) && t.numeric[c] }
	out.Words = len(t.head) > 1 && !numeric(len(t.head)-1) || t.stacked
	for c, s := range t.head {
		out.Head = append(out.Head, htmlCell{Text: s, Numeric: numeric(c)})
	}
	for _, r := range t.rows {
		var row []htmlCell
		for c, s := range r {
			row = append(row, htmlCell{s, t.head[c], numeric(c), c == 0})
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}
