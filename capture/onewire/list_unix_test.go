//go:build unix

package onewire

import (
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestList: what the kernel shows, in order of name; a device whose files hang is listed all the same.
func TestList(t *testing.T) {
	tr := tree{t, filepath.Join(t.TempDir(), "devices")}
	tr.bus("w1_bus_master1", flowROM)
	tr.bus("w1_bus_master2", returnROM)
	tr.write("w1_bus_master1/therm_bulk_read", "")
	tr.write(flowROM+"/resolution", "11\n")
	tr.write("2d-00001234abcd/eeprom", "") // a memory, no thermometer
	hangs := tr.pipe(returnROM + "/resolution")
	began := time.Now()
	got, err := List(tr.root, 100*time.Millisecond)
	if err != nil || len(got) != 2 {
		t.Fatalf("%+v, %v", got, err)
	}
	if got[0] != (Found{flowROM, "w1_bus_master1", Settings{Bits: 11, Conversion: 375 * time.Millisecond}, true}) ||
		got[1] != (Found{Device: returnROM, Master: "w1_bus_master2"}) {
		t.Errorf("%+v", got)
	}
	if took := time.Since(began); took > 5*time.Second {
		t.Errorf("took %v", took)
	}
	open(t, hangs)
	if _, err := List(tr.root+"-none", time.Second); err == nil || !strings.Contains(err.Error(), "driver loaded") {
		t.Errorf("%v", err)
	}
}
