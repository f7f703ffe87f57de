package modbus

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"golang.org/x/term"

	"tundish/capture/capturetest"
)

// python is Debian's, which has the package python3-pymodbus; another may stand first in the path.
const python = "/usr/bin/python3"

// peer is a Modbus server by pymodbus in a process of its own.
type peer struct {
	t    testing.TB
	cmd  *exec.Cmd
	in   io.WriteCloser
	acks chan struct{}

	mu    sync.Mutex
	asked []string // what it tells that it was asked: "asked 3 100 4"
}

// newPeer starts a server: "tcp", port or "rtu", device.
func newPeer(t testing.TB, args ...string) *peer {
	t.Helper()
	p := &peer{t: t, acks: make(chan struct{}, 1)}
	p.cmd = exec.Command(python, append([]string{"testdata/peer.py"}, args...)...)
	p.cmd.Stderr = os.Stderr
	in, err := p.cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	p.in = in
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ready, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		for lines := bufio.NewScanner(out); lines.Scan(); {
			switch line := lines.Text(); line {
			case "ready":
				close(ready)
			case "ok":
				p.acks <- struct{}{}
			default:
				p.mu.Lock()
				p.asked = append(p.asked, line)
				p.mu.Unlock()
			}
		}
	}()
	t.Cleanup(p.kill)
	select {
	case <-ready:
	case <-ended:
		t.Fatal("the server ended at once; are Debian's python3-pymodbus and python3-serial-asyncio installed?")
	case <-time.After(2 * capturetest.Patience):
		t.Fatal("the server did not start; is Debian's python3-pymodbus installed?")
	}
	return p
}

func (p *peer) kill() {
	_ = p.cmd.Process.Kill()
	_ = p.cmd.Wait()
}

func (p *peer) tell(format string, args ...any) {
	fmt.Fprintf(p.in, format+"\n", args...)
	select {
	case <-p.acks:
	case <-time.After(capturetest.Patience):
		p.t.Error("the server does not react")
	}
}

// log is what the server told that it was asked.
func (p *peer) log() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.asked)
}

// tap is between source and server: it keeps every byte that the source sends, and can be taken away and put back
// under the same name.
type tap struct {
	t    testing.TB
	name string // host:port or a path

	mu     sync.Mutex
	sent   []byte
	open   []io.Closer
	server func() (io.ReadWriteCloser, error)
}

func (w *tap) copy(from, to io.ReadWriteCloser) {
	go func() {
		_, _ = io.Copy(from, to)
		from.Close()
	}()
	buf := make([]byte, 512)
	for {
		n, err := from.Read(buf)
		w.mu.Lock()
		w.sent = append(w.sent, buf[:n]...)
		w.mu.Unlock()
		if n > 0 {
			_, _ = to.Write(buf[:n])
		}
		if err != nil {
			if _, isTCP := to.(net.Conn); isTCP {
				to.Close()
			}
			return
		}
	}
}

func (w *tap) keep(c io.Closer) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.open = append(w.open, c)
}

// cut takes the line away.
func (w *tap) cut() {
	w.mu.Lock()
	open := w.open
	w.open = nil
	w.mu.Unlock()
	if strings.HasPrefix(w.name, "/") {
		_ = os.Remove(w.name)
	}
	for _, c := range open {
		c.Close()
	}
}

func (w *tap) bytes() []byte {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.sent)
}

// listen puts a TCP tap in place, on its old port if it had one.
func (w *tap) listen() {
	w.t.Helper()
	at := w.name
	if at == "" {
		at = "127.0.0.1:0"
	}
	var l net.Listener
	var err error
	for range 100 {
		if l, err = net.Listen("tcp", at); !errors.Is(err, syscall.EADDRINUSE) {
			break
		}
		time.Sleep(10 * time.Millisecond) // the kernel has not given the port back yet; nothing tells when
	}
	if err != nil {
		w.t.Fatal(err)
	}
	w.name = l.Addr().String()
	w.keep(l)
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			s, err := w.server()
			if err != nil {
				c.Close()
				continue
			}
			w.keep(c)
			w.keep(s)
			go w.copy(c, s)
		}
	}()
}

// plug puts a serial tap in place, a new pseudo-terminal under the old path.
func (w *tap) plug() {
	w.t.Helper()
	if w.name == "" {
		w.name = filepath.Join(w.t.TempDir(), "usb-adapter")
	}
	master, tty := openPTY(w.t)
	if err := os.Symlink(tty.Name(), w.name); err != nil {
		w.t.Fatal(err)
	}
	w.keep(tty)
	w.keep(master)
	s, err := w.server()
	if err != nil {
		w.t.Fatal(err)
	}
	go w.copy(master, s)
}

// openPTY opens a raw pseudo-terminal whose master can be closed while it is read.
func openPTY(t testing.TB) (master, tty *os.File) {
	t.Helper()
	m, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	if _, err := term.MakeRaw(int(tty.Fd())); err != nil {
		t.Fatal(err)
	}
	fd, err := syscall.Dup(int(m.Fd()))
	if err == nil {
		err = syscall.SetNonblock(fd, true)
	}
	if err != nil {
		t.Fatal(err)
	}
	return os.NewFile(uintptr(fd), "ptmx"), tty
}

// freePort finds a port that nobody has.
func freePort(t testing.TB) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	_, port, _ := net.SplitHostPort(l.Addr().String())
	return port
}

// overTCP starts a server and a tap before it.
func overTCP(t testing.TB) (*peer, *tap) {
	port := freePort(t)
	p := newPeer(t, "tcp", port)
	w := &tap{t: t, server: func() (io.ReadWriteCloser, error) { return net.Dial("tcp", "127.0.0.1:"+port) }}
	w.listen()
	t.Cleanup(w.cut)
	return p, w
}

// overRTU starts a server on a pseudo-terminal and a tap before it.
func overRTU(t testing.TB) (*peer, *tap) {
	far, tty := openPTY(t)
	t.Cleanup(func() { far.Close(); tty.Close() })
	p := newPeer(t, "rtu", tty.Name())
	w := &tap{t: t, server: func() (io.ReadWriteCloser, error) { return shared{far}, nil }}
	w.plug()
	t.Cleanup(w.cut)
	return p, w
}

// shared is the server's line, which stays when one tap goes and another comes.
type shared struct{ *os.File }

func (shared) Close() error { return nil }
