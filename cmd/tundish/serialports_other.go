//go:build !linux

package main

import "go.bug.st/serial"

// serialPorts lists what the system names; there are no names that stay the same everywhere.
func serialPorts(string) []serialPort {
	paths, err := serial.GetPortsList()
	if err != nil {
		return nil
	}
	out := make([]serialPort, len(paths))
	for i, p := range paths {
		out[i] = serialPort{path: p}
	}
	return out
}
