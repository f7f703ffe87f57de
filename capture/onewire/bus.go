package onewire

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"sync"
	"time"
)

// errNoAnswer is a probe whose read did not return in time; it is still under way.
var errNoAnswer = errors.New("no answer")

// thermometer is the folder of a device of a thermometer family: 10 DS18S20, 22 DS1822, 28 DS18B20, 3b DS1825,
// 42 DS28EA00 (Linux kernel documentation, w1_therm).
var thermometer = regexp.MustCompile(`^(10|22|28|3b|42)-[0-9a-f]{12}$`)

// busMaster is the folder of a bus (Linux kernel documentation, w1-generic).
var busMaster = regexp.MustCompile(`^w1_bus_master[0-9]+$`)

// probe is what is known of a device that was seen once.
type probe struct {
	asked uint64 // the round whose read is under way; 0: none
	gone  error  // why it gives no values; nil while it does
}

// bus is the devices that are read one after the other.
type bus struct {
	master  string // folder name; empty: not known
	bulk    bool   // its probes convert together
	devices []string
}

// answer is what came of one read, or of one refused trigger.
type answer struct {
	round   uint64
	channel string // device; for a trigger the bus
	trigger bool
	payload []byte
	err     error
	at      time.Duration
}

// inbox takes answers from any goroutine without ever holding one up.
type inbox struct {
	mu   sync.Mutex
	held []answer
	wake chan struct{} // holds a token while there may be something to take
}

func (b *inbox) put(a answer) {
	b.mu.Lock()
	b.held = append(b.held, a)
	b.mu.Unlock()
	select {
	case b.wake <- struct{}{}:
	default:
	}
}

func (b *inbox) take() []answer {
	b.mu.Lock()
	defer b.mu.Unlock()
	held := b.held
	b.held = nil
	return held
}

// find lists the buses with the probes to read, and takes up probes not seen before.
func (s *Source) find() ([]bus, error) {
	entries, err := os.ReadDir(s.cfg.Root)
	if err != nil {
		return nil, explain(s.cfg.Root, err)
	}
	wanted := s.cfg.Channels
	masterOf := map[string]string{}
	for _, e := range entries {
		switch {
		case busMaster.MatchString(e.Name()):
			for _, d := range s.slaves(e.Name()) {
				masterOf[d] = e.Name()
			}
		case len(s.cfg.Channels) == 0 && thermometer.MatchString(e.Name()):
			wanted = append(wanted, e.Name())
		}
	}
	for _, d := range wanted {
		if s.probes[d] == nil {
			s.probes[d] = &probe{}
		}
	}
	if len(s.probes) == 0 {
		return nil, fmt.Errorf("%s: no thermometer found; is the cable plugged in, and the pull-up in place?", s.cfg.Root)
	}
	byMaster := map[string]*bus{}
	for _, d := range s.names() {
		m := masterOf[d]
		if byMaster[m] == nil {
			byMaster[m] = &bus{master: m, bulk: m != "" && !s.noBulk[m] && exists(s.bulkFile(m))}
		}
		byMaster[m].devices = append(byMaster[m].devices, d)
	}
	var buses []bus
	for _, m := range slices.Sorted(maps.Keys(byMaster)) {
		buses = append(buses, *byMaster[m])
	}
	return buses, nil
}

// slaves reads the names of the devices on a bus; none where the file cannot be read.
func (s *Source) slaves(master string) []string {
	f, err := os.Open(filepath.Join(s.cfg.Root, master, "w1_master_slaves"))
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

// ask starts the reads of a round, buses in parallel, and tells how long to wait for them. A probe whose read is
// still under way is left alone, so that a dead one holds one goroutine and no more.
func (s *Source) ask(buses []bus) time.Duration {
	inTurn := 1
	for _, b := range buses {
		b.devices = slices.DeleteFunc(slices.Clone(b.devices), func(d string) bool { return s.probes[d].asked != 0 })
		for _, d := range b.devices {
			s.probes[d].asked = s.round
		}
		if len(b.devices) == 0 {
			continue
		}
		if !b.bulk {
			inTurn = max(inTurn, len(b.devices))
		}
		go s.readBus(b, s.round)
	}
	return s.spare + time.Duration(inTurn)*s.conversion
}

// readBus has the probes of a bus convert together where that can be, and then reads them side by side: the kernel
// lets one at a time on the wire, and one that hangs elsewhere does not hold up the others.
func (s *Source) readBus(b bus, round uint64) {
	if b.bulk {
		if err := trigger(s.bulkFile(b.master)); err != nil {
			s.inbox.put(answer{round: round, channel: b.master, trigger: true, err: err, at: s.now()})
		}
	}
	for _, d := range b.devices {
		go func() {
			payload, err := read(filepath.Join(s.cfg.Root, d, "w1_slave"))
			s.inbox.put(answer{round: round, channel: d, payload: payload, err: err, at: s.now()})
		}()
	}
}

// awaited tells whether a read of this round is under way.
func (s *Source) awaited() bool {
	for _, p := range s.probes {
		if p.asked == s.round {
			return true
		}
	}
	return false
}

// names lists the probes seen so far, in order.
func (s *Source) names() []string { return slices.Sorted(maps.Keys(s.probes)) }

func (s *Source) bulkFile(master string) string {
	return filepath.Join(s.cfg.Root, master, "therm_bulk_read")
}

// trigger starts a conversion in all probes of a bus; it returns when they are done (kernel source, w1_therm).
func trigger(path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0) // never made where the kernel has none
	if err != nil {
		return cause(err)
	}
	_, err = f.WriteString("trigger\n")
	return cause(errors.Join(err, f.Close()))
}

// read gives a device's file as it is.
func read(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, cause(err)
	}
	defer f.Close()
	payload, err := io.ReadAll(io.LimitReader(f, FileLimit))
	return payload, cause(err)
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// cause leaves out the path of an error: the record's channel says it.
func cause(err error) error {
	if pe, ok := errors.AsType[*fs.PathError](err); ok {
		return pe.Err
	}
	return err
}
