package recorder

import "golang.org/x/sys/unix"

// ClockSynced tells whether the wall clock is synchronised with a time server, as far as the kernel knows. It asks
// and sets nothing (Linux, adjtimex(2): state TIME_ERROR, status bit STA_UNSYNC). Where the kernel does not answer
// it is false.
func ClockSynced() bool {
	var tx unix.Timex // modes zero: read only
	state, err := unix.Adjtimex(&tx)
	return err == nil && state != unix.TIME_ERROR && tx.Status&unix.STA_UNSYNC == 0
}
