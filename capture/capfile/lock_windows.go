package capfile

import (
	"os"

	"golang.org/x/sys/windows"
)

// lockFile takes the file for this process alone; the system gives it back when the process ends in any way. The
// byte locked lies far behind the content, since a lock here keeps others from reading.
func lockFile(f *os.File) error {
	return windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY,
		0, 1, 0, &windows.Overlapped{OffsetHigh: 1})
}
