package house

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"math/bits"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"tundish/analyse/episode"
	"tundish/capture"
)

// digest is a hash over all that a simulation emits in its first hours.
func digest(t *testing.T, s Scenario, seed uint64, long time.Duration) [32]byte {
	t.Helper()
	h := sha256.New()
	enough := errors.New("enough")
	_, err := s.Simulate(t.Context(), seed, Listener{Record: func(r capture.Record) error {
		if r.At > long {
			return enough
		}
		var n [12]byte
		binary.LittleEndian.PutUint64(n[:], uint64(r.At))
		binary.LittleEndian.PutUint32(n[8:], r.Sweep)
		h.Write(n[:])
		h.Write([]byte(r.Source + r.Channel))
		h.Write(r.Payload)
		return nil
	}})
	if err != enough {
		t.Fatal(err)
	}
	return [32]byte(h.Sum(nil))
}

func TestSameSeedSameBytes(t *testing.T) {
	t.Parallel()
	for _, s := range Scenarios() {
		long := 5 * time.Hour
		if s.Name == "cold-mornings" {
			long = 31 * time.Hour // with a lockout
		}
		a, b, c := digest(t, s, 1, long), digest(t, s, 1, long), digest(t, s, 2, long)
		if a != b {
			t.Errorf("%s: two runs of one seed differ", s.Name)
		}
		if a == c {
			t.Errorf("%s: two seeds give the same bytes", s.Name)
		}
	}
}

// A data id that the appliance does not have is answered Unknown-DataId (OpenTherm Protocol Specification v2.2, 4.2.2).
func TestUnsupportedIDs(t *testing.T) {
	s := switchedLive()
	s.Days = 1
	frames, _, _ := collect(t, s, 1)
	seen := map[int]int{}
	for _, f := range frames {
		if f.kind() >= readAck {
			if unknown := f.kind() == unknownDataID; unknown != (f.id() == 19 || f.id() == 15 || f.id() == 113 || f.id() == 114) {
				t.Fatalf("%08X at %v", f.frame, f.at)
			}
			seen[f.id()]++
		}
	}
	for _, id := range []int{0, 1, 3, 14, 15, 16, 17, 18, 19, 24, 25, 26, 27, 28, 113, 114, 116, 120} {
		if seen[id] < 100 {
			t.Errorf("id %d was answered %d times in a day", id, seen[id])
		}
	}
}

// line is a frame read back from the adapter's text.
type line struct {
	at    time.Duration
	frame uint32
}

func (l line) kind() int     { return int(l.frame >> 28 & 7) }
func (l line) id() int       { return int(l.frame >> 16 & 0xFF) }
func (l line) value() uint16 { return uint16(l.frame) }

// collect runs s and returns the bus's frames; it checks what holds of every record.
func collect(t *testing.T, s Scenario, seed uint64) (frames []line, sweeps uint32, tr Truth) {
	t.Helper()
	var last time.Duration
	var sweep uint32
	tr, err := s.Simulate(t.Context(), seed, Listener{Record: func(r capture.Record) error {
		if r.At < last || r.At%time.Microsecond != 0 || r.Note != "" {
			t.Fatalf("record at %v after %v, note %q", r.At, last, r.Note)
		}
		last = r.At
		switch r.Source {
		case SourceProbes:
			if r.Channel != s.Probes.FlowROM && r.Channel != s.Probes.ReturnROM {
				t.Fatalf("unknown probe %q", r.Channel)
			}
			if (r.Channel == s.Probes.FlowROM) != (r.Sweep == sweep+1) || r.Sweep < sweep {
				t.Fatalf("probe %s: sweep %d after %d", r.Channel, r.Sweep, sweep)
			}
			sweep = r.Sweep
			if _, err := readScratchpad(string(r.Payload)); err != nil {
				t.Fatal(err)
			}
		case SourceBus:
			text := string(r.Payload)
			v, err := strconv.ParseUint(strings.TrimSuffix(text, "\r\n"), 16, 32)
			if err != nil || len(text) != 10 || text != strings.ToUpper(text) {
				t.Fatalf("line %q is not eight upper-case digits", text)
			}
			frames = append(frames, line{r.At, uint32(v)})
		default:
			t.Fatalf("unknown source %q", r.Source)
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	return frames, sweep, tr
}

// Conversations keep OpenTherm Protocol Specification v2.2, 4.3.1: start to start at most 1.15 s, reply 20 to 800 ms
// after the request's end, 100 ms of pause; 4.2.1: even parity; 4.3.1: master first, then slave, same id. The status
// is asked at least every second time.
func TestBusKeepsTheRules(t *testing.T) {
	t.Parallel()
	for _, s := range []Scenario{coldMornings(), retries()} {
		s.Days = 1
		frames, sweeps, _ := collect(t, s, 1)
		if want := uint32(s.Days * 86400); sweeps != want {
			t.Errorf("%s: %d sweeps, want %d", s.Name, sweeps, want)
		}
		if len(frames)%2 != 0 {
			t.Fatalf("%s: %d frames, the last request without reply", s.Name, len(frames))
		}
		before := 0
		for i := 0; i < len(frames); i += 2 {
			ask, answer := frames[i], frames[i+1]
			if bits.OnesCount32(ask.frame)%2+bits.OnesCount32(answer.frame)%2 != 0 {
				t.Fatalf("parity of %08X or %08X", ask.frame, answer.frame)
			}
			if ask.kind() > 1 || answer.kind() < 4 || ask.id() != answer.id() {
				t.Fatalf("at %v %08X is answered by %08X", ask.at, ask.frame, answer.frame)
			}
			if wait := answer.at - ask.at - frameTime; wait < 20*time.Millisecond || wait > 800*time.Millisecond {
				t.Fatalf("reply after %v at %v", wait, ask.at)
			}
			if i > 0 {
				if gap := ask.at - frames[i-2].at; gap > 1150*time.Millisecond {
					t.Fatalf("start to start %v at %v", gap, ask.at)
				}
				if pause := ask.at - frameTime - frames[i-1].at; pause < 100*time.Millisecond {
					t.Fatalf("pause %v at %v", pause, ask.at)
				}
				if ask.id() != 0 && before != 0 {
					t.Fatalf("two conversations without status at %v", ask.at)
				}
			}
			before = ask.id()
		}
	}
}

// span is a stretch in which a bit of the status was set, as the bus shows it.
func statusSpans(frames []line, bit uint16) (spans []Span) {
	var going bool
	for _, f := range frames {
		if f.id() == idStatus && f.kind() == readAck {
			open(&spans, &going, f.value()&bit != 0, f.at)
		}
	}
	if going {
		spans[len(spans)-1].To = frames[len(frames)-1].at
	}
	return spans
}

// What the bus shows is the truth, late by two conversations at most: every firing, and every lockout with its flags
// and code; the second lockout's end is preceded by a reset command, the first one's is not.
func TestBusTellsTheTruth(t *testing.T) {
	t.Parallel()
	const late = 2400 * time.Millisecond // two start-to-start times, a reply, and the second of the model's step
	s := coldMornings()
	frames, _, tr := collect(t, s, 1)
	flames, faults := statusSpans(frames, 8), statusSpans(frames, 1)
	if len(flames) != len(tr.Firings) || len(faults) != len(tr.Lockouts) {
		t.Fatalf("bus shows %d flames and %d faults, truth has %d and %d", len(flames), len(faults), len(tr.Firings), len(tr.Lockouts))
	}
	check := func(what string, seen, is Span) {
		t.Helper()
		if d := seen.From - is.From; d < 0 || d > late {
			t.Errorf("%s at %v is seen %v late", what, is.From, d)
		}
		if d := seen.To - is.To; d < 0 || d > late {
			t.Errorf("end of %s at %v is seen %v late", what, is.To, d)
		}
	}
	for i, f := range tr.Firings {
		check("firing", flames[i], f.Span)
	}
	for i, l := range tr.Lockouts {
		check("lockout", faults[i], l.Span)
		asked, commands := 0, 0
		for _, f := range frames {
			if f.at < l.From+late || f.at > l.To {
				continue
			}
			if f.id() == idFault && f.kind() == readAck {
				if asked++; f.value() != pair(flagResetAllowed|flagGasFlame, s.Boiler.FaultCode) {
					t.Errorf("lockout %d: fault word %04X", i, f.value())
				}
			}
			if f.id() == idReset && f.kind() == writeData && f.value() == 0x0100 {
				commands++
			}
		}
		if want := btoi(l.Reset == episode.ResetCommand); asked == 0 || commands != want {
			t.Errorf("lockout %d: fault asked %d times, %d reset commands, want %d", i, asked, commands, want)
		}
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// Where the pump runs and the burner has settled, the probes agree with the water within contact error, lag, offset and
// noise: this is what a check on disagreeing sensors may rely on.
func TestProbesFollowTheWater(t *testing.T) {
	s := sound()
	s.Days = 1
	d := newDevices(s, 4)
	calm := 0
	for d.house.now < day {
		before := d.house.circuit.spot.t
		d.step()
		if err := d.queue.drain(d.house.now, func(*delivery) error { return nil }); err != nil {
			t.Fatal(err)
		}
		if calm++; absolute(d.house.circuit.spot.t-before) > 0.01 || d.house.route == routeNone {
			calm = 0
		}
		if st := d.house.State(); calm > 300 {
			near(t, "flow probe", d.probes.list[0].chip, st.FlowPipe-contact*(st.FlowPipe-st.Air), 0.25)
			near(t, "flow on the bus", st.FlowSensor, st.FlowPipe, 0.25)
		}
	}
}

func absolute(x float64) float64 { return max(x, -x) }

func TestLineFaults(t *testing.T) {
	s := noisyLine()
	s.Days = 1
	var lines, odd, noise int
	_, err := s.Simulate(t.Context(), 1, Listener{Record: func(r capture.Record) error {
		if r.Source != SourceBus {
			return nil
		}
		lines++
		v, err := strconv.ParseUint(strings.TrimSuffix(string(r.Payload), "\r\n"), 16, 32)
		switch {
		case err != nil || len(r.Payload) != 10:
			noise++
		case bits.OnesCount32(uint32(v))%2 != 0:
			odd++
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	// About 170 000 lines a day; 0.2 % are 340 of each, ± 6 standard deviations of √340.
	near(t, "odd parity", float64(odd), 0.002*float64(lines), 110)
	near(t, "noise", float64(noise), 0.002*float64(lines), 110)
}

func TestSimulateStops(t *testing.T) {
	s := sound()
	stop := errors.New("disk full")
	n := 0
	tr, err := s.Simulate(t.Context(), 1, Listener{Record: func(capture.Record) error {
		if n++; n == 1000 {
			return stop
		}
		return nil
	}})
	if err != stop || n != 1000 || tr.Ended == 0 || tr.Ended > time.Hour {
		t.Errorf("error %v after %d records, ended %v", err, n, tr.Ended)
	}
	ctx, cancel := context.WithCancel(t.Context())
	var done time.Duration
	_, err = s.Simulate(ctx, 1, Listener{Progress: func(d, total time.Duration) {
		if done = d; d == 5*time.Hour {
			cancel()
		}
	}})
	if !errors.Is(err, context.Canceled) || done > 6*time.Hour {
		t.Errorf("error %v, went on to %v", err, done)
	}
}

// Both sources of one seed give at the clock's pace what Simulate gives at once.
func TestSourceIsTheSameHouse(t *testing.T) {
	const long = 3 * time.Minute
	s := coldMornings()
	want := map[string][]capture.Record{}
	enough := errors.New("enough")
	_, err := s.Simulate(t.Context(), 9, Listener{Record: func(r capture.Record) error {
		if r.At >= long {
			return enough
		}
		r.Payload = append([]byte(nil), r.Payload...)
		want[r.Source] = append(want[r.Source], r)
		return nil
	}})
	if err != enough {
		t.Fatal(err)
	}
	for name, part := range map[string]string{SourceBus: PartBus, SourceProbes: PartProbes} {
		synctest.Test(t, func(t *testing.T) {
			src, err := NewSource(Config{Scenario: s.Name, Seed: 9, Part: part, Source: name}, capture.StartClock())
			if err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithTimeout(t.Context(), long)
			defer cancel()
			i := 0
			err = src.Capture(ctx, func(r capture.Record) error {
				if i >= len(want[name]) {
					t.Fatalf("%s: more than %d records", name, i)
				}
				w := want[name][i]
				// A record is stamped when it is due or, if due early in the second being worked out, at that second's end.
				if late := r.At - w.At; late < 0 || late > time.Second || string(r.Payload) != string(w.Payload) || r.Channel != w.Channel || r.Sweep != w.Sweep || r.Source != name {
					t.Fatalf("%s: record %d is %+v, want %+v", name, i, r, w)
				}
				i++
				return nil
			})
			if err != nil || i < len(want[name])-2 {
				t.Errorf("%s: error %v after %d of %d records", name, err, i, len(want[name]))
			}
		})
	}
}

// Captured again after a loss, a source goes on in the present; emit's error comes out unchanged.
func TestSourceGoesOnAfterALoss(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := capture.StartClock()
		src, err := NewSource(Config{Scenario: "sound", Seed: 1, Part: PartProbes, Source: "p"}, clock)
		if err != nil {
			t.Fatal(err)
		}
		time.Sleep(2 * time.Hour) // of the bubble's clock
		full := errors.New("full")
		var at time.Duration
		err = src.Capture(t.Context(), func(r capture.Record) error {
			at = r.At
			return full
		})
		if err != full || at < 2*time.Hour || at > 2*time.Hour+3*time.Second {
			t.Errorf("error %v, first record at %v", err, at)
		}
	})
}

func TestNewSourceRefuses(t *testing.T) {
	for _, c := range []struct {
		cfg  Config
		says string
	}{
		{Config{Scenario: "castle", Part: PartBus}, "cold-mornings"},
		{Config{Scenario: "sound", Part: "gas"}, `"bus" or "probes"`},
	} {
		if _, err := NewSource(c.cfg, capture.StartClock()); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: error %v, want one that names %s", c.cfg, err, c.says)
		}
	}
}

func TestQueueKeepsOrder(t *testing.T) {
	var q queue
	for _, ms := range []int{30, 10, 20, 10, 50, 5} {
		d := q.add(time.Duration(ms)*time.Millisecond, partBus)
		d.text = strconv.AppendInt(d.text, int64(ms), 10)
	}
	var got []string
	give := func(d *delivery) error { got = append(got, string(d.text)); return nil }
	for _, until := range []time.Duration{15 * time.Millisecond, 15 * time.Millisecond, 31 * time.Millisecond} {
		if err := q.drain(until, give); err != nil {
			t.Fatal(err)
		}
	}
	q.add(40*time.Millisecond, partBus).text = []byte("40")
	if err := q.drain(time.Second, give); err != nil {
		t.Fatal(err)
	}
	if s := strings.Join(got, " "); s != "5 10 10 20 30 40 50" {
		t.Errorf("order %s", s)
	}
}
