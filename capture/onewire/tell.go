package onewire

import (
	"errors"
	"fmt"
	"time"

	"tundish/capture"
)

// tell emits a probe's answer in the current sweep, and a note when the probe went away or came back.
func (s *Source) tell(a answer, at time.Duration, put func(capture.Record) error) error {
	p := s.probes[a.channel]
	note := capture.Record{Channel: a.channel, At: at}
	switch {
	case a.err != nil && p.gone != nil: // told already
		return nil
	case a.err != nil:
		p.gone = a.err
		note.Note = fmt.Sprintf("probe gone: %v", a.err)
		return put(note)
	case p.gone != nil:
		p.gone = nil
		note.Note = "probe back"
		if err := put(note); err != nil {
			return err
		}
	}
	return put(capture.Record{Channel: a.channel, At: at, Sweep: s.sweep, Payload: a.payload})
}

// learn keeps what a probe's files say, and tells it once.
func (s *Source) learn(a answer, put func(capture.Record) error) error {
	s.probes[a.channel].conversion = a.settings.Conversion
	if words := a.settings.String(); words != "" {
		return put(capture.Record{Channel: a.channel, At: a.at, Note: "probe: " + words})
	}
	return nil
}

// lists keeps which bus a probe is on. One that two buses list is told: its values may be those of two probes.
func (s *Source) lists(a answer, put func(capture.Record) error) error {
	delete(s.listing, a.channel)
	for _, d := range a.list {
		if !thermometer.MatchString(d) || len(s.listed) >= MostProbes && s.listed[d] == "" {
			continue
		}
		if other := s.listed[d]; other != "" && other != a.channel && !s.double[d] {
			s.double[d] = true
			err := put(capture.Record{Channel: d, At: a.at, Note: fmt.Sprintf(
				"two buses list this probe, %s and %s: two probes have one number, and their values cannot be told apart; take one away", other, a.channel)})
			if err != nil {
				return err
			}
		}
		s.listed[d] = a.channel
	}
	return nil
}

// refused notes, once a bus, that its probes cannot convert together.
func (s *Source) refused(a answer, put func(capture.Record) error) error {
	if s.noBulk[a.channel] {
		return nil
	}
	s.noBulk[a.channel] = true
	return put(capture.Record{Channel: a.channel, At: a.at,
		Note: fmt.Sprintf("probes are read one by one: the bus takes no common trigger: %v", a.err)})
}

// allGone is the error of a source that has no probe left, else nil.
func (s *Source) allGone() error {
	var reasons []error
	for _, name := range s.names() {
		p := s.probes[name]
		if p.gone == nil {
			return nil
		}
		reasons = append(reasons, fmt.Errorf("%s: %w", name, p.gone))
	}
	return fmt.Errorf("%s: all probes are gone; is the cable plugged in? %w", s.cfg.Root, errors.Join(reasons...))
}
