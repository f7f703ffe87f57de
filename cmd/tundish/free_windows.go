package main

import (
	"path/filepath"

	"golang.org/x/sys/windows"
)

// freeAt is the room that is left for this program where a file lies, bytes.
func freeAt(path string) (free uint64, ok bool) {
	dir, err := windows.UTF16PtrFromString(filepath.Dir(path))
	if err != nil {
		return 0, false
	}
	err = windows.GetDiskFreeSpaceEx(dir, &free, nil, nil)
	return free, err == nil
}
