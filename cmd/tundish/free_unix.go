//go:build linux || darwin || freebsd

package main

import "golang.org/x/sys/unix"

// freeAt is the room that is left for this program where a file lies, bytes.
func freeAt(path string) (free uint64, ok bool) {
	var st unix.Statfs_t
	if err := unix.Statfs(path, &st); err != nil {
		return 0, false
	}
	blocks := int64(st.Bavail) // FreeBSD counts below zero what only root may use
	return uint64(max(0, blocks)) * uint64(st.Bsize), true
}
