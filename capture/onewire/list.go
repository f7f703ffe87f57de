package onewire

import (
	"fmt"
	"path/filepath"
	"time"
)

// Found is a thermometer that the kernel shows.
type Found struct {
	Device   string // folder name
	Master   string // its bus; empty: not known
	Settings Settings
	Bulk     bool // its bus can have all probes convert together
}

// List tells the thermometers under root (empty: DefaultRoot) in order of name, and how they are set, without
// measuring. A device whose files do not answer within the limit is listed without settings. The error says what is
// missing where the kernel shows no devices at all.
func List(root string, limit time.Duration) ([]Found, error) {
	if root == "" {
		root = DefaultRoot
	}
	masters, devices, err := scan(root)
	if err != nil {
		return nil, explain(root, err)
	}
	if len(devices) > MostProbes {
		return nil, fmt.Errorf("%s: %d thermometers are more than a bus can hold; look for a loose cable", root, len(devices))
	}
	type told struct {
		i int
		Settings
	}
	answers := make(chan told, len(devices))
	list := make([]Found, len(devices))
	for i, d := range devices {
		m := masterOf(root, masters, d)
		list[i] = Found{Device: d, Master: m, Bulk: m != "" && exists(filepath.Join(root, m, "therm_bulk_read"))}
		go func() { answers <- told{i, settingsOf(filepath.Join(root, d))} }()
	}
	over := time.After(limit)
	for range devices {
		select {
		case a := <-answers:
			list[a.i].Settings = a.Settings
		case <-over:
			return list, nil
		}
	}
	return list, nil
}
