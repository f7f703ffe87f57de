package recorder

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
)

func TestCommitCadence(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		r, stop, done := run(t, Config{Sources: []Named{{"boiler", every("boiler", clock, time.Second)}}, Sink: s, Clock: clock, Run: 7})
		time.Sleep(21500 * time.Millisecond)
		st := r.Status()
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		want := []time.Duration{5 * time.Second, 10 * time.Second, 15 * time.Second, 20 * time.Second, 21500 * time.Millisecond}
		if diff := cmp.Diff(want, s.commits); diff != "" {
			t.Error(diff)
		}
		if len(s.records) != 21 || s.committed != 21 {
			t.Errorf("%d records, %d committed", len(s.records), s.committed)
		}
		for _, rec := range s.records {
			if rec.Run != 7 || string(rec.Payload) != " R12345\n" || rec.Note != "" {
				t.Errorf("%+v", rec)
			}
		}
		one := st.Sources[0]
		if st.Records != 21 || st.Committed < 19 || st.CommittedAt != 20*time.Second || one.Records != 21 || one.LastAt != 21*time.Second ||
			string(one.LastPayload) != "R12345" || one.Silent != 500*time.Millisecond || one.Lost != "" || one.PerMinute < 55 || one.PerMinute > 60 {
			t.Errorf("status %+v", st)
		}
	})
}

// TestNothingToCommit: a quiet run writes nothing to the card but the observations.
func TestNothingToCommit(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		silent := source(func(ctx context.Context, _ func(capture.Record) error) error { <-ctx.Done(); return ctx.Err() })
		_, stop, done := run(t, Config{Sources: []Named{{"boiler", silent}}, Sink: s, Clock: clock})
		time.Sleep(time.Hour + time.Second)
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		// One at the start, one every five minutes.
		if len(s.observations) != 13 || len(s.commits) != 14 {
			t.Errorf("%d observations, %d commits", len(s.observations), len(s.commits))
		}
		for i, o := range s.observations {
			if o.At != time.Duration(i)*ObserveEvery || !o.Synced || o.Wall.Location() != time.UTC {
				t.Errorf("observation %d: %+v", i, o)
			}
		}
	})
}

func TestWallClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		var offset atomic.Int64
		var synced atomic.Bool
		silent := source(func(ctx context.Context, _ func(capture.Record) error) error { <-ctx.Done(); return nil })
		_, stop, done := run(t, Config{Sources: []Named{{"boiler", silent}}, Sink: s, Clock: clock,
			Wall: func() time.Time { return time.Now().Add(time.Duration(offset.Load())) }, Synced: synced.Load})
		began := time.Now().UTC()
		time.Sleep(11 * time.Second)
		offset.Store(int64(StepSeen)) // not a step yet
		time.Sleep(10 * time.Second)
		offset.Store(int64(-time.Hour)) // the step is seen at 25 s
		time.Sleep(10 * time.Second)
		synced.Store(true) // seen at 35 s
		time.Sleep(30 * time.Second)
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		want := []observation{{Wall: began}, {At: 25 * time.Second, Wall: began.Add(25*time.Second - time.Hour)},
			{At: 35 * time.Second, Wall: began.Add(35*time.Second - time.Hour), Synced: true}}
		if diff := cmp.Diff(want, s.observations); diff != "" {
			t.Error(diff)
		}
	})
}

func TestLossAndBackOff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		var tries []time.Duration
		flaky := source(func(ctx context.Context, emit func(capture.Record) error) error {
			now := clock.Now()
			tries = append(tries, now)
			switch {
			case now < 10*time.Second: // one record, then gone
				if err := emit(capture.Record{Source: "boiler", At: now, Payload: []byte("a\n")}); err != nil {
					return err
				}
				time.Sleep(10 * time.Second)
				return errors.New("/dev/x: the device went away")
			case now < 3*time.Minute:
				return errors.New("/dev/x: no such file")
			}
			return every("boiler", clock, time.Second)(ctx, emit)
		})
		r, stop, done := run(t, Config{Sources: []Named{{"boiler", flaky}, {"probes", every("probes", clock, time.Second)}}, Sink: s, Clock: clock})
		time.Sleep(100 * time.Second)
		if st := r.Status().Sources[0]; st.Lost != "/dev/x: no such file" || st.LostAt != 10*time.Second || st.Silent != 100*time.Second || st.Records != 1 {
			t.Errorf("status %+v", st)
		}
		time.Sleep(200 * time.Second)
		if st := r.Status().Sources[0]; st.Lost != "" || st.Records < 50 {
			t.Errorf("status %+v", st)
		}
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		// Pauses of 1, 2, 4, 8, 16, 30, 30, 30 … s after the loss at 10 s.
		want := []time.Duration{0, 11, 13, 17, 25, 41, 71, 101, 131, 161, 191}
		for i := range want {
			want[i] *= time.Second
		}
		if diff := cmp.Diff(want, tries); diff != "" {
			t.Error(diff)
		}
		var notes []string
		for _, rec := range s.of("boiler") {
			if rec.Note != "" {
				notes = append(notes, fmt.Sprint(rec.At, " ", rec.Note))
			}
		}
		wantNotes := []string{"10s lost: /dev/x: the device went away", "11s lost: /dev/x: no such file", "3m12s back after 3m2s"}
		if diff := cmp.Diff(wantNotes, notes); diff != "" {
			t.Error(diff)
		}
		if got := s.of("probes"); len(got) < 299 {
			t.Errorf("the other source has %d records in 300 s", len(got))
		}
	})
}

// TestBackOffStartsAnew: after a source was back, the next loss is tried again after a second.
func TestBackOffStartsAnew(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		var tries []time.Duration
		flaky := source(func(_ context.Context, emit func(capture.Record) error) error {
			tries = append(tries, clock.Now())
			if len(tries) == 5 {
				if err := emit(capture.Record{Source: "boiler", At: clock.Now()}); err != nil {
					return err
				}
			}
			return errors.New("gone")
		})
		_, stop, done := run(t, Config{Sources: []Named{{"boiler", flaky}}, Sink: s, Clock: clock})
		time.Sleep(17 * time.Second)
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		if want := []time.Duration{0, 1e9, 3e9, 7e9, 15e9, 16e9}; !cmp.Equal(want, tries) {
			t.Error(cmp.Diff(want, tries))
		}
	})
}

// TestReached: a source that is reached again is not lost any more, though it has nothing to deliver yet; that it was
// reached and thrown off at once does not make the next tries come faster.
func TestReached(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		var tries []time.Duration
		quiet := source(func(ctx context.Context, emit func(capture.Record) error) error {
			tries = append(tries, clock.Now())
			if len(tries) > 1 {
				if err := emit(capture.Record{Source: "radio", At: clock.Now(), Note: capture.Reached}); err != nil {
					return err
				}
			}
			switch len(tries) {
			case 4: // stands for a minute
				time.Sleep(time.Minute)
			case 6:
				<-ctx.Done()
				return nil
			}
			return errors.New("broker gone")
		})
		r, stop, done := run(t, Config{Sources: []Named{{"radio", quiet}}, Sink: s, Clock: clock})
		time.Sleep(69 * time.Second) // 0, 1, 3, 7 s; lost at 67 s, and again at 68 s
		if st := r.Status().Sources[0]; st.Lost != "broker gone" || st.LostAt != 68*time.Second || st.Records != 0 {
			t.Errorf("status %+v", st)
		}
		time.Sleep(2 * time.Second)
		if st := r.Status().Sources[0]; st.Lost != "" {
			t.Errorf("status %+v", st)
		}
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		if want := []time.Duration{0, 1e9, 3e9, 7e9, 68e9, 70e9}; !cmp.Equal(want, tries) {
			t.Error(cmp.Diff(want, tries))
		}
		var notes []string
		for _, rec := range s.of("radio") {
			notes = append(notes, rec.At.String()+" "+rec.Note)
		}
		want := []string{"0s lost: broker gone", "1s back after 1s", "1s lost: broker gone", "3s back after 2s", "3s lost: broker gone", "7s back after 4s",
			"1m7s lost: broker gone", "1m8s back after 1s", "1m8s lost: broker gone", "1m10s back after 2s"}
		if !cmp.Equal(want, notes) {
			t.Error(cmp.Diff(want, notes))
		}
	})
}

func TestPanicIsALoss(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		broken := source(func(context.Context, func(capture.Record) error) error { panic("index out of range") })
		_, stop, done := run(t, Config{Sources: []Named{{"broken", broken}, {"probes", every("probes", clock, time.Second)}}, Sink: s, Clock: clock})
		time.Sleep(time.Minute)
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		if got := s.of("broken"); len(got) != 1 || !strings.Contains(got[0].Note, "lost: broken: a bug in this source: index out of range") {
			t.Errorf("%+v", got)
		}
		if got := s.of("probes"); len(got) < 59 {
			t.Errorf("%d records of the other source", len(got))
		}
	})
}

func TestSinkFails(t *testing.T) {
	full := errors.New("disk full")
	for name, breakIt := range map[string]func(*sink){
		"append": func(s *sink) {
			s.appendErr = func(n int) error {
				if n == 7 {
					return full
				}
				return nil
			}
		},
		"commit": func(s *sink) { s.commitErr = func() error { return full } },
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				clock := capture.StartClock()
				s := &sink{clock: clock}
				breakIt(s)
				ended := 0
				src := source(func(ctx context.Context, emit func(capture.Record) error) error {
					defer func() { ended++ }()
					return every("boiler", clock, time.Second)(ctx, emit)
				})
				_, _, done := run(t, Config{Sources: []Named{{"boiler", src}}, Sink: s, Clock: clock})
				err := <-done
				if !errors.Is(err, full) || !strings.Contains(err.Error(), "what was committed before stays") {
					t.Errorf("got %v", err)
				}
				if ended != 1 {
					t.Error("the source was not stopped")
				}
				if name == "append" && (s.committed != 4 || len(s.commits) != 1) {
					t.Errorf("%d records committed in %d commits", s.committed, len(s.commits))
				}
			})
		})
	}
}

// TestBackPressure: a sink slower than its source holds the source up; nothing is lost, and what waits is bounded.
func TestBackPressure(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		const n = 3 * QueueLength
		clock := capture.StartClock()
		s := &sink{clock: clock, slow: 10 * time.Millisecond}
		var emitted, most int64
		src := source(func(ctx context.Context, emit func(capture.Record) error) error {
			for i := range n {
				if err := emit(capture.Record{Source: "boiler", At: clock.Now(), Payload: fmt.Append(nil, i)}); err != nil {
					return err
				}
				emitted++
				most = max(most, emitted-int64(len(s.of("boiler"))))
			}
			return nil
		})
		_, _, done := run(t, Config{Sources: []Named{{"boiler", src}}, Sink: s, Clock: clock})
		if err := <-done; err != nil { // it ends by itself, and so does the run
			t.Fatal(err)
		}
		got := s.of("boiler")
		if len(got) != n+1 || s.committed != n+1 || got[n].Note != "ended: the source stopped by itself" {
			t.Fatalf("%d records, %d committed", len(got), s.committed)
		}
		for i, rec := range got[:n] {
			if string(rec.Payload) != fmt.Sprint(i) {
				t.Fatalf("record %d is %q", i, rec.Payload)
			}
		}
		if most > QueueLength+2 {
			t.Errorf("%d records waited", most)
		}
	})
}

// TestCancelDrains: what a source still has in hand when it stops is kept.
func TestCancelDrains(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock, slow: time.Millisecond}
		src := source(func(ctx context.Context, emit func(capture.Record) error) error {
			for range 500 {
				if err := emit(capture.Record{Source: "boiler", At: clock.Now(), Payload: []byte("a\n")}); err != nil {
					return err
				}
			}
			<-ctx.Done()
			return emit(capture.Record{Source: "boiler", At: clock.Now(), Payload: []byte("half a li")})
		})
		_, stop, done := run(t, Config{Sources: []Named{{"boiler", src}}, Sink: s, Clock: clock})
		time.Sleep(10 * time.Millisecond)
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		if got := s.of("boiler"); len(got) != 501 || s.committed != 501 || string(got[500].Payload) != "half a li" {
			t.Errorf("%d records, %d committed", len(got), s.committed)
		}
	})
}

// TestDeafSource: a source that does not stop does not keep the run from ending with all committed.
func TestDeafSource(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		released, left := make(chan struct{}), make(chan error, 1)
		src := source(func(_ context.Context, emit func(capture.Record) error) error {
			if err := emit(capture.Record{Source: "deaf", At: clock.Now()}); err != nil {
				return err
			}
			<-released
			err := emit(capture.Record{Source: "deaf", At: clock.Now()})
			left <- err
			return err
		})
		_, stop, done := run(t, Config{Sources: []Named{{"deaf", src}}, Sink: s, Clock: clock})
		time.Sleep(time.Second)
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		if took := clock.Now() - time.Second; took != StopWithin || s.committed != 1 {
			t.Errorf("ended after %v with %d committed", took, s.committed)
		}
		close(released)
		if err := <-left; err != errFinished {
			t.Errorf("a record after the end: %v", err)
		}
		if len(s.records) != 1 {
			t.Errorf("%d records", len(s.records))
		}
	})
}

func TestRate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		s := &sink{clock: clock}
		src := source(func(ctx context.Context, emit func(capture.Record) error) error {
			part, cancel := context.WithTimeout(ctx, 10*time.Minute)
			defer cancel()
			if err := every("boiler", clock, 2*time.Second)(part, emit); err != nil {
				return err
			}
			<-ctx.Done()
			return nil
		})
		r, stop, done := run(t, Config{Sources: []Named{{"boiler", src}}, Sink: s, Clock: clock})
		for _, c := range []struct {
			after     time.Duration
			low, high float64
		}{{9 * time.Second, 26, 30}, {time.Minute, 29, 31}, {8 * time.Minute, 29, 31}, {2 * time.Minute, 0, 0}, {time.Hour, 0, 0}} {
			time.Sleep(c.after)
			if got := r.Status().Sources[0].PerMinute; got < c.low || got > c.high {
				t.Errorf("at %v: %v a minute, want %v to %v", clock.Now(), got, c.low, c.high)
			}
		}
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
	})
}
