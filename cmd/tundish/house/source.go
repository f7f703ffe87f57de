package house

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"tundish/capture"
)

// Config says which part of which house a source delivers.
type Config struct {
	Scenario string // name of a scenario
	Seed     uint64
	Part     string // "bus" or "probes"
	Source   string // the source's name in the job sheet
}

// errStopped ends a drain because ctx was cancelled; it never leaves Capture.
var errStopped = errors.New("stopped")

// Source delivers one part of a house at the pace of the clock. The house's midnight of the first day is the
// clock's zero, so that bus and probes of one seed tell of the same house, whenever each is started. After the
// scenario's days the house goes on: the same weather process and the same schedule; planned faults and cold snaps
// are over, those that are a standing rate (lost replies and the like) stay.
type Source struct {
	scenario Scenario
	seed     uint64
	part     part
	name     string
	clock    capture.Clock
}

// NewSource makes a source. The error names the key of the job sheet and what it may hold.
func NewSource(cfg Config, clock capture.Clock) (*Source, error) {
	s, ok := Find(cfg.Scenario)
	if !ok {
		return nil, fmt.Errorf("scenario: no house called %q; there are %s", cfg.Scenario, strings.Join(names(), ", "))
	}
	src := &Source{scenario: s, seed: cfg.Seed, name: cfg.Source, clock: clock}
	switch cfg.Part {
	case PartBus:
		src.part = partBus
	case PartProbes:
		src.part = partProbes
	default:
		return nil, fmt.Errorf("part: %q is none of a house's; use %q or %q", cfg.Part, PartBus, PartProbes)
	}
	return src, nil
}

// Capture implements [capture.Source]. It first brings the house to the present, then emits each record when its
// time has come, stamped with the clock. It returns nil when ctx is cancelled.
func (s *Source) Capture(ctx context.Context, emit func(capture.Record) error) error {
	d := newDevices(s.scenario, s.seed)
	present := s.clock.Now()
	timer := time.NewTimer(0)
	defer timer.Stop()
	for {
		if d.house.now%time.Hour == 0 && ctx.Err() != nil {
			return nil
		}
		if !s.wait(ctx, timer, d.house.now) {
			return nil
		}
		d.step()
		err := d.queue.drain(d.house.now, func(v *delivery) error {
			if v.part != s.part || v.at < present || !s.scenario.Listening(v.at) {
				return nil
			}
			if !s.wait(ctx, timer, v.at) {
				return errStopped
			}
			return emit(capture.Record{At: s.clock.Now(), Source: s.name, Channel: v.channel, Sweep: v.sweep,
				Payload: v.text, Note: v.note})
		})
		if errors.Is(err, errStopped) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// wait waits until the clock shows at; false: ctx was cancelled.
func (s *Source) wait(ctx context.Context, timer *time.Timer, at time.Duration) bool {
	d := at - s.clock.Now()
	if d <= 0 {
		return true
	}
	timer.Reset(d)
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return true
	}
}
