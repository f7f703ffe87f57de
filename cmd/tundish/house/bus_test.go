package house

import (
	"errors"
	"math/bits"
	"strconv"
	"strings"
	"testing"
	"time"

	"tundish/analyse/episode"
	"tundish/capture"
)

// emitted runs a scenario for a while and keeps copies of the records of one source ("": all).
func emitted(t *testing.T, s Scenario, seed uint64, source string, long time.Duration) (list []capture.Record) {
	t.Helper()
	s.Days = int(long/day) + 1
	enough := errors.New("enough")
	_, err := s.Simulate(t.Context(), seed, Listener{Record: func(r capture.Record) error {
		if r.At >= long {
			return enough
		}
		if source == "" || r.Source == source {
			r.Payload = append([]byte(nil), r.Payload...)
			list = append(list, r)
		}
		return nil
	}})
	if err != nil && err != enough {
		t.Fatal(err)
	}
	return list
}

// framesOf reads the frames out of bus records; it passes over what is none.
func framesOf(list []capture.Record) (frames []line) {
	for _, r := range list {
		text := strings.TrimSuffix(string(r.Payload), "\r\n")
		if v, err := strconv.ParseUint(text, 16, 32); err == nil && len(text) == 8 {
			frames = append(frames, line{r.At, uint32(v)})
		}
	}
	return frames
}

func requests(frames []line) (list []line) {
	for _, f := range frames {
		if f.kind() < readAck {
			list = append(list, f)
		}
	}
	return list
}

// A slow master speaks when its time has come, and asks the status as rarely as told.
func TestSlowMaster(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		every  time.Duration
		status int
	}{{10 * time.Second, 2}, {3 * time.Second, 5}, {500 * time.Millisecond, 1}} {
		s := matched()
		s.Bus.Every, s.Bus.StatusEvery = c.every, c.status
		asks := requests(framesOf(emitted(t, s, 1, SourceBus, 2*time.Hour)))
		want := 2 * time.Hour.Seconds() / (c.every.Seconds() * 1.015)
		near(t, "conversations", float64(len(asks)), want, 0.03*want)
		status := 0
		for i, f := range asks {
			if f.id() == idStatus {
				status++
			}
			if i > 0 {
				if gap := f.at - asks[i-1].at; gap > c.every*110/100 || gap < c.every*90/100 {
					t.Fatalf("every %v: %v from start to start", c.every, gap)
				}
			}
		}
		near(t, "share of the status", float64(status)/float64(len(asks)), 1/float64(c.status), 0.01)
	}
}

// Even a slow master's reset command comes before the lockout ends.
func TestSlowMasterResetsInTime(t *testing.T) {
	t.Parallel()
	s := coldMornings()
	s.Bus.Every = 10 * time.Second
	s.Faults.Ignition[0].Reset = episode.ResetCommand
	enough := errors.New("enough")
	var commands []time.Duration
	tr, err := s.Simulate(t.Context(), 1, Listener{Record: func(r capture.Record) error {
		if string(r.Payload) == "90040100\r\n" {
			commands = append(commands, r.At)
		}
		if r.At > 31*time.Hour {
			return enough
		}
		return nil
	}})
	if err != enough || len(tr.Lockouts) != 1 || len(commands) != 1 {
		t.Fatalf("error %v, lockouts %+v, commands %v", err, tr.Lockouts, commands)
	}
	if d := tr.Lockouts[0].To - commands[0]; d < 0 || d > 30*time.Second {
		t.Errorf("the command comes %v before the lockout's end", d)
	}
}

func TestChatter(t *testing.T) {
	t.Parallel()
	s := matched()
	s.Faults.Chatter, s.Bus.Every = 0.3, 400*time.Millisecond
	frames := framesOf(emitted(t, s, 1, SourceBus, 2*time.Hour))
	asks, twice := requests(frames), 0
	for i := 1; i < len(asks); i++ {
		if asks[i].frame == asks[i-1].frame { // never two of an id in a row otherwise
			twice++
		}
	}
	near(t, "had twice", float64(twice)/float64(len(asks)-twice), 0.3, 0.02)
	for i, f := range frames {
		// OpenTherm Protocol Specification v2.2, 4.3.1: 100 ms from the end of a conversation to the next.
		if f.kind() < readAck && i > 0 && f.at-frameTime-frames[i-1].at < 100*time.Millisecond {
			t.Fatalf("no pause before the conversation at %v", f.at)
		}
		if bits.OnesCount32(f.frame)%2 != 0 {
			t.Fatalf("%08X: odd parity", f.frame)
		}
	}
}

// Modulation as a share of the greatest output is never below the least output's share while a flame burns, and 0
// without; by the definition of data id 17 it falls to 0 with a flame.
func TestShareOfMax(t *testing.T) {
	t.Parallel()
	least := func(share bool) (low float64) {
		s := oversized() // 8 of 24 kW at least, and it cycles
		s.Bus.ShareOfMax = share
		low = 100
		flame, read := false, -1.0 // modulation read since the last status; less than 0: none
		for _, f := range framesOf(emitted(t, s, 1, SourceBus, 6*time.Hour)) {
			switch {
			case f.kind() != readAck:
			case f.id() == 17:
				read = float64(int16(f.value())) / 256
			case f.id() == idStatus:
				now := f.value()&8 != 0
				if read >= 0 && now == flame { // the same before and after
					if now {
						low = min(low, read)
					} else if read != 0 {
						t.Errorf("modulation %v without a flame at %v", read, f.at)
					}
				}
				flame, read = now, -1
			}
		}
		return low
	}
	near(t, "share of the greatest", least(true), 100*8.0/24, 1)
	near(t, "relative", least(false), 0, 1)
}

// A master of this kind never takes its enable back; what it wants is in the set-point. The boiler is driven all the
// same.
func TestZeroSetpoint(t *testing.T) {
	t.Parallel()
	s := matched()
	s.Bus.ZeroSetpoint = true
	zero, other := 0, 0
	for _, f := range requests(framesOf(emitted(t, s, 1, SourceBus, 8*time.Hour))) {
		switch {
		case f.id() == idStatus && f.value()&0x0100 == 0:
			t.Fatalf("enable is off at %v", f.at)
		case f.id() == idTSet && f.value() == 0:
			zero++
		case f.id() == idTSet:
			other++
		}
	}
	if zero < 50 || other < 50 {
		t.Errorf("set-point 0 written %d times, another %d times", zero, other)
	}
}

// Data id 5 is Unknown-DataId where the appliance has no flags; the fault bit is there all the same.
func TestNoFaultFlags(t *testing.T) {
	t.Parallel()
	s := coldMornings()
	s.Bus.NoFaultFlags = true
	faults, asked := 0, 0
	for _, f := range framesOf(emitted(t, s, 1, SourceBus, 30*time.Hour)) {
		if f.kind() >= readAck && f.id() == idFault {
			if asked++; f.kind() != unknownDataID {
				t.Fatalf("%08X", f.frame)
			}
		}
		if f.kind() == readAck && f.id() == idStatus && f.value()&1 != 0 {
			faults++
		}
	}
	if faults == 0 || asked == 0 {
		t.Errorf("fault shown %d times, asked for flags %d times", faults, asked)
	}
}

// A heat pump has no flame and no ignition to tell of.
func TestHeatPumpOnTheBus(t *testing.T) {
	t.Parallel()
	s := matched()
	s.Boiler.Kind = HeatPump
	for _, f := range framesOf(emitted(t, s, 1, SourceBus, 12*time.Hour)) {
		if f.kind() < readAck {
			continue
		}
		if f.id() == idStatus && f.value()&8 != 0 || (f.id() == 113 || f.id() == 114) && f.kind() == readAck {
			t.Fatalf("%08X at %v", f.frame, f.at)
		}
	}
}

// A restart of the adapter: perhaps half a line, then nothing for 3 to 8 s, a banner, and the lines again. What was said
// on the wires meanwhile is the same.
func TestAdapterRestarts(t *testing.T) {
	t.Parallel()
	s := matched()
	sound := emitted(t, s, 1, SourceBus, 3*time.Hour)
	s.Bus.Banner = "adapter ready\nlistening"
	for h := range 10 {
		s.Faults.Restarts = append(s.Faults.Restarts, time.Duration(h)*15*time.Minute+7*time.Minute+200*time.Millisecond)
	}
	cut, banners, same := 0, 0, map[string]int{}
	for _, r := range sound {
		same[r.At.String()+string(r.Payload)]++
	}
	last := time.Duration(0)
	var longest []time.Duration
	for _, r := range emitted(t, s, 1, SourceBus, 3*time.Hour) {
		switch text := string(r.Payload); {
		case !strings.HasSuffix(text, "\n"):
			cut++
			if len(text) > 7 || strings.Trim(text, "0123456789ABCDEF") != "" {
				t.Errorf("cut line %q", text)
			}
		case strings.HasPrefix(text, "adapter"), strings.HasPrefix(text, "listening"):
			banners++
		default:
			if same[r.At.String()+text] != 1 {
				t.Fatalf("%q at %v was not said on the sound adapter", text, r.At)
			}
			if gap := r.At - last; gap > 2*time.Second {
				longest = append(longest, gap)
			}
			last = r.At
		}
	}
	if cut == 0 || cut == 10 || banners != 20 || len(longest) != 10 {
		t.Errorf("%d cut lines, %d banner lines, silences %v", cut, banners, longest)
	}
	for _, d := range longest {
		if d < 3*time.Second || d > 10*time.Second {
			t.Errorf("silent for %v", d)
		}
	}
}

// Where the logger sees the device go it notes it, in the recorder's words, and notes its return before the next line.
func TestNotedLoss(t *testing.T) {
	t.Parallel()
	s := matched()
	s.Faults.Adapter = []AdapterFault{
		{Window: Window{20*time.Minute + 900*time.Millisecond, 32 * time.Minute}, Noted: true},
		{Window: Window{60 * time.Minute, 65 * time.Minute}},
	}
	list := emitted(t, s, 1, SourceBus, 2*time.Hour)
	var notes []capture.Record
	for i, r := range list {
		if r.Note == "" {
			continue
		}
		notes = append(notes, r)
		if len(r.Payload) > 0 || strings.HasPrefix(r.Note, "back") && list[i+1].At != r.At {
			t.Errorf("note %+v before %+v", r, list[i+1])
		}
	}
	if len(notes) != 2 || notes[0].Note != "lost: no such device" || notes[0].At != s.Faults.Adapter[0].From ||
		notes[1].Note != "back after "+(notes[1].At-notes[0].At).Round(time.Second).String() || notes[1].At < 32*time.Minute {
		t.Errorf("notes %+v", notes)
	}
}
