package main

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
	"unsafe"
)

const filesSheet = `[job]
name = "Bench"
timezone = "Europe/London"
[[source]]
name = "boiler"
kind = "opentherm"
[[source]]
name = "probes"
kind = "one-wire"
`

// busLines writes lines of a bus, two frames a second, until there are as many bytes. The frames are those of data id 25,
// flow temperature, by the layout of OpenTherm (parity, message type, data id, f8.8); their parity bit is set right.
func busLines(path string, size int) error {
	return fillFile(path, size, "", func(w *bufio.Writer, i int, at time.Time) {
		for k, frame := range []uint32{25 << 16, 4<<28 | 25<<16 | uint32(40*256+i*37%4096)} {
			for x := frame; x != 0; x &= x - 1 {
				frame ^= 1 << 31
			}
			fmt.Fprintf(w, "%s %08X\n", at.Add(time.Duration(k)*40*time.Millisecond).Format(time.RFC3339Nano), frame)
		}
	})
}

// readingRows writes a table of readings, a row a second.
func readingRows(path string, size int) error {
	return fillFile(path, size, "time,flow,return,room,outside,pressure\n", func(w *bufio.Writer, i int, at time.Time) {
		fmt.Fprintf(w, "%s,%.4f,%.4f,%.4f,%.4f,%.2f\n", at.Format(time.RFC3339), 50+float64(i*7%320)/16, 40+float64(i*3%240)/16,
			20+float64(i/500%32)/16, float64(i/900%200)/16, 1.2+float64(i/3000%40)/100)
	})
}

func fillFile(path string, size int, head string, row func(w *bufio.Writer, i int, at time.Time)) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	count := &sizer{f: f}
	w := bufio.NewWriter(count)
	w.WriteString(head)
	for i := 0; count.n < size; i++ {
		row(w, i, time.Date(2026, 1, 1, 0, 0, i, 0, time.UTC))
	}
	return firstError(w.Flush(), f.Close())
}

// sizer counts what is written.
type sizer struct {
	f *os.File
	n int
}

func (s *sizer) Write(b []byte) (int, error) {
	s.n += len(b)
	return s.f.Write(b)
}

// peak runs the program by itself and gives its greatest resident memory, bytes.
func peak(t *testing.T, args ...string) int {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.CommandContext(t.Context(), self)
	c.Args = append([]string{"tundish"}, args...) // as TestMain knows the program from the tests
	var errs bytes.Buffer
	c.Stderr = &errs
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- c.Wait() }()
	for most := int64(0); ; {
		select {
		case err := <-ended:
			if err != nil || most == 0 {
				t.Fatalf("%q: %v, %d bytes resident: %s", args, err, most, errs.String())
			}
			return int(most)
		case <-time.After(2 * time.Millisecond): // it only rises, and what has ended does not tell it any more
			most = max(most, residentOf(c.Process.Pid))
		}
	}
}

// TestFilesInBoundedMemory: a file of four times the length takes no more memory to import, nor the capture to export. What
// would be kept of the longer one is more than the file itself; half the difference in length is allowed, for garbage that
// is not yet collected. A Parquet file has its table of contents at the end: half of what its rows would take is allowed.
func TestFilesInBoundedMemory(t *testing.T) {
	if raceDetector {
		t.Skip("the race detector keeps memory of its own")
	}
	const short, long = 6 << 20, 24 << 20
	const readings = (long - short) / 54 * 5 // of a table: a row has 54 bytes and 5 values
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	if err := os.WriteFile(in("job.toml"), []byte(filesSheet), 0o600); err != nil {
		t.Fatal(err)
	}
	for n, size := range map[string]int{"short": short, "long": long} {
		if err := firstError(busLines(in(n+".log"), size), readingRows(in(n+".csv"), size)); err != nil {
			t.Fatal(err)
		}
	}
	for _, w := range []struct {
		name  string
		args  func(n string) []string
		limit int // of what the longer one may take more, bytes
	}{
		{"import of lines", func(n string) []string {
			return []string{"import", in("job.toml"), "-o", in(n + ".bus.capture"), "boiler=" + in(n+".log")}
		}, (long - short) / 2},
		{"import of a table", func(n string) []string {
			return []string{"import", in("job.toml"), "-o", in(n + ".capture"), "probes=" + in(n+".csv")}
		}, (long - short) / 2},
		{"export as CSV", func(n string) []string {
			return []string{"export", in(n + ".capture"), "-o", in(n + ".out.csv")}
		}, (long - short) / 2},
		{"export as Parquet", func(n string) []string {
			return []string{"export", in(n + ".capture"), "-o", in(n + ".parquet")}
		}, readings * int(unsafe.Sizeof(reading{})) / 2},
	} {
		a, b := peak(t, w.args("short")...), peak(t, w.args("long")...)
		t.Logf("%s: %d and %d MB resident at the most", w.name, a>>20, b>>20)
		if b-a > w.limit {
			t.Errorf("%s: %d MB for %d MB, %d MB for %d MB", w.name, a>>20, short>>20, b>>20, long>>20)
		}
	}
}
