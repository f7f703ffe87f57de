package report

import (
	"context"
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// Page measures in points (1/72 inch). A4, ISO 216: 210 × 297 mm.
const (
	pageWidth, pageHeight = 595.28, 841.89
	sideMargin            = 56.0
	topMargin             = 58.0
	bottomMargin          = 62.0
	textWidth             = pageWidth - 2*sideMargin
	footLine              = pageHeight - 38
)

// type sizes and the distance of lines, points.
const (
	bodySize  = 9.6
	smallSize = 8.2
	leading   = 1.36
)

// flexible is how much lower a chart may be drawn, in points, where it would else leave a hole at the foot of a page.
const flexible = 75.0

// pdfChart is the size of charts on paper.
var pdfChart = layout{width: textWidth, height: 150, size: 7.6}

// WritePDF writes the report as PDF (A4). Errors are those of the capture read by Scan, of w, and of a cancelled
// context; nothing is written to w before the whole report is made.
func WritePDF(ctx context.Context, in Input, w io.Writer) error {
	doc, err := prepare(ctx, in)
	if err != nil {
		return err
	}
	p := newPDF(doc, in)
	p.body()
	p.footers()
	if err := p.f.Output(w); err != nil {
		return fmt.Errorf("report as PDF: %w", err)
	}
	return nil
}

// prepare composes the content and fills its charts.
func prepare(ctx context.Context, in Input) (*document, error) {
	doc, err := compose(in)
	if err != nil {
		return nil, err
	}
	if err := fill(ctx, in, doc.plots()); err != nil {
		return nil, err
	}
	return doc, ctx.Err()
}

// pdf is a report being set.
type pdf struct {
	f    *fpdf.Fpdf
	doc  *document
	face *typeface
	y    float64 // the next free height
}

func newPDF(doc *document, in Input) *pdf {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: pageWidth, Ht: pageHeight}})
	p := &pdf{f: f, doc: doc, face: newTypeface()}
	f.SetMargins(sideMargin, topMargin, sideMargin)
	f.SetAutoPageBreak(false, 0)
	f.SetCellMargin(0)
	f.SetCatalogSort(true)
	at := in.Result.To.UTC()
	if at.IsZero() {
		at = time.Unix(0, 0).UTC()
	}
	f.SetCreationDate(at)
	f.SetModificationDate(at)
	f.SetLang(doc.lang)
	f.SetTitle("Heating evidence report: "+doc.title, true)
	f.SetAuthor(doc.author, true)
	f.SetSubject("What a logger recorded on a heating system, and what follows from it", true)
	f.SetCreator(cleanText(in.Program), true)
	f.SetProducer("", true)
	p.face.addTo(f)
	f.SetLineCapStyle("butt")
	f.SetLineJoinStyle("round")
	p.newPage()
	return p
}

func (p *pdf) newPage() {
	p.f.AddPage()
	p.y = topMargin
	if p.doc.warning != "" {
		p.style("B", 7.8, inkFault)
		lines := p.wrap(p.doc.warning, textWidth)
		if len(lines) > 2 {
			lines = append(lines[:1:1], "… (see the verdict)")
		}
		for i, l := range lines {
			p.f.Text(sideMargin, 32+float64(i)*10, l)
		}
	}
}

// need goes to a new page unless there is room for h; what cannot fit on any page does not ask.
func (p *pdf) need(h float64) {
	if p.y+h > pageHeight-bottomMargin && p.y > topMargin {
		p.newPage()
	}
}

func (p *pdf) style(weight string, size float64, i ink) {
	c := inkPrint[i]
	p.f.SetFont(fontFamily, weight, size)
	p.f.SetTextColor(c[0], c[1], c[2])
}

// rule draws a horizontal line from the left margin.
func (p *pdf) rule(y, length, width float64, i ink) {
	c := inkPrint[i]
	p.f.SetDrawColor(c[0], c[1], c[2])
	p.f.SetLineWidth(width)
	p.f.Line(sideMargin, y, sideMargin+length, y)
}

// body sets title and sections.
func (p *pdf) body() {
	p.titleBlock()
	for i, s := range p.doc.sections {
		p.heading(s, i)
		for k, b := range s.blocks {
			if k > 0 { // the first is kept with the heading
				p.need(p.blockStart(s.blocks[k:]))
			}
			p.block(b)
		}
	}
	if p.face.replaced {
		p.y += 4
		p.paragraph(para{aside, "The mark " + p.face.mark + " stands for a character that the typeface of this document does not have."})
	}
}

func (p *pdf) titleBlock() {
	p.style("", smallSize, inkMuted)
	p.f.Text(sideMargin, p.y+6, "Heating evidence report")
	p.y += 14
	p.style("B", 21, inkText)
	p.lines(p.wrap(p.doc.title, textWidth), sideMargin, 25)
	p.y += 2
	p.style("", bodySize, inkMuted)
	if p.doc.place != "" {
		p.lines(p.wrap(p.doc.place, textWidth), sideMargin, bodySize*leading)
	}
	p.lines(p.wrap(p.doc.subtitle, textWidth), sideMargin, bodySize*leading)
	p.y += 6
	p.rule(p.y, textWidth, 0.8, inkText)
	p.y += 2
}

// lines sets lines of the current style one below the other, over pages if need be.
func (p *pdf) lines(lines []string, x, distance float64) {
	size, _ := p.f.GetFontSize()
	for _, l := range lines {
		p.need(distance)
		p.f.Text(x, p.y+size*0.95, l)
		p.y += distance
	}
}

// heading sets a heading together with the beginning of what follows it.
func (p *pdf) heading(s section, index int) {
	size, above, below, weight := 15.0, 20.0, 5.0, "B"
	switch s.level {
	case 3:
		size, above, below = 11.8, 14, 3
	case 4:
		size, above, below = bodySize, 9, 1
	}
	p.style(weight, size, inkText)
	lines := p.wrap(s.title, textWidth)
	height := above + float64(len(lines))*size*1.25 + below
	p.need(height + p.leastHeight(index))
	if p.y > topMargin {
		p.y += above
	}
	p.f.Bookmark(p.face.printable(s.title), min(s.level-2, 2), p.y)
	p.style(weight, size, inkText)
	p.lines(lines, sideMargin, size*1.25)
	p.y += below
}

// leastHeight is how much of what follows a heading must stand on the same page with it.
func (p *pdf) leastHeight(index int) float64 {
	s := p.doc.sections[index]
	if len(s.blocks) == 0 {
		if index+1 < len(p.doc.sections) { // a heading right below: keep both with what follows
			return 40 + p.leastHeight(index+1)
		}
		return 0
	}
	h := p.blockStart(s.blocks)
	if first, ok := s.blocks[0].(para); ok && len(s.blocks) > 1 && first.tone != warning && !first.introduces() {
		h = p.paragraphHeight(first) + p.blockStart(s.blocks[1:])
	}
	return h
}

// blockStart is the height of what of the first of some blocks must not be torn off what stands above it.
func (p *pdf) blockStart(blocks []block) float64 {
	switch b := blocks[0].(type) {
	case para:
		if b.introduces() && len(blocks) > 1 {
			return p.paragraphHeight(b) + p.blockStart(blocks[1:])
		}
		return min(p.paragraphHeight(b), 3*bodySize*leading)
	case figure:
		if b.chart.fixed() {
			return p.figureHeight(b)
		}
		return p.figureHeight(b) - flexible
	case table:
		return p.tableStart(b)
	case list:
		return p.listStart(b)
	case pairs:
		return p.pairsStart(b)
	}
	return 3 * bodySize * leading
}

func (p *pdf) block(b block) {
	switch b := b.(type) {
	case para:
		p.paragraph(b)
	case list:
		p.list(b)
	case pairs:
		p.pairs(b)
	case table:
		p.table(b)
	case figure:
		p.figure(b)
	}
}

// footers go on last, when the number of pages is known. A placeholder would be measured at its own width and
// spoil the right edge.
func (p *pdf) footers() {
	n := p.f.PageCount()
	for i := 1; i <= n; i++ {
		p.f.SetPage(i)
		p.f.SetFontSize(1) // the library skips a font it believes is set; on this page another may be
		p.style("", 7.8, inkMuted)
		p.rule(footLine-11, textWidth, 0.4, inkGrid)
		right := fmt.Sprintf("Page %d of %d", i, n)
		w := p.f.GetStringWidth(right)
		head := "  ·  " + p.doc.head
		p.f.Text(sideMargin, footLine, p.clipped(p.doc.foot, textWidth-w-20-p.f.GetStringWidth(head))+p.face.printable(head))
		p.f.Text(pageWidth-sideMargin-w, footLine, right)
	}
}
