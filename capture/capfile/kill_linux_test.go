package capfile

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"golang.org/x/sys/unix"

	"tundish/capture"
)

// childEnv names what a re-executed test binary does instead of testing.
const childEnv = "CAPFILE_TEST_CHILD"

func TestMain(m *testing.M) {
	child, path := os.Getenv(childEnv), os.Getenv(childEnv+"_PATH")
	var err error
	switch child {
	case "":
		os.Exit(m.Run())
	case "record":
		err = childRecord(path)
	case "full":
		err = childFull(path)
	case "read":
		err = childRead(path)
	default:
		err = fmt.Errorf("unknown child %q", child)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func childCommand(t *testing.T, kind, path string) *exec.Cmd {
	exe, err := os.Executable()
	must(t, err)
	cmd := exec.CommandContext(t.Context(), exe)
	cmd.Env = append(os.Environ(), childEnv+"="+kind, childEnv+"_PATH="+path)
	cmd.Stderr = os.Stderr
	return cmd
}

// numbered is record i of a child: what it must be can be told from its number alone.
func numbered(i uint64) capture.Record {
	rnd := rand.New(rand.NewPCG(i, 9))
	rec := capture.Record{Source: []string{"boiler", "probes", "meter"}[i%3], Payload: frameLine(rnd.Uint32())}
	if i%3 == 2 {
		rec.Payload = fmt.Appendf(nil, "%d %x", i, rnd.Uint64())
	}
	return rec
}

// childRecord records as fast as it can and prints how many records each commit made durable.
func childRecord(path string) error {
	w, err := Create(path, Options{BlockRecords: 50})
	if errors.Is(err, os.ErrExist) {
		w, err = Continue(path, Options{BlockRecords: 50})
	}
	if err != nil {
		return err
	}
	run, err := w.StartRun(RunInfo{Kind: Record, Program: "child", Started: noon})
	if err != nil {
		return err
	}
	for i := w.Head().Records + 1; ; i++ {
		rec := numbered(i)
		rec.Run = run
		if err := w.Append(rec); err != nil {
			return err
		}
		if i%7 == 0 {
			if err := w.Commit(); err != nil {
				return err
			}
			fmt.Println(w.Head().Records)
		}
	}
}

// TestKill kills a recording process with SIGKILL at random moments: all that was acknowledged is there, unaltered.
func TestKill(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	rnd := rand.New(rand.NewPCG(8, 8))
	acknowledged := uint64(0)
	for range 14 {
		cmd := childCommand(t, "record", path)
		out, err := cmd.StdoutPipe()
		must(t, err)
		must(t, cmd.Start())
		lines := bufio.NewScanner(out)
		for range rnd.IntN(250) {
			if !lines.Scan() {
				t.Fatal("the child ended by itself")
			}
			acknowledged, err = strconv.ParseUint(lines.Text(), 10, 64)
			must(t, err)
		}
		must(t, cmd.Process.Kill())
		rest, _ := io.ReadAll(out)
		for _, line := range strings.Split(lines.Text()+"\n"+string(rest), "\n") {
			if n, err := strconv.ParseUint(line, 10, 64); err == nil {
				acknowledged = max(acknowledged, n)
			}
		}
		cmd.Wait()
		if _, err := os.Stat(path); err != nil {
			continue // killed before it was made
		}
		if st, _ := os.Stat(path); st.Size() > 0 {
			checkNumbered(t, path, acknowledged)
		}
	}
	if acknowledged < 5000 {
		t.Errorf("only %d records were acknowledged over all kills", acknowledged)
	}
	w, err := Continue(path, Options{})
	must(t, err)
	must(t, w.Close())
	checkNumbered(t, path, acknowledged)
	if d := mustDump(t, path); len(d.Losses) > 0 {
		t.Errorf("losses: %+v", d.Losses)
	}
}

func checkNumbered(t *testing.T, path string, atLeast uint64) {
	t.Helper()
	verify(t, path)
	d := mustDump(t, path)
	if uint64(len(d.Records)) < atLeast {
		t.Fatalf("%d records, %d were acknowledged", len(d.Records), atLeast)
	}
	for i, rec := range d.Records {
		want := numbered(uint64(i + 1))
		if rec.Source != want.Source || !bytes.Equal(rec.Payload, want.Payload) {
			t.Fatalf("record %d: %q, want %q", i+1, rec.Payload, want.Payload)
		}
	}
}

// childFull records under a file-size limit until nothing goes in any more, then with a higher one.
func childFull(path string) error {
	signal.Ignore(syscall.SIGXFSZ)
	limit := unix.Rlimit{Cur: 300 << 10, Max: unix.RLIM_INFINITY}
	if err := unix.Setrlimit(unix.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	w, err := Create(path, Options{BlockRecords: 50})
	if err != nil {
		return err
	}
	run, err := w.StartRun(RunInfo{Kind: Record, Program: "child", Started: noon})
	if err != nil {
		return err
	}
	i := uint64(0)
	for err == nil {
		rec := numbered(i + 1)
		rec.Run = run
		rec.Note = strconv.FormatUint(rand.New(rand.NewPCG(i, 1)).Uint64(), 36)
		if err = w.Append(rec); err == nil {
			i++
		}
		if err == nil && i%20 == 0 {
			err = w.Commit()
		}
		if i > 1<<20 {
			return errors.New("the limit was never met")
		}
	}
	if !errors.Is(err, ErrFull) {
		return fmt.Errorf("full disk gives %w", err)
	}
	fmt.Println(w.Head().Records)
	if err := w.Commit(); !errors.Is(err, ErrFull) {
		return fmt.Errorf("commit on a full disk gives %v", err)
	}
	limit.Cur = unix.RLIM_INFINITY
	if err := unix.Setrlimit(unix.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	if err := w.Commit(); err != nil {
		return fmt.Errorf("commit when there is room again: %w", err)
	}
	if got := w.Head().Records; got != i {
		return fmt.Errorf("%d records in the end, %d were taken", got, i)
	}
	return w.Close()
}

func TestFullDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.capture")
	out, err := childCommand(t, "full", path).Output()
	must(t, err)
	n, err := strconv.ParseUint(strings.TrimSpace(string(out)), 10, 64)
	must(t, err)
	if n < 100 {
		t.Errorf("%d records before the disk was full", n)
	}
	checkNumbered(t, path, n)
	if names := leftBeside(t, path); names != nil {
		t.Errorf("left over: %v", names)
	}
}

// childRead reads as a user who may not write.
func childRead(path string) error {
	if os.Geteuid() == 0 {
		if err := errors.Join(syscall.Setgid(65534), syscall.Setuid(65534)); err != nil {
			return err
		}
	}
	if _, err := Create(path+"-new", Options{}); !errors.Is(err, os.ErrPermission) {
		return fmt.Errorf("Create in a read-only folder: %v", err)
	}
	if _, err := Continue(path, Options{}); !errors.Is(err, os.ErrPermission) {
		return fmt.Errorf("Continue in a read-only folder: %v", err)
	}
	d, err := dumpOf(path)
	fmt.Println(len(d.Records))
	if err != nil {
		if !errors.Is(err, ErrReadOnly) {
			return fmt.Errorf("reading: %w", err)
		}
		fmt.Println(err)
	}
	return nil
}

// TestReadOnlyFolder reads a capture from a folder that cannot be written: closed it opens, unclosed the error
// says what to do.
func TestReadOnlyFolder(t *testing.T) {
	for _, closed := range []bool{true, false} {
		dir := t.TempDir()
		path := filepath.Join(dir, "a.capture")
		want := small(t, path, closed)
		for _, suffix := range []string{"", "-wal", "-shm", sideSuffix} {
			os.Chmod(path+suffix, 0o444)
		}
		if !closed {
			os.Remove(path + "-shm")
		}
		must(t, os.Chmod(filepath.Dir(dir), 0o755))
		must(t, os.Chmod(dir, 0o555))
		t.Cleanup(func() { os.Chmod(dir, 0o755) })
		out, err := childCommand(t, "read", path).Output()
		must(t, err)
		if closed && strings.TrimSpace(string(out)) != strconv.Itoa(len(want)) {
			t.Errorf("closed: %s, want %d records", out, len(want))
		}
		if !closed && !strings.Contains(string(out), "copy it with a.capture-wal") {
			t.Errorf("not closed: %s", out)
		}
	}
}
