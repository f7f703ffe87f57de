package onewire

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// scan lists bus masters and thermometers by their folders, which asks nothing of any bus.
func scan(root string) (masters, devices []string, err error) {
	entries, err := os.ReadDir(root)
	if err != nil {
		return nil, nil, err
	}
	for _, e := range entries {
		switch {
		case busMaster.MatchString(e.Name()):
			masters = append(masters, e.Name())
		case thermometer.MatchString(e.Name()):
			devices = append(devices, e.Name())
		}
	}
	return masters, devices, nil
}

// masterOf finds the bus of a device: the kernel has its folder inside that of the bus master. "" where no master has it.
func masterOf(root string, masters []string, device string) string {
	i := slices.IndexFunc(masters, func(m string) bool { return exists(filepath.Join(root, m, device)) })
	if i < 0 {
		return ""
	}
	return masters[i]
}

// slaves reads the names of the devices on a bus; none where the file cannot be read.
func slaves(root, master string) []string {
	f, err := os.Open(filepath.Join(root, master, "w1_master_slaves"))
	if err != nil {
		return nil
	}
	defer f.Close()
	var names []string
	lines := bufio.NewScanner(io.LimitReader(f, FileLimit))
	for lines.Scan() {
		names = append(names, string(bytes.TrimSpace(lines.Bytes())))
	}
	return names
}

// askLists has the bus masters say what they hold, where their folders do not tell. Nobody waits for a master that
// does not answer; its probes are read as those of a bus unknown.
func (s *Source) askLists(ctx context.Context) {
	masters, _, err := scan(s.cfg.Root)
	if err != nil {
		return // find says it
	}
	waiting := 0
	told := make(chan struct{}, len(masters))
	for _, m := range masters {
		if s.listing[m] {
			continue
		}
		s.listing[m] = true
		waiting++
		go func() {
			s.inbox.put(answer{kind: isList, channel: m, list: slaves(s.cfg.Root, m), at: s.now()})
			told <- struct{}{}
		}()
	}
	limit := time.NewTimer(Grace)
	defer limit.Stop()
	for range waiting {
		select {
		case <-told:
		case <-limit.C:
			return
		case <-ctx.Done():
			return
		}
	}
}
