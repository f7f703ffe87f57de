package recorder

import (
	"time"

	"golang.org/x/sys/unix"
)

// Slept tells how long the machine has been suspended since it booted: CLOCK_BOOTTIME counts that time, CLOCK_MONOTONIC
// does not (Linux, clock_gettime(2)). It is 0 where the kernel does not answer. A virtual machine that its host stops
// counts it by neither clock.
func Slept() time.Duration {
	var best time.Duration
	least := time.Duration(-1)
	for range 3 { // a process may be held up between two readings
		a, okA := read(unix.CLOCK_MONOTONIC)
		b, okB := read(unix.CLOCK_BOOTTIME)
		c, okC := read(unix.CLOCK_MONOTONIC)
		if !okA || !okB || !okC {
			return 0
		}
		if apart := c - a; least < 0 || apart < least {
			least, best = apart, b-a-apart/2
		}
		if least < time.Millisecond {
			break
		}
	}
	return max(0, best.Round(time.Millisecond))
}

func read(clock int32) (time.Duration, bool) {
	var ts unix.Timespec
	err := unix.ClockGettime(clock, &ts)
	return time.Duration(ts.Nano()), err == nil
}
