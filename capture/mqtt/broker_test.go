package mqtt

import (
	"bytes"
	"context"
	"crypto/tls"
	"io"
	"log/slog"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"

	"tundish/capture"
)

// patience is how long a test waits for what must come.
const patience = 20 * time.Second

// broker is an embedded broker that can be closed and opened again at the same address.
type broker struct {
	address string
	tls     *tls.Config
	ledger  *auth.Ledger // nil: everybody may
	server  *mochi.Server
	seen    *seen
	conns   count
}

// seen notes the types of the packets that clients send.
type seen struct {
	mochi.HookBase
	mu    sync.Mutex
	types []byte
}

func (*seen) Provides(b byte) bool { return b == mochi.OnPacketRead }
func (s *seen) OnPacketRead(_ *mochi.Client, pk packets.Packet) (packets.Packet, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.types = append(s.types, pk.FixedHeader.Type)
	return pk, nil
}

func (s *seen) sent(kind byte) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return bytes.Count(s.types, []byte{kind})
}

func newBroker(t *testing.T, change func(*broker)) *broker {
	t.Helper()
	b := &broker{address: "127.0.0.1:0", seen: &seen{}}
	if change != nil {
		change(b)
	}
	b.open(t)
	t.Cleanup(func() {
		// The broker must not be closed while it takes a connection up.
		eventually(t, "the broker has closed what it took up", func() bool { return b.conns.change(0) == 0 })
		b.server.Close()
	})
	return b
}

// counted counts the connections that the broker has not closed.
type counted struct {
	net.Listener
	open *count
}

type count struct {
	mu sync.Mutex
	n  int
}

func (c *count) change(by int) int {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.n += by
	return c.n
}

func (l counted) Accept() (net.Conn, error) {
	conn, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	l.open.change(1)
	return countedConn{conn, sync.OnceFunc(func() { l.open.change(-1) })}, nil
}

type countedConn struct {
	net.Conn
	closed func()
}

func (c countedConn) Close() error {
	defer c.closed()
	return c.Conn.Close()
}

func (b *broker) open(t testing.TB) {
	t.Helper()
	b.server = mochi.New(&mochi.Options{InlineClient: true, Logger: slog.New(slog.DiscardHandler)})
	var hook mochi.Hook = new(auth.AllowHook)
	var options any
	if b.ledger != nil {
		hook, options = new(auth.Hook), &auth.Options{Ledger: b.ledger}
	}
	for _, err := range []error{b.server.AddHook(hook, options), b.server.AddHook(b.seen, nil)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	// A port that was just given up may be in use for a moment.
	var ln net.Listener
	eventually(t, "the address is free", func() bool {
		var err error
		if b.tls != nil {
			ln, err = tls.Listen("tcp", b.address, b.tls)
		} else {
			ln, err = net.Listen("tcp", b.address)
		}
		return err == nil
	})
	b.address = ln.Addr().String()
	if err := b.server.AddListener(listeners.NewNet("test", counted{ln, &b.conns})); err != nil {
		t.Fatal(err)
	}
	if err := b.server.Serve(); err != nil {
		t.Fatal(err)
	}
}

// publish sends a message once somebody listens.
func (b *broker) publish(t testing.TB, topic string, payload []byte, retain bool) {
	t.Helper()
	eventually(t, "somebody listens", func() bool { return len(b.server.Topics.Subscribers(topic).Subscriptions) > 0 })
	b.put(t, topic, payload, retain)
}

func (b *broker) put(t testing.TB, topic string, payload []byte, retain bool) {
	t.Helper()
	if err := b.server.Publish(topic, payload, retain, 1); err != nil {
		t.Error(err)
	}
}

// unacknowledged is how many messages the broker has sent to a client and holds for it.
func (b *broker) unacknowledged(id string) int {
	if c, ok := b.server.Clients.Get(id); ok {
		return c.State.Inflight.Len()
	}
	return -1
}

// connected tells whether a client is.
func (b *broker) connected(id string) bool {
	c, ok := b.server.Clients.Get(id)
	return ok && !c.Closed()
}

func eventually(t testing.TB, what string, done func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); !done(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("never: %s", what)
		}
	}
}

const clientID = "tundishtest"

func (b *broker) config(topics ...string) Config {
	return Config{Source: "broker", Address: b.address, ClientID: clientID, Topics: topics}
}

// listening is a Capture in the background.
type listening struct {
	t       *testing.T
	records chan capture.Record
	done    chan error
	stop    func()
	mu      sync.Mutex
	owed    []func() // Stored of the records so far, where hold is set
	hold    bool
}

func listen(t *testing.T, s *Source, hold bool) *listening {
	ctx, cancel := context.WithCancel(t.Context())
	l := &listening{t: t, records: make(chan capture.Record, 1<<16), done: make(chan error, 1), stop: cancel, hold: hold}
	go func() {
		l.done <- s.Capture(ctx, func(r capture.Record) error {
			r.Payload = bytes.Clone(r.Payload)
			l.mu.Lock()
			if r.Stored != nil {
				l.owed = append(l.owed, r.Stored)
			}
			l.mu.Unlock()
			if !l.hold {
				l.store()
			}
			l.records <- r
			return nil
		})
	}()
	t.Cleanup(func() {
		cancel()
		select {
		case <-l.done:
		case <-time.After(patience):
			t.Error("Capture does not return")
		}
	})
	return l
}

// store tells that all so far is lasting.
func (l *listening) store() {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, stored := range l.owed {
		stored()
	}
	l.owed = nil
}

// next is the next record, as channel and payload, and note.
func (l *listening) next() string {
	l.t.Helper()
	select {
	case r := <-l.records:
		text := r.Channel + " " + string(r.Payload[:min(len(r.Payload), 60)])
		if r.Note != "" {
			text += " (" + r.Note + ")"
		}
		return text
	case err := <-l.done:
		l.done <- err
		l.t.Fatalf("Capture ended: %v", err)
	case <-time.After(patience):
		l.t.Fatal("no record came")
	}
	return ""
}

func (l *listening) expect(want ...string) {
	l.t.Helper()
	for _, w := range want {
		if got := l.next(); got != w {
			l.t.Errorf("got %q, want %q", got, w)
		}
	}
}

// end is how Capture ends.
func (l *listening) end() error {
	l.t.Helper()
	select {
	case err := <-l.done:
		l.done <- err
		return err
	case <-time.After(patience):
		l.t.Fatal("Capture does not end")
	}
	return nil
}

// says holds an error to words it must have and to words it must not.
func says(t *testing.T, err error, not string, words ...string) {
	t.Helper()
	if err == nil {
		t.Errorf("no error; want %q", words)
		return
	}
	if slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(err.Error(), w) }) || not != "" && strings.Contains(err.Error(), not) {
		t.Errorf("error is %q; want %q, and not %q", err, words, not)
	}
}

// raw is a broker of bytes: it takes one connection at a time and does what it is told with it.
func raw(t *testing.T, serve func(net.Conn)) string {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	all.Go(func() {
		for {
			conn, err := ln.Accept()
			if err != nil {
				return
			}
			all.Go(func() {
				defer conn.Close()
				serve(conn)
			})
		}
	})
	t.Cleanup(func() { ln.Close(); all.Wait() })
	return ln.Addr().String()
}

// accept answers CONNECT and SUBSCRIBE of one filter as a broker does.
func accept(conn net.Conn) error {
	for _, answer := range [][]byte{{typeConnack << 4, 2, 0, 0}, {typeSuback << 4, 3, 0, 1, 1}} {
		var head [2]byte
		if _, err := io.ReadFull(conn, head[:]); err != nil {
			return err
		}
		body := make([]byte, head[1]) // of a short packet: one byte of length
		if _, err := io.ReadFull(conn, body); err != nil {
			return err
		}
		if head[0]>>4 == 8 { // SUBSCRIBE: the answer has its identifier
			copy(answer[2:4], body)
		}
		if _, err := conn.Write(answer); err != nil {
			return err
		}
	}
	return nil
}
