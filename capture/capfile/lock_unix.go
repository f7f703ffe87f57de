//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package capfile

import (
	"os"
	"syscall"
)

// lockFile takes the file for this process alone; the system gives it back when the process ends in any way.
func lockFile(f *os.File) error {
	return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
}
