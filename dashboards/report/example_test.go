package report_test

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/dashboards/report"
)

// A report needs no more than a result; what else is known goes into the other fields.
func Example() {
	from := time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)
	in := report.Input{
		Result: &analyse.Result{
			From: from, To: from.Add(48 * time.Hour),
			Checked: []analyse.Checked{{Kind: "pressure-loss", Outcome: analyse.Clear, Because: "no fall in two days"}},
		},
		Job:   report.Job{Name: "Mill Row 3"},
		Proof: report.Proof{File: "mill-row-3.capture", Head: "3fa9c0d17be2", Intact: true},
	}
	var page bytes.Buffer
	if err := report.WriteHTML(context.Background(), in, &page); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(strings.Contains(page.String(), "Nothing was found."))
	fmt.Println(strings.Contains(page.String(), "No fall in two days"))
	// Output:
	// true
	// true
}
