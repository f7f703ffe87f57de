package onewire

import (
	"slices"
	"strings"
	"time"

	"tundish/capture"
)

// sweep is a round that is under way.
type sweep struct {
	round   uint64
	buses   []bus
	waiting map[string]string // device: its bus
	values  []answer
	began   time.Time
	prompt  time.Duration // in this time a bus that keeps up has answered
	until   time.Time     // when those that have not answered are given up
}

// take keeps a value of this sweep.
func (w *sweep) take(a answer) bool {
	if _, ok := w.waiting[a.channel]; !ok || a.round != w.round {
		return false
	}
	delete(w.waiting, a.channel)
	w.values = append(w.values, a)
	return true
}

func (w *sweep) complete() bool { return len(w.waiting) == 0 }

// awaits tells whether a probe of this bus has not answered.
func (w *sweep) awaits(master string) bool {
	for _, m := range w.waiting {
		if m == master {
			return true
		}
	}
	return false
}

// late tells whether a bus that keeps up would have answered.
func (w *sweep) late(now time.Time) bool { return now.Sub(w.began) >= w.prompt }

// begin starts the sweeps that are due: one of all buses that keep up, and one of each other that is idle. A probe
// whose read is still under way is left alone, so that a dead one holds one goroutine and no more.
func (s *Source) begin() error {
	buses, err := s.find()
	if err != nil {
		return err
	}
	var together []bus
	for _, b := range buses {
		b.devices = slices.DeleteFunc(b.devices, func(d string) bool { return s.probes[d].asked != 0 })
		busy := slices.ContainsFunc(s.open, func(w *sweep) bool { return w.awaits(b.master) })
		switch {
		case busy || len(b.devices) == 0:
		case !s.lone[b.master]:
			together = append(together, b)
		default:
			s.ask([]bus{b})
		}
	}
	if len(together) > 0 {
		s.ask(together)
	}
	return nil
}

// ask starts the reads of a sweep, buses side by side.
func (s *Source) ask(buses []bus) {
	s.round++
	w := &sweep{round: s.round, buses: buses, waiting: map[string]string{}, began: time.Now(), prompt: max(s.cfg.Interval, s.conversion+Grace)}
	takes := time.Duration(0)
	for _, b := range buses {
		takes = max(takes, b.takes)
		strange := map[string]bool{}
		for _, d := range b.devices {
			p := s.probes[d]
			p.asked, w.waiting[d] = s.round, b.master
			if strange[d] = !p.known; strange[d] {
				p.known = true
			}
		}
		go s.readBus(b, s.round, strange)
	}
	w.until = w.began.Add(takes + s.spare)
	s.open = append(s.open, w)
}

// firstLimit is how long until the next open sweep is given up.
func (s *Source) firstLimit() time.Duration {
	left := time.Hour
	for _, w := range s.open {
		left = min(left, time.Until(w.until))
	}
	return max(0, left)
}

// part delivers what buses that keep up have answered in a sweep that waits for another: that one goes on by itself.
func (s *Source) part(put func(capture.Record) error) error {
	now := time.Now()
	for _, w := range slices.Clone(s.open) {
		slow := slices.DeleteFunc(slices.Clone(w.buses), func(b bus) bool { return !w.awaits(b.master) })
		if !w.late(now) || len(slow) == 0 || len(slow) == len(w.buses) {
			continue
		}
		for _, b := range slow {
			s.lone[b.master] = true
			own := &sweep{round: w.round, buses: []bus{b}, waiting: map[string]string{}, began: w.began, prompt: w.prompt, until: w.until}
			for d, m := range w.waiting {
				if m == b.master {
					own.waiting[d] = m
				}
			}
			own.values = slices.DeleteFunc(slices.Clone(w.values), func(a answer) bool { return !slices.Contains(b.devices, a.channel) })
			w.values = slices.DeleteFunc(w.values, func(a answer) bool { return slices.Contains(b.devices, a.channel) })
			s.open = append(s.open, own)
		}
		if err := s.emit(w, put); err != nil { // the others kept up: nothing is to be said of them
			return err
		}
	}
	return nil
}

// expire gives up what is overdue.
func (s *Source) expire(put func(capture.Record) error) error {
	now := time.Now()
	for _, w := range slices.Clone(s.open) {
		if !now.Before(w.until) {
			if err := s.deliver(w, put); err != nil {
				return err
			}
		}
	}
	return nil
}

// deliver ends a sweep: all its values with the At of the last of them, in the order of their names, then what there
// is to say of the probes that gave none.
func (s *Source) deliver(w *sweep, put func(capture.Record) error) error {
	for _, b := range w.buses { // a probe that is dead does not make its bus slow: nobody waits for it again
		if len(w.buses) == 1 && w.complete() {
			s.lone[b.master] = w.late(time.Now())
		} else if w.awaits(b.master) {
			s.lone[b.master] = true
		}
	}
	if err := s.emit(w, put); err != nil {
		return err
	}
	for _, name := range s.names() {
		if _, missing := w.waiting[name]; missing {
			if err := s.tell(answer{channel: name, err: errNoAnswer}, s.now(), put); err != nil {
				return err
			}
		}
	}
	return s.allGone()
}

// emit gives the values of a sweep and closes it.
func (s *Source) emit(w *sweep, put func(capture.Record) error) error {
	s.open = slices.DeleteFunc(s.open, func(o *sweep) bool { return o == w })
	s.sweep++
	var at time.Duration
	for _, a := range w.values {
		at = max(at, a.at)
	}
	slices.SortFunc(w.values, func(a, b answer) int { return strings.Compare(a.channel, b.channel) })
	for _, a := range w.values {
		if err := s.tell(a, at, put); err != nil {
			return err
		}
	}
	return nil
}

// leave gives what has come of the open sweeps. Who was not waited for is not gone.
func (s *Source) leave(put func(capture.Record) error) error {
	if err := s.sort(put); err != nil {
		return err
	}
	for _, w := range slices.Clone(s.open) {
		if err := s.emit(w, put); err != nil {
			return err
		}
	}
	return nil
}
