package onewire

import (
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
	asked      uint64        // the round whose read is under way; 0: none
	gone       error         // why it gives no values; nil while it does
	conversion time.Duration // as its files say; 0: they do not
	known      bool          // its files were asked for
}

// bus is the devices that are read one after the other.
type bus struct {
	master  string // folder name; empty: not known
	bulk    bool   // its probes convert together
	devices []string
	takes   time.Duration // the longest that its conversions take, all of them
}

// about says what an answer is of.
type about uint8

const (
	isValue    about = iota // a read of a probe
	isTrigger               // a bus that refused the common trigger
	isSettings              // resolution and the like of a probe
	isList                  // the devices on a bus
)

// answer is what came of a question to a probe or a bus.
type answer struct {
	kind     about
	round    uint64 // of isValue and isTrigger
	channel  string // device or bus master
	payload  []byte
	settings Settings
	list     []string
	err      error
	at       time.Duration
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
	masters, devices, err := scan(s.cfg.Root)
	if err != nil {
		return nil, explain(s.cfg.Root, err)
	}
	wanted := s.cfg.Channels
	if len(wanted) == 0 {
		wanted = devices
	}
	for _, d := range wanted {
		if s.probes[d] == nil && len(s.probes) < MostProbes {
			s.probes[d] = &probe{}
		}
	}
	if len(s.probes) == 0 {
		return nil, fmt.Errorf("%s: no thermometer found; is the cable plugged in, and the pull-up in place?", s.cfg.Root)
	}
	byMaster := map[string]*bus{}
	for _, d := range s.names() {
		m := masterOf(s.cfg.Root, masters, d)
		if m == "" {
			m = s.listed[d]
		}
		if byMaster[m] == nil {
			byMaster[m] = &bus{master: m, bulk: m != "" && !s.noBulk[m] && exists(s.bulkFile(m))}
		}
		byMaster[m].devices = append(byMaster[m].devices, d)
	}
	var buses []bus
	for _, m := range slices.Sorted(maps.Keys(byMaster)) {
		b := *byMaster[m]
		for _, d := range b.devices {
			one := s.conversion
			if own := s.probes[d].conversion; own > 0 {
				one = own
			}
			if b.bulk {
				b.takes = max(b.takes, one)
			} else {
				b.takes += one
			}
		}
		buses = append(buses, b)
	}
	return buses, nil
}

// readBus has the probes of a bus convert together where that can be, and then reads them side by side: the kernel
// lets one at a time on the wire, and one that hangs elsewhere does not hold up the others.
func (s *Source) readBus(b bus, round uint64, strange map[string]bool) {
	if b.bulk {
		if err := trigger(s.bulkFile(b.master)); err != nil {
			s.inbox.put(answer{kind: isTrigger, round: round, channel: b.master, err: err, at: s.now()})
		}
	}
	for _, d := range b.devices {
		go func() {
			if strange[d] {
				s.inbox.put(answer{kind: isSettings, channel: d, settings: settingsOf(filepath.Join(s.cfg.Root, d)), at: s.now()})
			}
			payload, err := read(filepath.Join(s.cfg.Root, d, "w1_slave"))
			s.inbox.put(answer{round: round, channel: d, payload: payload, err: err, at: s.now()})
		}()
	}
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
