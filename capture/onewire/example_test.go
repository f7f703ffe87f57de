package onewire_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"tundish/capture"
	"tundish/capture/onewire"
)

func Example() {
	root, err := os.MkdirTemp("", "devices") // stands for the kernel's folder
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(root)
	probe := filepath.Join(root, "28-0000a71c01f4")
	text := "91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"
	if err := errors.Join(os.Mkdir(probe, 0o755), os.WriteFile(filepath.Join(probe, "w1_slave"), []byte(text), 0o644)); err != nil {
		fmt.Println(err)
		return
	}

	src := onewire.New(onewire.Config{Source: "probes", Root: root}, capture.StartClock())
	ctx, stop := context.WithCancel(context.Background())
	err = src.Capture(ctx, func(r capture.Record) error {
		fmt.Printf("%s %s sweep %d\n%s", r.Source, r.Channel, r.Sweep, r.Payload)
		stop()
		return nil
	})
	fmt.Println(err)
	// Output:
	// probes 28-0000a71c01f4 sweep 1
	// 91 01 4b 46 7f ff 0f 10 25 : crc=25 YES
	// 91 01 4b 46 7f ff 0f 10 25 t=25062
	// <nil>
}
