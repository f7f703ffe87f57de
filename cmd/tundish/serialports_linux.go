package main

import (
	"os"
	"path/filepath"
	"slices"
)

// byID is where udev keeps names that stay the same whichever way an adapter is plugged in.
const byID = "/dev/serial/by-id"

// serialPorts lists ports by their stable names first, then those that have none.
func serialPorts(stable string) []serialPort {
	dev := "/dev"
	if stable == "" {
		stable = byID
	} else {
		dev = stable // a test's folder stands for both
	}
	var out []serialPort
	entries, _ := os.ReadDir(stable)
	for _, e := range entries {
		path := filepath.Join(stable, e.Name())
		if is, err := filepath.EvalSymlinks(path); err == nil && e.Type()&os.ModeSymlink != 0 {
			out = append(out, serialPort{path, is})
		}
	}
	for _, kind := range []string{"ttyUSB*", "ttyACM*", "ttyAMA*", "serial[0-9]"} {
		paths, _ := filepath.Glob(filepath.Join(dev, kind))
		for _, p := range paths {
			is, err := filepath.EvalSymlinks(p)
			if err != nil || slices.ContainsFunc(out, func(o serialPort) bool { return o.path == p || o.is == is || o.path == is }) {
				continue
			}
			if is == p {
				is = ""
			}
			out = append(out, serialPort{p, is})
		}
	}
	return out
}
