package mbus

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestSlaveByLibmbus has an independent master (libmbus, BSD licence) read the slave that the other tests stand on, by
// primary and by secondary address and over several telegrams: what it takes for a meter is one.
func TestSlaveByLibmbus(t *testing.T) {
	dir := os.Getenv("TUNDISH_LIBMBUS")
	if dir == "" {
		t.Skip("TUNDISH_LIBMBUS is not set: the folder of libmbus' source, whose master reads the slave of these tests; ./test sets it")
	}
	files, err := filepath.Glob(filepath.Join(dir, "mbus", "*.c"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s holds no libmbus: %v", dir, err)
	}
	program := filepath.Join(t.TempDir(), "master")
	args := append([]string{"-O1", "-w", "-I", dir, "-I", filepath.Join(dir, "mbus"), "-o", program,
		filepath.Join(dir, "bin", "mbus-serial-request-data-multi-reply.c")}, files...)
	if out, err := exec.CommandContext(t.Context(), "cc", append(args, "-lm")...).CombinedOutput(); err != nil {
		t.Fatalf("compiling libmbus: %v\n%s", err, out)
	}
	m := meterAt(5, 0x78, energy(11), energy(22), energy(33))
	w := newWire(t, m, meterAt(6, 0x79, energy(44)))
	for _, address := range []string{"5", "12345678430401FF"} {
		out, err := exec.CommandContext(t.Context(), program, "-b", "9600", w.path, address).Output()
		if err != nil {
			t.Fatalf("%s: %v\n%s", address, err, out)
		}
		for _, want := range []string{"<Id>12345678</Id>", "<Manufacturer>ABC</Manufacturer>", "<Value>11</Value>", "<Value>22</Value>", "<Value>33</Value>"} {
			if !strings.Contains(string(out), want) {
				t.Errorf("libmbus read of %s no %s:\n%s", address, want, out)
			}
		}
		if strings.Contains(string(out), "<Value>44</Value>") {
			t.Errorf("libmbus read the wrong meter by %s", address)
		}
	}
	// What this package's master sends for the same is what libmbus sent, once its own resets are left out.
	theirs := data(w.asked())
	w.do(func() { w.requests = nil })
	s := quickly(w, Meter{Name: "a", Address: 5})
	if _, err := listen(t, s, lines(3)); err != nil {
		t.Error(err)
	}
	if ours := data(w.asked()); len(ours) < 3 || len(theirs) < 3 || ours[0] != theirs[0] || ours[1] != theirs[1] || ours[2] != theirs[2] {
		t.Errorf("asked %q, libmbus %q", ours, theirs)
	}
}

// data lists the requests for data.
func data(all []heardRequest) (out []string) {
	for _, r := range all {
		if r.frame[0] == shortStart && r.frame[1] != sndNKE {
			out = append(out, fmt.Sprintf("% X", r.frame))
		}
	}
	return out
}
