package jobsheet

import (
	"os"
	"path/filepath"
	"strings"
	"time"
)

// machineZone is the machine's own time zone, under its IANA name where the machine tells it: a report that says
// "Local" would mean another time wherever it is read.
func machineZone() *time.Location {
	if time.Local.String() != "Local" { // TZ names it
		return time.Local
	}
	target, err := filepath.EvalSymlinks("/etc/localtime")
	if err != nil {
		return zoneNamedIn("/etc/timezone")
	}
	if _, name, ok := strings.Cut(filepath.ToSlash(target), "zoneinfo/"); ok {
		if zone, err := time.LoadLocation(name); err == nil {
			return zone
		}
	}
	return zoneNamedIn("/etc/timezone")
}

func zoneNamedIn(file string) *time.Location {
	name, err := os.ReadFile(file)
	if err != nil {
		return time.Local
	}
	zone, err := time.LoadLocation(strings.TrimSpace(string(name)))
	if err != nil {
		return time.Local
	}
	return zone
}
