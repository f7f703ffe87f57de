package mbus

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// slave is a meter as EN 13757-2 and MB 5 and 7 describe it: it answers what it is asked, and nothing else.
type slave struct {
	address   byte
	number    [8]byte  // secondary address as it stands in a header: id low byte first, maker, version, medium
	telegrams [][]byte // of one answer
	mute      int      // answers that are left out, −1: all
	stuck     bool     // FCB is not looked at: the same telegram for ever

	selected bool
	next     int  // of telegrams
	fcb      byte // of the last request
	fresh    bool // no request since the link was reset
}

// hear takes a frame of the master and gives the answer.
func (s *slave) hear(f []byte) []byte {
	c, a := f[1], f[2]
	if f[0] == longStart {
		if c, a = f[4], f[5]; c&^fcbBit == 0x53 && f[6] == 0x52 && a == 0xFD {
			s.selected = s.fits(f[7:15])
			s.fresh = true
			if s.selected {
				return []byte{0xE5}
			}
		}
		return nil
	}
	if a == 0xFF && c == 0x40 { // to all, and nobody answers
		s.selected, s.fresh, s.next = false, true, 0
		return nil
	}
	if a != s.address && !(a == 0xFD && s.selected) {
		return nil
	}
	if s.mute != 0 {
		s.mute--
		return nil
	}
	switch c {
	case 0x40:
		s.selected, s.fresh, s.next = false, true, 0
		return []byte{0xE5}
	case 0x5B, 0x7B:
		if fcb := c & fcbBit; s.fresh || s.stuck {
			s.fresh, s.next, s.fcb = false, 0, fcb
		} else if fcb != s.fcb {
			s.next, s.fcb = (s.next+1)%len(s.telegrams), fcb
		}
		return s.telegrams[s.next]
	}
	return nil
}

func (s *slave) fits(want []byte) bool {
	for i := range 4 {
		for shift := range 2 {
			if w := want[i] >> (4 * shift) & 0xF; w != 0xF && w != s.number[i]>>(4*shift)&0xF {
				return false
			}
		}
	}
	return (bytes.Equal(want[4:6], []byte{0xFF, 0xFF}) || bytes.Equal(want[4:6], s.number[4:6])) &&
		(want[6] == 0xFF || want[6] == s.number[6]) && (want[7] == 0xFF || want[7] == s.number[7])
}

// wire is a pseudo-terminal behind a stable path that stands for a level converter, and what is on its bus.
type wire struct {
	path string
	echo bool // as many level converters do

	mu       sync.Mutex
	slaves   []*slave
	raw      []byte // answered to every request for data instead of what a slave says; nil: that
	pty, tty *os.File
	requests []heardRequest
	pending  []byte
	workers  sync.WaitGroup
}

type heardRequest struct {
	at    time.Time
	frame []byte
}

// newWire makes one. At the end of the test every byte that was ever sent to it must have been a reading request.
func newWire(t testing.TB, slaves ...*slave) *wire {
	w := &wire{path: filepath.Join(t.TempDir(), "usb-converter"), slaves: slaves}
	w.plug(t)
	t.Cleanup(func() {
		if w.pty != nil {
			w.unplug(t)
		}
		if len(w.pending) > 0 {
			t.Errorf("% X was sent and is no frame", w.pending)
		}
		for _, r := range w.requests {
			if !reads(r.frame) {
				t.Errorf("% X was sent and is no reading request", r.frame)
			}
		}
	})
	return w
}

// reads tells whether a frame is one of the three that only read (MB 5.2, 7): SND_NKE, REQ_UD2, the selection.
func reads(f []byte) bool {
	if f[0] == 0x10 {
		return len(f) == 5 && (f[1] == 0x40 || f[1] == 0x5B || f[1] == 0x7B)
	}
	return len(f) == 17 && bytes.Equal(f[:7], []byte{0x68, 0x0B, 0x0B, 0x68, 0x53, 0xFD, 0x52})
}

func (w *wire) plug(t testing.TB) {
	master, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := term.MakeRaw(int(tty.Fd())); err != nil {
		t.Fatal(err)
	}
	fd, err := unix.Dup(int(master.Fd())) // one whose Close ends a Read under way
	if err != nil {
		t.Fatal(err)
	}
	master.Close()
	if err := unix.SetNonblock(fd, true); err != nil {
		t.Fatal(err)
	}
	p := os.NewFile(uintptr(fd), "pty")
	if err := os.Symlink(tty.Name(), w.path); err != nil {
		t.Fatal(err)
	}
	w.mu.Lock()
	w.pty, w.tty = p, tty
	w.mu.Unlock()
	w.workers.Go(func() {
		buf := make([]byte, 256)
		for {
			n, err := p.Read(buf)
			if err != nil {
				return
			}
			for _, out := range w.take(buf[:n]) {
				if _, err := p.Write(out); err != nil {
					return
				}
			}
		}
	})
}

func (w *wire) unplug(t testing.TB) {
	w.mu.Lock()
	w.tty.Close()
	w.pty.Close()
	w.pty = nil
	w.mu.Unlock()
	w.workers.Wait()
	if err := os.Remove(w.path); err != nil {
		t.Error(err)
	}
}

// take gives what the bus answers to bytes of the master.
func (w *wire) take(b []byte) (out [][]byte) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.pending = append(w.pending, b...)
	for len(w.pending) > 0 {
		n := 5
		if w.pending[0] == 0x68 && len(w.pending) > 1 {
			n = int(w.pending[1]) + 6
		}
		if w.pending[0] != 0x10 && w.pending[0] != 0x68 || len(w.pending) < n {
			return out
		}
		f := slices.Clone(w.pending[:n])
		w.pending = w.pending[n:]
		w.requests = append(w.requests, heardRequest{time.Now(), f})
		if w.echo {
			out = append(out, f)
		}
		var all []byte // what several meters say at once comes as one jumble
		for _, s := range w.slaves {
			all = append(all, s.hear(f)...)
		}
		if w.raw != nil && f[0] == 0x10 && f[1] != 0x40 {
			all = w.raw
		}
		if len(all) > 0 {
			out = append(out, all)
		}
	}
	return out
}

// answer sets what every request for data is answered with from now on.
func (w *wire) answer(_ testing.TB, b []byte) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.raw = slices.Clone(b)
}

// do changes a slave while the bus runs.
func (w *wire) do(change func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	change()
}

// asked lists the requests so far.
func (w *wire) asked() []heardRequest {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.requests)
}

// framed puts a slave's long frame around C, A, CI and data.
func framed(b ...byte) []byte {
	sum := byte(0)
	for _, x := range b {
		sum += x
	}
	n := byte(len(b))
	return append(append([]byte{0x68, n, n, 0x68}, b...), sum, 0x16)
}

// meterAt makes a heat meter with these telegrams' records; all but the last end with DIF 1F.
func meterAt(address byte, number byte, records ...[]byte) *slave {
	s := &slave{address: address, fresh: true, number: [8]byte{number, 0x56, 0x34, 0x12, 0x43, 0x04, 1, 4}}
	for i, r := range records {
		data := slices.Concat([]byte{0x08, address, 0x72}, s.number[:], []byte{byte(i), 0, 0, 0}, r)
		if i < len(records)-1 {
			data = append(data, 0x1F)
		}
		s.telegrams = append(s.telegrams, framed(data...))
	}
	return s
}

// energy is a record of so many kWh.
func energy(kwh byte) []byte { return []byte{0x04, 0x06, kwh, 0, 0, 0} }
