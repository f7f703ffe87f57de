// Package onewire reads temperature probes through the Linux kernel's 1-Wire driver, one record a probe and sweep.
//
//	/sys/bus/w1/devices/w1_bus_master1/w1_master_slaves   the devices on this bus, one name a line
//	/sys/bus/w1/devices/w1_bus_master1/therm_bulk_read    write "trigger": all probes of this bus convert at once
//	/sys/bus/w1/devices/28-0000a71c01f4/w1_slave          the record's payload, as read
//
//	a7 01 55 05 7f a5 a5 66 12 : crc=12 YES
//	a7 01 55 05 7f a5 a5 66 12 t=26437
//
// (Linux kernel documentation: w1-generic, w1_therm, sysfs-driver-w1_therm.) The file is kept as it is, whether its
// first line ends in YES or NO, and so is an empty file, which recent drivers give after a failed conversion: what
// to believe is the decoder's.
//
// A sweep is one round of all probes; its values share Sweep and At. Where the bus has therm_bulk_read, all its
// probes convert at the same moment; elsewhere they convert one after the other as they are read, 750 ms each at
// 12 bits. Buses are asked at the same moment and share a sweep as long as they keep up: a bus that needs longer than
// a sweep lasts, or did not answer in time, has sweeps of its own and holds nobody up, until it answers in time again.
//
// "trigger" is a command to measure, to probes on a bus of their own; no appliance hears it. It is the only thing
// written; resolution, features, alarms and EEPROM are left as they were set. What resolution a probe has is told
// once, in a note.
package onewire

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"tundish/capture"
)

const (
	// DefaultRoot is where the kernel shows the devices.
	DefaultRoot = "/sys/bus/w1/devices"
	// DefaultInterval is from sweep to sweep. Own choice: the shortest whole second that holds a 12-bit conversion.
	DefaultInterval = time.Second
	// ConversionTime is the longest that a probe takes for a 12-bit value (DS18B20 datasheet, t_CONV).
	ConversionTime = 750 * time.Millisecond
	// AnswerSpare is how much longer than its conversion a probe may take before the sweep goes on without it. Own
	// choice: reading out takes about 15 ms a probe at the bus's 60–120 µs a bit, the rest is for a busy machine.
	AnswerSpare = time.Second
	// Grace is how long after its conversions a bus may answer and still keep up with the others. Own choice: reading
	// out takes about 15 ms a probe.
	Grace = 250 * time.Millisecond
	// MostProbes is how many are read at the most. Own choice: a noisy bus may show devices that are not there.
	MostProbes = 128
	// FileLimit is how much of a device's file is kept, in bytes: a sysfs file is at most one page.
	FileLimit = 4096
)

// Config says which probes to read.
type Config struct {
	Source   string        // the source's name in the job sheet
	Root     string        // empty: DefaultRoot
	Channels []string      // device folders, "28-0000a71c01f4"; empty: every thermometer found, also later
	Interval time.Duration // from sweep to sweep; 0: DefaultInterval
}

// Source is the [capture.Source] of the probes under one root.
type Source struct {
	cfg   Config
	clock capture.Clock
	// AnswerSpare and ConversionTime; tests shorten them.
	spare, conversion time.Duration

	// What follows lives on from one Capture to the next, so that an outage is told once and a probe that hangs
	// is not asked twice. It belongs to the goroutine that runs Capture.
	round  uint64 // of asking
	sweep  uint32 // last number given
	last   time.Duration
	probes map[string]*probe
	noBulk map[string]bool // buses that refused the trigger
	lone   map[string]bool // buses that were late, and are swept by themselves
	open   []*sweep
	inbox  inbox

	listing map[string]bool   // bus masters that are saying what they hold
	listed  map[string]string // device: the master that listed it
	double  map[string]bool   // devices that two masters list
}

// New makes a source; nothing is read before Capture.
func New(cfg Config, clock capture.Clock) *Source {
	if cfg.Root == "" {
		cfg.Root = DefaultRoot
	}
	if cfg.Interval <= 0 {
		cfg.Interval = DefaultInterval
	}
	return &Source{cfg: cfg, clock: clock, spare: AnswerSpare, conversion: ConversionTime,
		probes: map[string]*probe{}, noBulk: map[string]bool{}, lone: map[string]bool{}, inbox: inbox{wake: make(chan struct{}, 1)},
		listing: map[string]bool{}, listed: map[string]string{}, double: map[string]bool{}}
}

// Capture sweeps the probes until ctx is cancelled (nil), all probes or the root are gone (an error that names
// what), or emit fails. A probe that vanishes or does not answer gets one record with a note, "probe gone: …", and
// when it is back another, "probe back", before its value; the others go on. A value that comes after its sweep
// was over has a sweep and an At of its own.
//
// Capture must not be called twice at the same time.
func (s *Source) Capture(ctx context.Context, emit func(capture.Record) error) error {
	put := func(r capture.Record) error {
		r.Source = s.cfg.Source
		r.At = max(r.At, s.last) // an answer may be told after a note that is younger
		s.last = r.At
		return emit(r)
	}
	s.open = nil
	s.askLists(ctx)
	if err := s.sort(put); err != nil {
		return err
	}
	tick := time.NewTicker(s.cfg.Interval)
	defer tick.Stop()
	for ctx.Err() == nil {
		if err := s.begin(); err != nil {
			return err
		}
		if err := s.await(ctx, tick.C, put); err != nil {
			return err
		}
	}
	return s.leave(put)
}

// await takes answers until it is time for the next sweep.
func (s *Source) await(ctx context.Context, next <-chan time.Time, put func(capture.Record) error) error {
	for {
		limit := time.NewTimer(s.firstLimit())
		select {
		case <-ctx.Done():
			limit.Stop()
			return nil
		case <-next:
			limit.Stop()
			return s.part(put)
		case <-limit.C:
			if err := s.expire(put); err != nil {
				return err
			}
		case <-s.inbox.wake:
			limit.Stop()
			if err := s.sort(put); err != nil {
				return err
			}
		}
	}
}

// sort puts answers where they belong, and delivers the sweeps that they complete.
func (s *Source) sort(put func(capture.Record) error) error {
	for _, a := range s.inbox.take() {
		var err error
		switch a.kind {
		case isList:
			err = s.lists(a, put)
		case isSettings:
			err = s.learn(a, put)
		case isTrigger:
			err = s.refused(a, put)
		default:
			err = s.value(a, put)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// value is a probe's answer: of an open sweep, or late for its own, and then a sweep of its own.
func (s *Source) value(a answer, put func(capture.Record) error) error {
	p := s.probes[a.channel]
	if p.asked == a.round {
		p.asked = 0
	}
	for _, w := range s.open {
		if w.take(a) {
			if w.complete() {
				return s.deliver(w, put)
			}
			return nil
		}
	}
	s.sweep++
	return s.tell(a, a.at, put)
}

// now is the run's clock at the resolution of a record.
func (s *Source) now() time.Duration { return s.clock.Now().Truncate(time.Microsecond) }

// explain turns an error of the root into what to do.
func explain(root string, err error) error {
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: %w; is the 1-Wire driver loaded (w1-gpio overlay, w1_therm)?", root, err)
	}
	return fmt.Errorf("%s: %w", root, err)
}
