package timedlines_test

import (
	"context"
	"fmt"
	"strings"
	"time"

	"tundish/capture"
	"tundish/capture/timedlines"
)

func Example() {
	file := strings.NewReader("# boiler bus\n" +
		"2026-01-12T06:30:00.250Z 80190000\r\n" +
		"2026-01-12T07:30:00.310+01:00 40193D80\r\n" +
		"2026-01-12T06:3")
	stats, err := timedlines.Read(context.Background(), file, "boiler.log", "boiler",
		func(wall time.Time, r capture.Record) error {
			fmt.Printf("%s %q %q\n", wall.Format("15:04:05.000"), r.Payload, r.Note)
			return nil
		})
	fmt.Println(stats.Records, "records, truncated:", stats.Truncated, err)
	// Output:
	// 06:30:00.250 "80190000\r\n" ""
	// 06:30:00.310 "40193D80\r\n" ""
	// 06:30:00.310 "2026-01-12T06:3" "line 4: no time: \"2026-01-12T06:3\" is not an RFC 3339 time: cut off"
	// 3 records, truncated: true <nil>
}
