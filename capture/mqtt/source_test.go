package mqtt

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/packets"

	"tundish/capture"
	"tundish/capture/capturetest"
)

func TestSource(t *testing.T) {
	capturetest.TestSource(t, func(t *testing.T) capturetest.Rig {
		b := newBroker(t, nil)
		clock := capture.StartClock()
		return capturetest.Rig{
			Source: New(b.config("house/flow"), clock), Clock: clock, Name: "broker", Device: b.address,
			Good:       func(i int) []byte { return fmt.Append(nil, 20+i) },
			Garbage:    [][]byte{{0}, []byte("\xff\xfe"), []byte("no such thing\r\n"), []byte(`{"t": `), bytes.Repeat([]byte("["), 1000)},
			Feed:       func(t testing.TB, payload []byte) { b.publish(t, "house/flow", payload, false) },
			Lose:       func(t testing.TB) { b.server.Close() },
			Restore:    func(t testing.TB) { b.open(t) },
			MaxPayload: PayloadLimit,
		}
	})
}

// TestAcknowledgedWhenLasting: the broker holds a message until its record is lasting, and the listener publishes nothing.
func TestAcknowledgedWhenLasting(t *testing.T) {
	b := newBroker(t, nil)
	l := listen(t, New(b.config("house/+"), capture.StartClock()), true)
	for i := range 30 {
		b.publish(t, "house/flow", fmt.Append(nil, i), false)
	}
	for i := range 30 {
		l.expect(fmt.Sprint("house/flow ", i))
	}
	if n := b.unacknowledged(clientID); n != 30 || b.seen.sent(packets.Puback) > 0 {
		t.Errorf("the broker holds %d, %d were acknowledged before they were lasting", n, b.seen.sent(packets.Puback))
	}
	l.store()
	eventually(t, "all are acknowledged", func() bool { return b.unacknowledged(clientID) == 0 })
	l.stop()
	if err := l.end(); err != nil {
		t.Error(err)
	}
	if n := b.seen.sent(packets.Publish); n > 0 {
		t.Errorf("%d messages were published", n)
	}
	eventually(t, "it said goodbye", func() bool { return b.seen.sent(packets.Disconnect) == 1 })
}

// TestSentAgain: what was taken but not acknowledged comes again over the next connection. Within the run it makes no
// second record; after a crash it is marked.
func TestSentAgain(t *testing.T) {
	b := newBroker(t, nil)
	s := New(b.config("house/+"), capture.StartClock())
	l := listen(t, s, true)
	b.publish(t, "house/flow", []byte("20"), false)
	l.expect("house/flow 20")
	c, _ := b.server.Clients.Get(clientID)
	c.Stop(errors.New("the cable was pulled"))
	says(t, l.end(), "", b.address)

	again := listen(t, s, true)
	again.expect("  (" + capture.Reached + ")") // though no message has come yet
	time.Sleep(Settle + Idle)                   // what waited would have come: the next one is of now
	b.put(t, "house/flow", []byte("21"), false)
	again.expect("house/flow 21")
	if n := b.unacknowledged(clientID); n != 2 {
		t.Errorf("the broker holds %d", n)
	}
	l.store() // of the first connection: the receipt goes over the second
	eventually(t, "the first is acknowledged", func() bool { return b.unacknowledged(clientID) == 1 })

	// Another run, which knows nothing of it: 21 was never lasting.
	c, _ = b.server.Clients.Get(clientID)
	c.Stop(errors.New("the cable was pulled"))
	_ = again.end()
	other := listen(t, New(b.config("house/+"), capture.StartClock()), false)
	other.expect("house/flow#resent 21")
	eventually(t, "all are acknowledged", func() bool { return b.unacknowledged(clientID) == 0 })
}

// TestWaited: what was sent while the logger was away comes marked, and what is sent after that does not. A retained
// message is marked and opens nothing.
func TestWaited(t *testing.T) {
	b := newBroker(t, nil)
	l := listen(t, New(b.config("house/+"), capture.StartClock()), false)
	b.publish(t, "house/flow", []byte("20"), false)
	l.expect("house/flow 20")
	l.stop()
	if err := l.end(); err != nil {
		t.Fatal(err)
	}
	eventually(t, "it is gone", func() bool { return !b.connected(clientID) })
	b.put(t, "house/mode", []byte("ON"), true)
	for i := range 5 {
		b.put(t, "house/flow", fmt.Append(nil, 30+i), false)
	}
	l = listen(t, New(b.config("house/+"), capture.StartClock()), false)
	got := map[string]int{}
	for range 7 {
		got[l.next()]++
	}
	// This broker has the retained one both in its queue and, at the subscription, as the topic's last word. It sets DUP
	// on what it could not send at all.
	marked := 0
	for text, n := range got {
		if strings.Contains(text, "#resent") || strings.Contains(text, "#waited") || text == "house/mode#retained ON" {
			marked += n
		}
	}
	if marked != 7 {
		t.Errorf("got %v", got)
	}
	time.Sleep(Settle + Idle)
	b.put(t, "house/flow", []byte("40"), false)
	l.expect("house/flow 40")
}

// TestRefused: what the broker says no to is said in words, without the password.
func TestRefused(t *testing.T) {
	const secret = "correct-horse"
	b := newBroker(t, func(b *broker) {
		b.ledger = &auth.Ledger{Users: auth.Users{
			"logger": {Username: "logger", Password: secret, ACL: auth.Filters{"house/#": auth.ReadOnly, "other/#": auth.Deny}},
		}}
	})
	try := func(topic string, login func() (string, string, error)) error {
		cfg := b.config(topic)
		cfg.Login = login
		l := listen(t, New(cfg, capture.StartClock()), false)
		return l.end()
	}
	says(t, try("house/#", func() (string, string, error) { return "logger", "wrong-" + secret, nil }), secret, b.address, "user name or password is wrong or missing")
	says(t, try("other/#", func() (string, string, error) { return "logger", secret, nil }), secret, b.address, `refuses the subscription to "other/#"`)
	says(t, try("house/#", func() (string, string, error) { return "", "", errors.New("password_env: not set") }), "", "password_env: not set")
	l := listen(t, New(Config{Source: "broker", Address: b.address, ClientID: "another", Topics: []string{"house/#"},
		Login: func() (string, string, error) { return "logger", secret, nil }}, capture.StartClock()), false)
	b.publish(t, "house/flow", []byte("20"), false)
	l.expect("house/flow 20")
}

// TestLongMessages: of a message of a megabyte and of one of sixteen the beginning is kept, and what follows comes whole.
func TestLongMessages(t *testing.T) {
	b := newBroker(t, nil)
	b.server.Options.Capabilities.MaximumPacketSize = 0
	l := listen(t, New(b.config("house/flow"), capture.StartClock()), false)
	note := fmt.Sprintf(" (a message longer than %d bytes: its first %d are kept)", PayloadLimit, PayloadKept)
	for _, n := range []int{PayloadLimit, PayloadLimit + 1, 1 << 20, 16 << 20} {
		b.publish(t, "house/flow", bytes.Repeat([]byte("x"), n), false)
		want := "house/flow " + strings.Repeat("x", 60)
		if n > PayloadLimit {
			want += note
		}
		l.expect(want)
	}
	b.publish(t, "house/flow", []byte("20"), false)
	l.expect("house/flow 20")
	eventually(t, "all are acknowledged", func() bool { return b.unacknowledged(clientID) == 0 })
}

// TestManyTopics: topics by the thousand make no channels by the thousand, and none is lost.
func TestManyTopics(t *testing.T) {
	b := newBroker(t, nil)
	l := listen(t, New(b.config("#"), capture.StartClock()), false)
	const extra = 500
	for i := range TopicsMost + extra {
		b.publish(t, fmt.Sprintf("t/%d", i), fmt.Append(nil, i), false)
	}
	channels := map[string]bool{}
	for i := range TopicsMost + extra {
		r := <-l.records
		want := fmt.Sprint(i)
		if i >= TopicsMost {
			want = fmt.Sprintf("t/%d %d", i, i)
		}
		if string(r.Payload) != want || (r.Note == "") != (i < TopicsMost) {
			t.Fatalf("record %d is %q %q %q", i, r.Channel, r.Payload, r.Note)
		}
		channels[r.Channel] = true
	}
	if len(channels) != TopicsMost+1 {
		t.Errorf("%d channels", len(channels))
	}
	long := "t/" + strings.Repeat("x", TopicLimit)
	b.publish(t, long, []byte("20"), false)
	if r := <-l.records; r.Channel != "" || string(r.Payload) != long+" 20" || r.Note == "" {
		t.Errorf("a long topic is %q %q", r.Channel, r.Note)
	}
}

// TestBurst: far more than may be held, while nothing is lasting: the source stops reading, memory stays bounded, and all
// comes in order.
func TestBurst(t *testing.T) {
	b := newBroker(t, nil)
	l := listen(t, New(b.config("house/flow"), capture.StartClock()), true)
	const n = 400
	payload := bytes.Repeat([]byte("x"), PayloadLimit-8)
	sent := make(chan struct{})
	go func() {
		defer close(sent)
		for i := range n {
			b.publish(t, "house/flow", append(fmt.Appendf(nil, "%8d", i), payload...), false)
		}
	}()
	most := MemoryMost/PayloadLimit + 1
	got := 0
	check := func(r capture.Record) {
		if want := fmt.Sprintf("%8d", got); string(r.Payload[:8]) != want || len(r.Payload) != PayloadLimit {
			t.Fatalf("record %d is %q", got, r.Payload[:8])
		}
		got++
	}
	for got < most-1 {
		check(<-l.records)
	}
	time.Sleep(200 * time.Millisecond) // nothing is to come: the broker itself is held up by now
	if waiting := len(l.records) + got; waiting > most {
		t.Errorf("%d messages are held, at most %d may be", waiting, most)
	}
	for got < n {
		select {
		case r := <-l.records:
			check(r)
		case err := <-l.done:
			l.done <- err
			t.Fatalf("ended after %d: %v", got, err)
		case <-time.After(5 * time.Millisecond):
			l.store()
		}
	}
	<-sent
	l.store()
	eventually(t, "all are acknowledged", func() bool { return b.unacknowledged(clientID) == 0 })
}

// TestHostileBroker: packets that no broker sends to a listener end the connection with words, not the program.
func TestHostileBroker(t *testing.T) {
	for name, bytes := range map[string][]byte{
		"more codes than filters":    {typeSuback << 4, 5, 0, 1, 1, 1, 1},
		"a receipt":                  {4 << 4, 2, 0, 1},
		"a topic longer than all":    {typePublish << 4, 4, 0, 200, 'a', 'b'},
		"QoS 3":                      {typePublish<<4 | 6, 5, 0, 1, 'a', 0, 1},
		"a length of five bytes":     {typePublish << 4, 0xff, 0xff, 0xff, 0xff, 1},
		"a connect":                  {1 << 4, 0},
		"a message of nothing":       {typePublish << 4, 0},
		"another greeting, too long": {typeConnack << 4, 3, 0, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			address := raw(t, func(conn net.Conn) {
				if accept(conn) == nil {
					_, _ = conn.Write(bytes)
					_, _ = io.Copy(io.Discard, conn)
				}
			})
			l := listen(t, New(Config{Source: "broker", Address: address, ClientID: clientID, Topics: []string{"#"}}, capture.StartClock()), false)
			says(t, l.end(), "", address, "does not keep to MQTT 3.1.1")
		})
	}
	t.Run("another protocol", func(t *testing.T) {
		address := raw(t, func(conn net.Conn) { _, _ = conn.Write([]byte("HTTP/1.1 400 Bad Request\r\n\r\n")) })
		l := listen(t, New(Config{Source: "broker", Address: address, ClientID: clientID, Topics: []string{"#"}}, capture.StartClock()), false)
		says(t, l.end(), "", address)
	})
	t.Run("silence", func(t *testing.T) {
		address := raw(t, func(conn net.Conn) { _, _ = io.Copy(io.Discard, conn) })
		l := listen(t, New(Config{Source: "broker", Address: address, ClientID: clientID, Topics: []string{"#"}}, capture.StartClock()), false)
		time.Sleep(50 * time.Millisecond) // in the middle of connecting
		l.stop()
		begun := time.Now()
		if err := l.end(); err != nil || time.Since(begun) > capturetest.Prompt {
			t.Errorf("ended after %v with %v", time.Since(begun), err)
		}
	})
}

// TestQueueBeforeAnswer: a broker sends what waited before it answers SUBSCRIBE, and more than fits between connection
// and source. All of it comes.
func TestQueueBeforeAnswer(t *testing.T) {
	b := newBroker(t, nil)
	l := listen(t, New(b.config("house/+"), capture.StartClock()), false)
	b.publish(t, "house/flow", []byte("20"), false)
	l.expect("house/flow 20")
	l.stop()
	if err := l.end(); err != nil {
		t.Fatal(err)
	}
	eventually(t, "it is gone", func() bool { return !b.connected(clientID) })
	const n = 10 * inboxLength
	for i := range n {
		b.put(t, "house/flow", fmt.Append(nil, i), false)
	}
	l = listen(t, New(b.config("house/+"), capture.StartClock()), false)
	got := map[string]bool{}
	for range n {
		_, value, _ := strings.Cut(l.next(), " ")
		got[value] = true
	}
	if len(got) != n {
		t.Errorf("%d messages of %d", len(got), n)
	}
}

// TestReachedByALongMessage: a message of which a part alone is kept is no sign to the recorder that the broker is back;
// that it was reached is told all the same.
func TestReachedByALongMessage(t *testing.T) {
	b := newBroker(t, nil)
	b.server.Options.Capabilities.MaximumPacketSize = 0
	s := New(b.config("house/flow"), capture.StartClock())
	l := listen(t, s, false)
	b.publish(t, "house/flow", []byte("20"), false)
	l.expect("house/flow 20")
	c, _ := b.server.Clients.Get(clientID)
	c.Stop(errors.New("the cable was pulled"))
	says(t, l.end(), "", b.address)
	eventually(t, "it is gone", func() bool { return !b.connected(clientID) })
	b.put(t, "house/flow", bytes.Repeat([]byte("x"), PayloadLimit+1), false)

	l = listen(t, s, false)
	got := l.next() + "\n" + l.next()
	for _, want := range []string{"its first 1024 are kept", "(" + capture.Reached + ")"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not told: %.200s", want, got)
		}
	}
}
