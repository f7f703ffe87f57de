package report

import (
	_ "embed"
	"encoding/binary"
	"strings"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
)

// Source Sans 3, SIL Open Font License 1.1; the licence text is embedded with it, as the licence asks.
var (
	//go:embed fonts/SourceSans3_400Regular.ttf
	fontRegular []byte
	//go:embed fonts/SourceSans3_600SemiBold.ttf
	fontSemiBold []byte
	//go:embed fonts/OFL.txt
	fontLicence string
)

// FontLicence is the licence of the embedded typeface, for a program's own list of licences.
func FontLicence() string { return fontLicence }

const fontFamily = "sans"

// typeface knows which characters the embedded fonts have, and remembers whether one was missing. The PDF library
// draws a missing character as nothing at all, so it must be asked before.
type typeface struct {
	has      func(rune) bool
	mark     string // stands for a missing character
	replaced bool
}

func newTypeface() *typeface {
	regular, bold := runesOf(fontRegular), runesOf(fontSemiBold)
	t := &typeface{has: func(r rune) bool { return regular[r] && bold[r] }, mark: "?"}
	if t.has(unicode.ReplacementChar) {
		t.mark = string(unicode.ReplacementChar)
	}
	return t
}

// addTo gives the fonts to a PDF: "" is regular, "B" semi-bold.
func (t *typeface) addTo(f *fpdf.Fpdf) {
	f.AddUTF8FontFromBytes(fontFamily, "", fontRegular)
	f.AddUTF8FontFromBytes(fontFamily, "B", fontSemiBold)
}

// printable replaces what the fonts lack by a mark. Spaces of any width count as a space; joiners and variation
// selectors belong to the character before them and go with it.
func (t *typeface) printable(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == unicode.ReplacementChar:
			b.WriteString(t.mark)
		case t.has(r):
			b.WriteRune(r)
		case unicode.IsSpace(r):
			b.WriteByte(' ')
		default:
			b.WriteString(t.mark)
			t.replaced = true
		}
	}
	return b.String()
}

// runesOf reads the characters of a TrueType font from its "cmap" table, format 4 (OpenType specification 1.9,
// "cmap"). The PDF library can print these and no others. A font that cannot be read has none.
func runesOf(font []byte) map[rune]bool {
	out := map[rune]bool{}
	sub := cmapFormat4(font)
	if len(sub) < 16 {
		return out
	}
	u16 := func(at int) int {
		if at < 0 || at+2 > len(sub) {
			return 0
		}
		return int(binary.BigEndian.Uint16(sub[at:]))
	}
	n := u16(6) / 2
	ends, starts := 14, 14+2*n+2
	deltas, offsets := starts+2*n, starts+4*n
	for i := range n {
		end, start, delta, offset := u16(ends+2*i), u16(starts+2*i), u16(deltas+2*i), u16(offsets+2*i)
		for c := start; c <= end && c != 0xFFFF; c++ {
			glyph := c
			if offset != 0 {
				if glyph = u16(offsets + 2*i + offset + 2*(c-start)); glyph == 0 {
					continue
				}
			}
			if (glyph+delta)&0xFFFF != 0 {
				out[rune(c)] = true
			}
		}
	}
	return out
}

// cmapFormat4 finds the Unicode subtable in format 4, nil where there is none.
func cmapFormat4(font []byte) []byte {
	if len(font) < 12 {
		return nil
	}
	tables := int(binary.BigEndian.Uint16(font[4:]))
	for i := range tables {
		entry := 12 + 16*i
		if entry+16 > len(font) || string(font[entry:entry+4]) != "cmap" {
			continue
		}
		at := int(binary.BigEndian.Uint32(font[entry+8:]))
		if at+4 > len(font) {
			return nil
		}
		cmap := font[at:]
		for k := range int(binary.BigEndian.Uint16(cmap[2:])) {
			rec := 4 + 8*k
			if rec+8 > len(cmap) {
				return nil
			}
			sub := int(binary.BigEndian.Uint32(cmap[rec+4:]))
			if sub+2 <= len(cmap) && binary.BigEndian.Uint16(cmap[sub:]) == 4 {
				return cmap[sub:]
			}
		}
	}
	return nil
}
