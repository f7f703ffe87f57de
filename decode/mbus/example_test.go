package mbus_test

import (
	"encoding/hex"
	"fmt"
	"strings"

	"tundish/decode/mbus"
)

// A heat meter of the older kind (MB 6.2): two counters.
func ExampleExplain() {
	frame, err := hex.DecodeString(strings.ReplaceAll("68 13 13 68 08 05 73 78 56 34 12 0A 00 05 6A 45 23 01 00 78 06 00 00 F4 16", " ", ""))
	if err != nil {
		fmt.Println(err)
		return
	}
	lines, err := mbus.Explain(frame)
	fmt.Println(strings.Join(lines, "\n"), err)
	// Output:
	// answer of address 5: meter 12345678, heat, flow sensor in the return, access 10
	//   energy: 12345 kWh
	//   volume: 6.78 m³ <nil>
}
