package serialline_test

import (
	"context"
	"fmt"

	"github.com/creack/pty"
	"golang.org/x/term"

	"tundish/capture"
	"tundish/capture/serialline"
)

func Example() {
	device, port, err := pty.Open() // stands for an adapter
	if err != nil {
		fmt.Println(err)
		return
	}
	defer device.Close()
	defer port.Close()
	if _, err := term.MakeRaw(int(port.Fd())); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Fprint(device, "00000200\r\n40000200\r\n")

	src := serialline.New(serialline.Config{Port: port.Name(), Source: "boiler"}, capture.StartClock())
	ctx, stop := context.WithCancel(context.Background())
	lines := 0
	err = src.Capture(ctx, func(r capture.Record) error {
		fmt.Printf("%s %q\n", r.Source, r.Payload)
		if lines++; lines == 2 {
			stop()
		}
		return nil
	})
	fmt.Println(err)
	// Output:
	// boiler "00000200\r\n"
	// boiler "40000200\r\n"
	// <nil>
}
