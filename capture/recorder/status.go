package recorder

import (
	"bytes"
	"time"

	"tundish/capture"
)

// Status is what a status line tells of a run, as of one moment.
type Status struct {
	At          time.Duration // of the run, now
	Started     time.Time     // UTC; the wall time at zero of the run's clock, as last observed; zero before that
	Synced      bool          // the wall clock, as last observed
	Records     uint64        // given to the sink, notes included
	Committed   uint64        // of them lasting
	CommittedAt time.Duration // of the run; zero: nothing is committed yet
	Sources     []SourceStatus
}

// SourceStatus is the part of one source.
type SourceStatus struct {
	Name    string
	Records uint64 // without notes
	// LastAt, LastChannel and LastPayload are of the latest record without a note; Records 0: there is none. The
	// payload is trimmed of white space and cut to PayloadShown; it may hold any bytes.
	LastAt      time.Duration
	LastChannel string
	LastPayload []byte
	PerMinute   float64       // records a minute over the last minute, or since the start where that is shorter
	Silent      time.Duration // since LastAt, or since the start
	Lost        string        // why the source is lost, and since when; empty: it is not
	LostAt      time.Duration
}

// PayloadShown is how much of a payload a status holds, in bytes. Own choice: a line of a terminal.
const PayloadShown = 80

// A rate is counted in slots of time over the last minute.
const (
	rateSlot  = 5 * time.Second
	rateSlots = int(time.Minute / rateSlot)
)

// sourceState is the recorder's account of one source, under its mutex.
type sourceState struct {
	name    string
	records uint64
	last    capture.Record
	shown   []byte
	slots   [rateSlots]uint64
	slot    int64 // the latest slot counted in
	lost    string
	lostAt  time.Duration
}

// Status takes a snapshot. It may be called from any goroutine, at any time.
func (r *Recorder) Status() Status {
	now := r.now()
	r.mu.Lock()
	defer r.mu.Unlock()
	st := r.status
	st.At = now
	for _, s := range r.states {
		s.advance(now)
		one := SourceStatus{Name: s.name, Records: s.records, LastAt: s.last.At, LastChannel: s.last.Channel,
			LastPayload: bytes.Clone(s.shown), Silent: max(0, now-s.last.At), Lost: s.lost, LostAt: s.lostAt}
		var sum uint64
		for _, n := range s.slots {
			sum += n
		}
		if span := min(now, time.Minute-rateSlot+now%rateSlot); span > 0 {
			one.PerMinute = float64(sum) / span.Minutes()
		}
		st.Sources = append(st.Sources, one)
	}
	return st
}

// advance clears the slots that began since the latest one.
func (s *sourceState) advance(now time.Duration) {
	slot := int64(now / rateSlot)
	for n := max(s.slot+1, slot-int64(rateSlots)+1); n <= slot; n++ {
		s.slots[n%int64(rateSlots)] = 0
	}
	s.slot = max(s.slot, slot)
}

// noteKept accounts for a record that the sink has taken.
func (r *Recorder) noteKept(rec capture.Record) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.status.Records++
	if rec.Note != "" {
		return
	}
	for _, s := range r.states {
		if s.name != rec.Source {
			continue
		}
		s.advance(r.now())
		s.slots[s.slot%int64(rateSlots)]++
		s.records++
		shown := bytes.TrimSpace(rec.Payload)
		s.shown = append(s.shown[:0], shown[:min(len(shown), PayloadShown)]...)
		rec.Payload, rec.Stored = nil, nil // the sink may keep the payload
		s.last = rec
	}
}

// setLost says why a source is lost; empty: it is not.
func (r *Recorder) setLost(i int, why string, at time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.states[i].lost, r.states[i].lostAt = why, at
}
