package recorder

import (
	"testing"

	"golang.org/x/sys/unix"
)

// TestClockSynced holds the answer against the other system call that the kernel has for it, clock_adjtime(2).
func TestClockSynced(t *testing.T) {
	var tx unix.Timex
	state, err := unix.ClockAdjtime(unix.CLOCK_REALTIME, &tx)
	want := err == nil && state != unix.TIME_ERROR && tx.Status&unix.STA_UNSYNC == 0
	if got := ClockSynced(); got != want {
		t.Errorf("ClockSynced() = %v; clock_adjtime says state %d, status %#x, %v", got, state, tx.Status, err)
	}
}
