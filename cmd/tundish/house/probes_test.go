package house

import (
	"math"
	"strings"
	"testing"
	"time"

	"tundish/capture"
)

// chips is what one probe reads over a while, by the second it was read in; NaN where a read fails.
func chips(t *testing.T, s Scenario, rom string, long time.Duration) (values []float64, notes []capture.Record) {
	t.Helper()
	for _, r := range emitted(t, s, 1, SourceProbes, long) {
		switch {
		case r.Channel != rom:
		case r.Note != "":
			notes = append(notes, r)
		default:
			v, err := readScratchpad(string(r.Payload))
			if err != nil {
				v = math.NaN()
			}
			values = append(values, v)
		}
	}
	return values, notes
}

// ailingHour is the matched house with one ailing probe from 3:00, when the house begins to be heated, to 4:00.
func ailingHour(f ProbeFault) Scenario {
	s := matched()
	f.Window = Window{3 * time.Hour, 4 * time.Hour}
	s.Faults.Probe = []ProbeFault{f}
	return s
}

// A power-on value is 0550 with byte 6 = 0C (DS18B20 datasheet, older editions), checksum 1C; its neighbours are not
// touched. It comes as often as told.
func TestProbePowerOn(t *testing.T) {
	t.Parallel()
	s := ailingHour(ProbeFault{Ails: PowerOn, Share: 0.05})
	n := 0
	for _, r := range emitted(t, s, 1, SourceProbes, 5*time.Hour) {
		if strings.HasPrefix(string(r.Payload), "50 05") {
			n++
			if string(r.Payload) != "50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n50 05 4b 46 7f ff 0c 10 1c t=85000\n" ||
				r.At < 3*time.Hour || r.At > 4*time.Hour || r.Channel != s.Probes.FlowROM {
				t.Fatalf("%+v %q", r, r.Payload)
			}
		}
	}
	near(t, "of 3600 readings", float64(n), 180, 6*math.Sqrt(180))
}

// A failed checksum: NO in the first line with the checksum that the bytes should have, the last good bytes in the
// second (Linux kernel, w1_therm, older versions).
func TestProbeBadCRC(t *testing.T) {
	t.Parallel()
	s := ailingHour(ProbeFault{Ails: BadCRC, Share: 0.1})
	values, _ := chips(t, s, s.Probes.FlowROM, 5*time.Hour)
	bad := 0
	for _, v := range values {
		if math.IsNaN(v) {
			bad++
		}
	}
	near(t, "of 3600 readings", float64(bad), 360, 6*math.Sqrt(360))
	last := ""
	for _, r := range emitted(t, s, 1, SourceProbes, 5*time.Hour) {
		if r.Channel != s.Probes.FlowROM {
			continue
		}
		one, two, _ := strings.Cut(string(r.Payload), "\n")
		if strings.HasSuffix(one, " NO") {
			if one[:26] == two[:26] || two != last {
				t.Fatalf("refused %q, the last good one was %q", r.Payload, last)
			}
			continue
		}
		last = two
	}
}

// A probe that does not answer is noted once, and once when it is back; the other one goes on.
func TestProbeGone(t *testing.T) {
	t.Parallel()
	s := ailingHour(ProbeFault{Ails: Gone, Return: true})
	values, notes := chips(t, s, s.Probes.ReturnROM, 5*time.Hour)
	other, _ := chips(t, s, s.Probes.FlowROM, 5*time.Hour)
	if len(values) != 4*3600 || len(other) != 5*3600 {
		t.Errorf("%d and %d readings", len(values), len(other))
	}
	if len(notes) != 2 || notes[0].Note != "probe gone: no answer" || notes[1].Note != "probe back" ||
		notes[0].At.Truncate(time.Second) != 3*time.Hour || notes[1].At.Truncate(time.Second) != 4*time.Hour {
		t.Errorf("notes %+v", notes)
	}
}

func TestProbeStuckAndDrift(t *testing.T) {
	t.Parallel()
	s := ailingHour(ProbeFault{Ails: ProbeStuck})
	sound, _ := chips(t, matched(), s.Probes.FlowROM, 5*time.Hour)
	stuck, _ := chips(t, s, s.Probes.FlowROM, 5*time.Hour)
	for i, v := range stuck {
		switch in := i >= 3*3600 && i < 4*3600; {
		case in && v != stuck[3*3600]:
			t.Fatalf("second %d: %v °C, stuck at %v", i, v, stuck[3*3600])
		case !in && v != sound[i]:
			t.Fatalf("second %d: %v °C, want %v", i, v, sound[i])
		}
	}
	s = ailingHour(ProbeFault{Ails: ProbeDrift, By: 6})
	drift, _ := chips(t, s, s.Probes.FlowROM, 5*time.Hour)
	for _, c := range []struct{ hour, by float64 }{{2, 0}, {3.25, 1.5}, {3.75, 4.5}, {4.5, 0}} {
		i := int(c.hour * 3600)
		near(t, "drift", drift[i]-sound[i], c.by, 1.0/16+0.001)
	}
}

// A probe that hangs beside the pipe shows a share of the excess over the room, and slowly.
func TestProbeSlippedOff(t *testing.T) {
	t.Parallel()
	s := matched()
	s.Faults.Probe = []ProbeFault{{Window: Window{3*time.Hour + 30*time.Minute, 4*time.Hour + 30*time.Minute}, Ails: SlippedOff, Share: 0.3}}
	d := newDevices(s, 1)
	for d.house.now < 5*time.Hour {
		d.step()
		d.queue.list = d.queue.list[:0]
		st := d.state()
		if share := (st.FlowProbe - st.Air) / (st.FlowPipe - st.Air); st.At == 3*time.Hour+31*time.Minute && (share < 0.5 || share > 0.8) {
			t.Errorf("a minute after, %.2f of the excess", share)
		}
		if st.At == 4*time.Hour+25*time.Minute {
			near(t, "slipped off", (st.FlowProbe-st.Air)/(st.FlowPipe-st.Air), 0.3, 0.06)
		}
		if st.At == 4*time.Hour+40*time.Minute {
			near(t, "back on", (st.FlowProbe-st.Air)/(st.FlowPipe-st.Air), 1-contact, 0.05)
		}
	}
}

// Bias of contact at wall 60, ambient 20 °C: 0.8 K for 0.02, 4 K for 0.1 (worked figures).
func TestContact(t *testing.T) {
	for _, c := range []struct{ share, low float64 }{{0, 0.8}, {0.05, 2}, {0.1, 4}} {
		p := ProbeSpec{Contact: c.share}
		near(t, "reads low by", 60-p.strapped(60, 20), c.low, 1e-9)
	}
}

// More probes follow the outside air, the room and the cylinder; each sweep reads them all, as seldom as told.
func TestMoreProbes(t *testing.T) {
	t.Parallel()
	s := matched()
	s.Probes.OutsideROM, s.Probes.RoomROM, s.Probes.CylinderROM = "28-0000b4d2000a", "28-0000b4d2000b", "28-0000b4d2000c"
	s.Probes.Every = 20 * time.Second
	counts := map[string]int{}
	last := map[string]float64{}
	sweeps := map[uint32]int{}
	for _, r := range emitted(t, s, 1, SourceProbes, 10*time.Hour) {
		v, err := readScratchpad(string(r.Payload))
		if err != nil {
			t.Fatal(err)
		}
		counts[r.Channel]++
		sweeps[r.Sweep]++
		last[r.Channel] = v
	}
	for rom, n := range counts {
		if n != 1800 {
			t.Errorf("%s: %d readings, want 1800", rom, n)
		}
	}
	if len(counts) != 5 || len(sweeps) != 1800 || sweeps[7] != 5 {
		t.Errorf("%d probes, %d sweeps, %d in the seventh", len(counts), len(sweeps), sweeps[7])
	}
	h := New(s, 1)
	for h.Now() < 10*time.Hour {
		h.Step()
	}
	st := h.State()
	near(t, "outside", last["28-0000b4d2000a"], st.Outside, 1.2)
	near(t, "room", last["28-0000b4d2000b"], st.Air, 0.3)
	near(t, "cylinder", last["28-0000b4d2000c"], st.Cylinder, 2)
}
