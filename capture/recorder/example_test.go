package recorder_test

import (
	"context"
	"fmt"

	"tundish/capture"
	"tundish/capture/recorder"
)

// printed is a sink that prints.
type printed struct{}

func (printed) Append(r capture.Record) error {
	fmt.Printf("run %d %s %q %q\n", r.Run, r.Source, r.Payload, r.Note)
	return nil
}
func (printed) Observe(recorder.Look) error { return nil }
func (printed) Commit() error               { fmt.Println("committed"); return nil }

// twoLines is a source that ends by itself.
type twoLines struct{}

func (twoLines) Capture(_ context.Context, emit func(capture.Record) error) error {
	for _, line := range []string{"80190000\r\n", "40193D80\r\n"} {
		if err := emit(capture.Record{Source: "boiler", Payload: []byte(line)}); err != nil {
			return err
		}
	}
	return nil
}

func Example() {
	r := recorder.New(recorder.Config{
		Sources: []recorder.Named{{Name: "boiler", Source: twoLines{}}},
		Sink:    printed{},
		Clock:   capture.StartClock(),
		Run:     1,
	})
	fmt.Println(r.Run(context.Background()))
	// Output:
	// run 1 boiler "80190000\r\n" ""
	// run 1 boiler "40193D80\r\n" ""
	// run 1 boiler "" "ended: the source stopped by itself"
	// committed
	// <nil>
}
