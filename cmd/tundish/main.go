// Tundish is a data logger and analyser that a heating engineer leaves on a system, and that brings back proof.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // a small box may have no time zone files; a report needs its job's zone
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	ignoreFileSizeSignal()
	status := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}
