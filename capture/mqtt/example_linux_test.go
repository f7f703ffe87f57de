package mqtt_test

import (
	"context"
	"fmt"
	"time"

	"tundish/capture"
	"tundish/capture/mqtt"
)

// Nobody answers at this address: the error names it, and the recorder would try again.
func Example() {
	s := mqtt.New(mqtt.Config{Source: "radio", Address: "127.0.0.1:1", ClientID: "tundish1", Topics: []string{"house/#"}}, capture.StartClock())
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	err := s.Capture(ctx, func(r capture.Record) error {
		fmt.Printf("%s %s\n", r.Channel, r.Payload)
		if r.Stored != nil {
			r.Stored() // once it is safe: only now is the message acknowledged
		}
		return nil
	})
	fmt.Println(err)
	// Output:
	// broker 127.0.0.1:1: dial tcp 127.0.0.1:1: connect: connection refused
}
