//go:build unix

package main

import (
	"os/signal"
	"syscall"
)

// ignoreFileSizeSignal lets a file-size limit show itself as a write error, which is reported and leaves the capture
// readable, instead of killing the program.
func ignoreFileSizeSignal() { signal.Ignore(syscall.SIGXFSZ) }
