//go:build unix

package onewire

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"tundish/capture"
)

// bus puts a bus with its probes into the tree, as the kernel shows it: a folder of each device within the master's.
func (tr tree) bus(master string, devices ...string) {
	tr.write(master+"/w1_master_slaves", strings.Join(devices, "\n")+"\n")
	for _, d := range devices {
		tr.device(d, good25)
		if err := os.MkdirAll(filepath.Join(tr.root, master, d), 0o755); err != nil {
			tr.t.Fatal(err)
		}
	}
}

func (tr tree) pipe(name string) string {
	path := filepath.Join(tr.root, name)
	_ = os.Remove(path)
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		tr.t.Fatal(err)
	}
	return path
}

// brisk shortens what a conversion may take.
func brisk(s *Source) *Source {
	s.spare, s.conversion = 400*time.Millisecond, 10*time.Millisecond
	return s
}

// TestDeadBuses: one bus hangs in the common trigger, one in telling its devices, one in each read; the two sound
// ones are swept as if alone, and together.
func TestDeadBuses(t *testing.T) {
	tr := tree{t, filepath.Join(t.TempDir(), "devices")}
	const first, second = "28-000000000001", "28-000000000002"
	tr.bus("w1_bus_master1", first)
	tr.bus("w1_bus_master2", second)
	tr.bus("w1_bus_master3", "28-000000000003", "28-00000000000a")
	trigger := tr.pipe("w1_bus_master3/therm_bulk_read")
	tr.bus("w1_bus_master4", "28-000000000004")
	list := tr.pipe("w1_bus_master4/w1_master_slaves")
	tr.bus("w1_bus_master5", "28-000000000005", "28-00000000000b", "28-00000000000c")
	for _, d := range []string{"28-000000000005", "28-00000000000b", "28-00000000000c"} {
		tr.pipe(d + "/w1_slave")
	}
	s := brisk(tr.source())
	s.spare = 1500 * time.Millisecond
	var at []time.Duration
	sweeps := map[uint32][]capture.Record{}
	gone := map[string]int{}
	_, err := watch(t, s, func(r capture.Record) bool {
		if r.Note != "" {
			gone[r.Channel]++
		} else {
			sweeps[r.Sweep] = append(sweeps[r.Sweep], r)
		}
		if r.Channel == first && r.Note == "" {
			at = append(at, r.At)
		}
		return len(at) < 40 || len(gone) < 5
	})
	if err != nil {
		t.Fatal(err)
	}
	worst := time.Duration(0)
	for i := range at[1:] {
		worst = max(worst, at[i+1]-at[i])
	}
	// The first sweep waits for Grace, none for the limit of 1.5 s and more that the dead ones have.
	if worst > time.Second {
		t.Errorf("sweeps lay %v apart beside dead buses", worst)
	}
	t.Logf("%d sweeps in %v, at most %v apart, interval %v", len(at), at[len(at)-1]-at[0], worst, interval)
	together := 0
	for _, rs := range sweeps {
		if len(rs) >= 2 && rs[0].Channel == first && rs[1].Channel == second && rs[0].At == rs[1].At {
			together++
		}
	}
	if together < len(at)*9/10 { // a busy machine may hold one up
		t.Errorf("the two sound buses share %d of %d sweeps", together, len(at))
	}
	for _, d := range []string{"28-000000000003", "28-00000000000a", "28-000000000005", "28-00000000000b", "28-00000000000c"} {
		if gone[d] != 1 {
			t.Errorf("%s: told %d times that it is gone, want once", d, gone[d])
		}
	}
	if gone["28-000000000004"] != 0 {
		t.Error("the probe of a master that does not list its devices was given up")
	}
	open(t, trigger, list)
}

// open lets hanging goroutines go on.
func open(t *testing.T, pipes ...string) {
	for _, p := range pipes {
		if f, err := os.OpenFile(p, os.O_RDWR|syscall.O_NONBLOCK, 0); err == nil {
			t.Cleanup(func() { f.Close() })
		}
	}
}

// TestSlowBus: a bus that answers late, but always, has sweeps of its own, keeps every value, and joins again.
func TestSlowBus(t *testing.T) {
	tr := tree{t, filepath.Join(t.TempDir(), "devices")}
	const quick, slow = "28-000000000001", "28-000000000002"
	tr.bus("w1_bus_master1", quick)
	tr.bus("w1_bus_master2", slow)
	pipe := tr.pipe(slow + "/w1_slave")
	s := brisk(tr.source())
	s.spare = 20 * time.Second
	quicks, slows, served := 0, 0, 0
	got, err := watch(t, s, func(r capture.Record) bool {
		switch {
		case r.Note != "":
			t.Errorf("%+v", r)
		case r.Channel == slow:
			slows++
		default:
			quicks++
			if quicks%20 == 0 && served < 2 {
				served++
				if err := os.WriteFile(pipe, []byte(good25), 0); err != nil {
					t.Error(err)
				}
				if served == 2 {
					tr.device(slow, good25) // from now on a file, read at once
				}
			}
		}
		return slows < 6
	})
	if err != nil {
		t.Fatal(err)
	}
	last := got[len(got)-1]
	shared := 0
	for _, r := range got {
		if r.Sweep == last.Sweep {
			shared++
		}
	}
	if quicks < 40 || shared != 2 {
		t.Errorf("%d values of the quick bus, %d of the slow; the last sweep has %d", quicks, slows, shared)
	}
}

// TestSettings: resolution and supply are told once a probe, and the wait goes by them.
func TestSettings(t *testing.T) {
	tr := tree{t, filepath.Join(t.TempDir(), "devices")}
	tr.bus("w1_bus_master1", flowROM, returnROM)
	for name, text := range map[string]string{"resolution": "9\n", "conv_time": "95\n", "ext_power": "0\n"} {
		tr.write(flowROM+"/"+name, text)
	}
	tr.write(returnROM+"/resolution", "-5\n") // a kernel error
	s := tr.source()
	var notes []string
	if _, err := watch(t, s, func(r capture.Record) bool {
		if r.Note != "" {
			notes = append(notes, r.Channel+" "+r.Note)
		}
		return r.Sweep < 4
	}); err != nil {
		t.Fatal(err)
	}
	want := flowROM + " probe: 9 bits, a step is 0.5 K, 95 ms a conversion, fed from the data line"
	if len(notes) != 1 || notes[0] != want {
		t.Errorf("notes %q, want %q", notes, want)
	}
	buses, err := s.find()
	if err != nil || len(buses) != 1 || buses[0].takes != 95*time.Millisecond+ConversionTime {
		t.Errorf("%+v, %v", buses, err)
	}
}

// TestStep: DS18B20 datasheet, resolution: 0.5, 0.25, 0.125 and 0.0625 °C; conversion 93.75 to 750 ms.
func TestStep(t *testing.T) {
	for bits, want := range map[int]float64{9: 0.5, 10: 0.25, 11: 0.125, 12: 0.0625, 0: 0} {
		if got := (Settings{Bits: bits}).StepK(); got != want {
			t.Errorf("%d bits: %v K, want %v", bits, got, want)
		}
	}
}

// TestOneNumberTwice: two buses that list the same device are told once.
func TestOneNumberTwice(t *testing.T) {
	tr := newTree(t, flowROM)
	tr.write("w1_bus_master2/w1_master_slaves", flowROM+"\nnonsense\n")
	notes := 0
	if _, err := watch(t, tr.source(), func(r capture.Record) bool {
		if r.Note != "" {
			notes++
			if r.Channel != flowROM || !strings.Contains(r.Note, "two buses list this probe") {
				t.Errorf("%+v", r)
			}
		}
		return r.Sweep < 4
	}); err != nil || notes != 1 {
		t.Errorf("%d notes, %v", notes, err)
	}
}

// TestPhantoms: devices by the thousand do not grow the source.
func TestPhantoms(t *testing.T) {
	tr := newTree(t, flowROM)
	var names strings.Builder
	for i := range 1000 {
		fmt.Fprintf(&names, "28-%012x\n", i)
		tr.device(fmt.Sprintf("28-%012x", i), good25)
	}
	tr.write("w1_bus_master1/w1_master_slaves", names.String())
	s := tr.source()
	if _, err := watch(t, s, func(r capture.Record) bool { return r.Sweep < 3 }); err != nil {
		t.Fatal(err)
	}
	if len(s.probes) > MostProbes || len(s.listed) > MostProbes {
		t.Errorf("%d probes, %d listed", len(s.probes), len(s.listed))
	}
}
