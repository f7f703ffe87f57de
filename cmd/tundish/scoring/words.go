package scoring

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// none stands where there is nothing to divide by.
const none = "–"

// ratio prints a share, cut off and not rounded: 0.999 of a thousand is not 1.
func ratio(x float64) string {
	if math.IsNaN(x) {
		return none
	}
	return fmt.Sprintf("%.3f", math.Floor(x*1000+1e-9)/1000)
}

// short is the same with two places.
func short(x float64) string {
	if math.IsNaN(x) {
		return none
	}
	return fmt.Sprintf("%.2f", math.Floor(x*100+1e-9)/100)
}

// seconds prints an error of time.
func seconds(x float64) string {
	switch {
	case math.IsNaN(x):
		return none
	case math.Abs(x) < 10:
		return fmt.Sprintf("%.1f", x)
	}
	return fmt.Sprintf("%.0f", x)
}

// late prints an error of time with its sign.
func late(x float64) string {
	if s := seconds(x); s == none || strings.HasPrefix(s, "-") {
		return strings.Replace(s, "-", "−", 1)
	}
	return "+" + seconds(x)
}

func percent(x float64) string {
	if math.IsNaN(x) {
		return none
	}
	return strings.Replace(fmt.Sprintf("%+.1f %%", 100*x), "-", "−", 1)
}

func (e Edges) String() string {
	if len(e.late) == 0 {
		return none
	}
	return fmt.Sprintf("%s / %s / %s", seconds(e.Median()), seconds(e.P95()), late(e.Bias()))
}

// of prints how many of how many.
func of(n, all int) string {
	if all == 0 {
		return none
	}
	return fmt.Sprintf("%d/%d", n, all)
}

func every(d time.Duration) string { return fmt.Sprintf("%d s", d/time.Second) }

// String says what is listened to.
func (l Listening) String() string {
	var parts []string
	if l.Bus() {
		parts = append(parts, "bus, status every "+every(l.Status))
	}
	if l.Sweep > 0 {
		parts = append(parts, fmt.Sprintf("probes every %s, lag %s", every(l.Sweep), every(l.Tau)))
	}
	return strings.Join(parts, "; ")
}

// row writes a row of a Markdown table.
func row(b *strings.Builder, cells ...string) {
	b.WriteString("| " + strings.Join(cells, " | ") + " |\n")
}

// head writes the first two rows of a Markdown table: the first column to the left, the rest to the right.
func head(b *strings.Builder, cells ...string) {
	row(b, cells...)
	b.WriteString("| --- |" + strings.Repeat(" ---: |", len(cells)-1) + "\n")
}
