package readingscsv_test

import (
	"context"
	"fmt"
	"strings"
	"time"

	"tundish/capture"
	"tundish/capture/readingscsv"
)

func Example() {
	file := strings.NewReader("time,flow,return\n" +
		"2026-01-12T06:30:00Z,55.1,44.0\n" +
		"1768199410.5,55.3,\n")
	known := func(point string) bool { return point == "flow" || point == "return" }
	stats, err := readingscsv.Read(context.Background(), file, "loft.csv", "probes", known,
		func(wall time.Time, r capture.Record) error {
			fmt.Printf("%s row %d %s %s\n", wall.Format("15:04:05.0"), r.Sweep, r.Channel, r.Payload)
			return nil
		})
	fmt.Println(stats.Rows, "rows", err)
	// Output:
	// 06:30:00.0 row 1 readings/flow 55.1
	// 06:30:00.0 row 1 readings/return 44.0
	// 06:30:10.5 row 2 readings/flow 55.3
	// 2 rows <nil>
}
