package recorder

import (
	"context"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
)

// TestSuspended: the wall clock is an hour further while the run's clock has hardly moved, and the kernel says that the
// machine slept. What is recorded tells when it was last seen awake and when it was awake again, with a record between
// that came on waking. The machine itself cannot be suspended here: the clocks are a test's.
func TestSuspended(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		var slept atomic.Int64
		const before = 37 * time.Hour // it had slept before the run
		_, stop, done := run(t, Config{Sources: []Named{{"boiler", every("boiler", clock, time.Second)}}, Sink: s, Clock: clock,
			Wall:  func() time.Time { return time.Now().Add(time.Duration(slept.Load())) },
			Slept: func() time.Duration { return before + time.Duration(slept.Load()) }})
		began := time.Now().UTC()
		time.Sleep(12500 * time.Millisecond)
		slept.Add(int64(time.Hour)) // the record at 13 s is the first one after it
		time.Sleep(20 * time.Second)
		slept.Add(int64(SleepSeen / 2)) // too short to be told, and not added up unless more comes
		time.Sleep(10 * time.Second)
		slept.Add(int64(2 * time.Hour))
		time.Sleep(4700 * time.Millisecond)
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		const sec = time.Second
		half := SleepSeen / 2
		look := func(at, slept time.Duration) observation {
			return observation{At: at, Wall: began.Add(at + slept), Synced: true, Slept: slept}
		}
		want := []observation{look(0, 0), look(12*sec, 0), look(13*sec, time.Hour),
			{At: 42 * sec, Wall: began.Add(42*sec + time.Hour + half), Synced: true, Slept: time.Hour}, look(43*sec, 3*time.Hour+half)}
		if diff := cmp.Diff(want, s.observations); diff != "" {
			t.Error(diff)
		}
	})
}

// TestSuspendedWithoutRecords: where nothing comes the sleep is found at the next commit.
func TestSuspendedWithoutRecords(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		var slept atomic.Int64
		silent := source(func(ctx context.Context, _ func(capture.Record) error) error { <-ctx.Done(); return nil })
		_, stop, done := run(t, Config{Sources: []Named{{"boiler", silent}}, Sink: s, Clock: clock,
			Wall: func() time.Time { return time.Now().Add(time.Duration(slept.Load())) }, Slept: func() time.Duration { return time.Duration(slept.Load()) }})
		began := time.Now().UTC()
		time.Sleep(62 * time.Second)
		slept.Add(int64(time.Hour))
		time.Sleep(10 * time.Second)
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		const sec = time.Second
		want := []observation{{Wall: began, Synced: true}, {At: 60 * sec, Wall: began.Add(60 * sec), Synced: true},
			{At: 65 * sec, Wall: began.Add(65*sec + time.Hour), Synced: true, Slept: time.Hour}}
		if diff := cmp.Diff(want, s.observations); diff != "" {
			t.Error(diff)
		}
	})
}

// TestSleptOfThisMachine: the kernel's answer does not move while the machine is awake.
func TestSleptOfThisMachine(t *testing.T) {
	a := Slept()
	for range 100 {
		if b := Slept(); b < 0 || (b-a).Abs() >= SleepSeen {
			t.Fatalf("the machine seems to have slept for %v, then %v", a, b)
		}
	}
}
