package onewire

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/capture/capturetest"
)

const (
	flowROM, returnROM = "28-0000a71c01f4", "28-0000a71c039b"
	// Scratchpads with their checksums; 25.0625 °C and the power-on 85 °C are the DS18B20 datasheet's values, the
	// CRC follows from its polynomial x⁸+x⁵+x⁴+1.
	good25   = "91 01 4b 46 7f ff 0f 10 25 : crc=25 YES\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"
	badCRC   = "ff ff ff ff ff ff ff ff ff : crc=c9 NO\n91 01 4b 46 7f ff 0f 10 25 t=25062\n"
	powerOn  = "50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n50 05 4b 46 7f ff 0c 10 1c t=85000\n"
	interval = 20 * time.Millisecond
)

// tree is a folder as the kernel shows it.
type tree struct {
	t    testing.TB
	root string
}

func newTree(t testing.TB, devices ...string) tree {
	tr := tree{t, filepath.Join(t.TempDir(), "devices")}
	tr.write("w1_bus_master1/w1_master_slaves", strings.Join(devices, "\n")+"\n")
	for _, d := range devices {
		tr.device(d, good25)
	}
	return tr
}

// write puts a file in place in one step, so that no reader sees half of it.
func (tr tree) write(name, content string) {
	path := filepath.Join(tr.root, name)
	err := os.MkdirAll(filepath.Dir(path), 0o755)
	if err == nil {
		err = os.WriteFile(path+".new", []byte(content), 0o644)
	}
	if err == nil {
		err = os.Rename(path+".new", path)
	}
	if err != nil {
		tr.t.Error(err)
	}
}

func (tr tree) device(name, content string) { tr.write(name+"/w1_slave", content) }

func (tr tree) remove(name string) {
	if err := os.RemoveAll(filepath.Join(tr.root, name)); err != nil {
		tr.t.Error(err)
	}
}

func (tr tree) source(channels ...string) *Source {
	return New(Config{Source: "probes", Root: tr.root, Channels: channels, Interval: interval}, capture.StartClock())
}

// watch runs a source and gives its records; step is called with each and says whether to go on.
func watch(t *testing.T, s *Source, step func(r capture.Record) bool) ([]capture.Record, error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), capturetest.Patience)
	defer cancel()
	var got []capture.Record
	err := s.Capture(ctx, func(r capture.Record) error {
		r.Payload = bytes.Clone(r.Payload)
		got = append(got, r)
		if !step(r) {
			cancel()
		}
		return nil
	})
	if ctx.Err() == context.DeadlineExceeded {
		t.Fatalf("what was awaited did not come; got %d records, the last %+v", len(got), got[max(0, len(got)-1):])
	}
	return got, err
}

func TestConformance(t *testing.T) {
	capturetest.TestSource(t, func(t *testing.T) capturetest.Rig {
		tr, clock := newTree(t, flowROM), capture.StartClock()
		return capturetest.Rig{
			Source: New(Config{Source: "probes", Root: tr.root, Interval: interval}, clock), Clock: clock, Name: "probes",
			Device: tr.root, Repeats: true, MaxPayload: FileLimit,
			Good:    func(i int) []byte { return fmt.Appendf(nil, "%s%d\n", good25, i) },
			Garbage: [][]byte{[]byte(badCRC), {}, []byte("\x00\xff"), []byte("t=\n"), []byte(powerOn)},
			Feed:    func(_ testing.TB, p []byte) { tr.device(flowROM, string(p)) },
			Lose:    func(testing.TB) { tr.remove(flowROM) },
			Restore: func(testing.TB) { tr.device(flowROM, good25) },
		}
	})
}

// TestSweepShared: the values of a sweep share number and time; what the kernel gave is kept as it is.
func TestSweepShared(t *testing.T) {
	const other = "10-000802c1f4aa"
	tr := newTree(t, flowROM, returnROM)
	tr.device(flowROM, badCRC)
	tr.device(other, powerOn)              // on a bus that lists no devices
	tr.write("2d-00001234abcd/eeprom", "") // a memory, no thermometer
	got, err := watch(t, tr.source(), func(r capture.Record) bool { return r.Sweep < 3 })
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]string{flowROM: badCRC, returnROM: good25, other: powerOn}
	bySweep := map[uint32][]capture.Record{}
	for _, r := range got {
		if r.Note != "" || string(r.Payload) != want[r.Channel] {
			t.Errorf("%+v", r)
		}
		bySweep[r.Sweep] = append(bySweep[r.Sweep], r)
	}
	for sweep := uint32(1); sweep <= 2; sweep++ {
		rs := bySweep[sweep]
		if len(rs) != 3 || rs[0].At != rs[1].At || rs[1].At != rs[2].At {
			t.Errorf("sweep %d: %+v", sweep, rs)
		}
	}
	if bySweep[2][0].At <= bySweep[1][0].At {
		t.Error("the second sweep is not after the first")
	}
}

// TestEmptyFile: a conversion that failed is an empty file, and an empty record without a note.
func TestEmptyFile(t *testing.T) {
	tr := newTree(t, flowROM)
	tr.device(flowROM, "")
	got, err := watch(t, tr.source(), func(capture.Record) bool { return false })
	if err != nil || len(got) != 1 || len(got[0].Payload) != 0 || got[0].Note != "" || got[0].Sweep != 1 {
		t.Errorf("%+v, %v", got, err)
	}
}

// TestVanishedAndBack: one note when it goes, one when it is back; the other probe has a value in every sweep.
func TestVanishedAndBack(t *testing.T) {
	tr := newTree(t, flowROM, returnROM)
	atGone := uint32(0)
	got, err := watch(t, tr.source(flowROM, returnROM), func(r capture.Record) bool {
		switch {
		case r.Sweep == 2 && r.Channel == flowROM:
			tr.remove(returnROM)
		case strings.HasPrefix(r.Note, "probe gone"):
			atGone = 3
		case atGone > 0 && r.Sweep == atGone+5 && r.Channel == flowROM:
			tr.device(returnROM, good25)
		}
		return !(atGone > 0 && r.Channel == returnROM && r.Note == "")
	})
	if err != nil {
		t.Fatal(err)
	}
	var notes []string
	flowSweep := uint32(0)
	for _, r := range got {
		if r.Note != "" {
			notes = append(notes, r.Channel+" "+r.Note)
		} else if r.Channel == flowROM {
			if flowSweep++; r.Sweep != flowSweep {
				t.Errorf("flow has sweep %d, want %d: the other's absence held it up", r.Sweep, flowSweep)
			}
		}
	}
	if len(notes) != 2 || notes[0] != returnROM+" probe gone: no such file or directory" || notes[1] != returnROM+" probe back" {
		t.Errorf("notes %q", notes)
	}
}

func TestLostErrors(t *testing.T) {
	tr := newTree(t, flowROM)
	empty := newTree(t)
	for _, c := range []struct {
		name string
		s    *Source
		want []string
	}{
		{"no root", New(Config{Root: tr.root + "-none"}, capture.StartClock()), []string{tr.root + "-none", "driver loaded"}},
		{"no device", empty.source(), []string{empty.root, "no thermometer found"}},
		{"none of the wanted", tr.source("28-00000000beef"), []string{"28-00000000beef", "all probes are gone"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			notes := 0
			emit := func(r capture.Record) error {
				if r.Note == "" {
					t.Errorf("a value came: %+v", r)
				}
				notes++
				return nil
			}
			for range 3 { // the supervisor tries again; an outage is told once
				err := c.s.Capture(t.Context(), emit)
				for _, w := range c.want {
					if err == nil || !strings.Contains(err.Error(), w) {
						t.Errorf("%v does not say %q", err, w)
					}
				}
			}
			if notes > 1 {
				t.Errorf("%d notes", notes)
			}
		})
	}
}

func TestBulkTrigger(t *testing.T) {
	tr := newTree(t, flowROM, returnROM)
	tr.write("w1_bus_master1/therm_bulk_read", "")
	if _, err := watch(t, tr.source(), func(r capture.Record) bool { return r.Sweep == 0 }); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(filepath.Join(tr.root, "w1_bus_master1/therm_bulk_read"))
	if err != nil || string(got) != "trigger\n" {
		t.Errorf("the bus was told %q, %v", got, err)
	}
	// A bus that refuses: one note, values all the same.
	tr.remove("w1_bus_master1/therm_bulk_read")
	if err := os.Mkdir(filepath.Join(tr.root, "w1_bus_master1/therm_bulk_read"), 0o755); err != nil {
		t.Fatal(err)
	}
	notes := 0
	values, err := watch(t, tr.source(), func(r capture.Record) bool {
		if r.Note != "" {
			notes++
			if r.Channel != "w1_bus_master1" || !strings.Contains(r.Note, "one by one") {
				t.Errorf("%+v", r)
			}
		}
		return r.Sweep < 3
	})
	if err != nil || notes != 1 || len(values) < 6 {
		t.Errorf("%d notes in %d records, %v", notes, len(values), err)
	}
}

// TestNothingElseWritten: a tree that cannot be written to is read all the same, and stays byte for byte the same.
func TestNothingElseWritten(t *testing.T) {
	tr := newTree(t, flowROM)
	for _, f := range []string{"resolution", "features", "alarms", "conv_time"} {
		tr.write(flowROM+"/"+f, f)
	}
	before := snapshot(t, tr.root)
	if _, err := watch(t, tr.source(), func(r capture.Record) bool { return r.Sweep < 3 }); err != nil {
		t.Fatal(err)
	}
	if after := snapshot(t, tr.root); after != before {
		t.Errorf("the tree changed from\n%s\nto\n%s", before, after)
	}
}

func snapshot(t *testing.T, root string) string {
	var all strings.Builder
	err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		content, err := os.ReadFile(path)
		info, _ := d.Info()
		fmt.Fprintf(&all, "%s %v %q\n", path, info.ModTime(), content)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all.String()
}
