//go:build !linux

package recorder

// ClockSynced tells whether the wall clock is synchronised with a time server. This system is not asked: false.
func ClockSynced() bool { return false }
