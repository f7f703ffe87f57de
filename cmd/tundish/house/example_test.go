package house_test

import (
	"context"
	"fmt"

	"tundish/capture"
	"tundish/cmd/tundish/house"
)

// The demo's house, run at once: what it emits is counted, what happened is told by the truth.
func ExampleScenario_Simulate() {
	s, _ := house.Find("cold-mornings")
	records := map[string]int{}
	truth, err := s.Simulate(context.Background(), 1, house.Listener{Record: func(r capture.Record) error {
		records[r.Source]++
		return nil
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("probe readings:", records[house.SourceProbes])
	for _, l := range truth.Lockouts {
		fmt.Printf("lockout on day %d, cause %s, after %d attempts, reset %s\n", int(l.From.Hours()/24)+1, l.Cause, l.Attempts, l.Reset)
	}
	// Output:
	// probe readings: 518400
	// lockout on day 2, cause ignition, after 5 attempts, reset by hand
	// lockout on day 3, cause ignition, after 5 attempts, reset over the bus
}
