package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"

	"tundish/capture/capfile"
)

// mosquitto is Debian's broker, which keeps its queues over a kill as far as it can: it saves them a second after a
// change. It is run by a test and can be killed and started again.
type mosquitto struct {
	t       *testing.T
	dir     string
	address string
	more    string // of its configuration
	cmd     *exec.Cmd
}

func newMosquitto(t *testing.T, more string) *mosquitto {
	t.Helper()
	m := &mosquitto{t: t, dir: t.TempDir(), address: freeAddress(t), more: more}
	m.start()
	t.Cleanup(m.kill)
	return m
}

// freeAddress is an address at which nobody listens, as far as can be said.
func freeAddress(t *testing.T) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

func (m *mosquitto) start() {
	m.t.Helper()
	me, err := user.Current()
	if err != nil {
		m.t.Fatal(err)
	}
	_, port, _ := net.SplitHostPort(m.address)
	config := filepath.Join(m.dir, "mosquitto.conf")
	text := fmt.Sprintf("user %s\nlistener %s 127.0.0.1\npersistence true\npersistence_location %s/\nautosave_on_changes true\n"+
		"autosave_interval 1\nmax_queued_messages 0\n%s\n", me.Username, port, m.dir, m.more)
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		m.t.Fatal(err)
	}
	program, err := exec.LookPath("mosquitto")
	if err != nil {
		program = "/usr/sbin/mosquitto" // Debian puts it where a user's path does not lead
	}
	m.cmd = exec.Command(program, "-c", config)
	log, err := os.OpenFile(filepath.Join(m.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		m.t.Fatal(err)
	}
	defer log.Close()
	m.cmd.Stderr = log
	if err := m.cmd.Start(); err != nil {
		m.t.Fatalf("%v: is Debian's mosquitto installed?", err)
	}
	await(m.t, "the broker listens", func() bool {
		c, err := net.Dial("tcp", m.address)
		if err == nil {
			c.Close()
		}
		return err == nil
	})
}

// kill is SIGKILL: nothing is saved that was not saved before.
func (m *mosquitto) kill() {
	_ = m.cmd.Process.Kill()
	_ = m.cmd.Wait()
}

// await waits for what must come.
func await(t *testing.T, what string, done func() bool) {
	t.Helper()
	for end := time.Now().Add(30 * time.Second); !done(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("never: %s", what)
		}
	}
}

// between stands between the logger and the broker, and can swallow the logger's receipts.
type between struct {
	address    string
	broker     string
	swallow    atomic.Bool
	receipts   atomic.Int64 // that were let through
	subscribed atomic.Int64
	others     atomic.Int64 // PUBLISH packets from the logger: there must be none
}

func newBetween(t *testing.T, broker string) *between {
	b := &between{broker: broker}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	b.address = l.Addr().String()
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go b.serve(c)
		}
	}()
	return b
}

func (b *between) serve(logger net.Conn) {
	defer logger.Close()
	broker, err := net.Dial("tcp", b.broker)
	if err != nil {
		return
	}
	defer broker.Close()
	go func() {
		_, _ = io.Copy(logger, broker)
		logger.Close()
		broker.Close()
	}()
	for {
		packet, err := onePacket(logger)
		if err != nil {
			return
		}
		if packet[0]>>4 == 4 && b.swallow.Load() { // PUBACK
			continue
		}
		if _, err := broker.Write(packet); err != nil {
			return
		}
		switch packet[0] >> 4 { // MQTT 3.1.1, 2.2.1
		case 3:
			b.others.Add(1)
		case 8:
			b.subscribed.Add(1)
		case 4:
			b.receipts.Add(1)
		}
	}
}

// onePacket reads a packet (MQTT 3.1.1, 2.2).
func onePacket(r io.Reader) ([]byte, error) {
	packet := make([]byte, 1, 256)
	if _, err := io.ReadFull(r, packet); err != nil {
		return nil, err
	}
	n := 0
	for shift := 0; ; shift += 7 {
		var b [1]byte
		if _, err := io.ReadFull(r, b[:]); err != nil {
			return nil, err
		}
		packet = append(packet, b[0])
		n |= int(b[0]&0x7f) << shift
		if b[0] < 0x80 {
			break
		}
		if shift > 21 {
			return nil, errors.New("no packet")
		}
	}
	body := make([]byte, n)
	_, err := io.ReadFull(r, body)
	return append(packet, body...), err
}

// publisher sends numbered temperatures, each with the time of sending, and remembers what the broker acknowledged.
type publisher struct {
	t      *testing.T
	client paho.Client
	sent   map[string]string // value by time, as the export writes them
	n      int
}

func newPublisher(t *testing.T, address string) *publisher {
	o := paho.NewClientOptions().AddBroker("tcp://" + address).SetClientID("sensor").SetCleanSession(false).
		SetMaxReconnectInterval(200 * time.Millisecond).SetConnectRetry(true).SetConnectRetryInterval(100 * time.Millisecond)
	p := &publisher{t: t, client: paho.NewClient(o), sent: map[string]string{}}
	if tok := p.client.Connect(); !tok.WaitTimeout(20*time.Second) || tok.Error() != nil {
		t.Fatalf("the sensor does not reach the broker: %v", tok.Error())
	}
	t.Cleanup(func() { p.client.Disconnect(0) })
	return p
}

func (p *publisher) send(n int) {
	p.t.Helper()
	for range n {
		p.n++
		at := time.Now().UTC().Truncate(time.Millisecond)
		value := strconv.FormatFloat(20+float64(p.n)/100, 'f', -1, 64)
		text := fmt.Sprintf(`{"t": %s, "ms": %d}`, value, at.UnixMilli())
		if tok := p.client.Publish("house/flow", 1, false, text); !tok.WaitTimeout(20*time.Second) || tok.Error() != nil {
			p.t.Fatalf("message %d is not acknowledged: %v", p.n, tok.Error())
		}
		p.sent[at.Format(time.RFC3339Nano)] = value
		time.Sleep(5 * time.Millisecond)
	}
}

// logger is tundish record as a process of its own.
type logger struct {
	t        *testing.T
	dir, job string
	cmd      *exec.Cmd
}

func newLogger(t *testing.T, sheet string) *logger {
	t.Helper()
	l := &logger{t: t, dir: t.TempDir()}
	l.job = filepath.Join(l.dir, "job.toml")
	if err := os.WriteFile(l.job, []byte(sheet), 0o600); err != nil {
		t.Fatal(err)
	}
	// The test's own program is tundish where it is called so.
	if err := os.Symlink(os.Args[0], filepath.Join(l.dir, "tundish")); err != nil {
		t.Fatal(err)
	}
	return l
}

func (l *logger) command(args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(l.dir, "tundish"), args...)
	cmd.Dir = l.dir
	return cmd
}

func (l *logger) start(env ...string) {
	l.t.Helper()
	l.cmd = l.command("record", "job.toml")
	l.cmd.Env = append(os.Environ(), env...)
	log, err := os.OpenFile(filepath.Join(l.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		l.t.Fatal(err)
	}
	defer log.Close()
	l.cmd.Stdout, l.cmd.Stderr = log, log
	if err := l.cmd.Start(); err != nil {
		l.t.Fatal(err)
	}
	cmd := l.cmd
	l.t.Cleanup(func() {
		if l.t.Failed() {
			l.t.Log(l.log())
		}
		_ = cmd.Process.Kill()
		_, _ = cmd.Process.Wait()
	})
}

func (l *logger) end(s syscall.Signal) {
	l.t.Helper()
	if err := l.cmd.Process.Signal(s); err != nil {
		l.t.Fatal(err)
	}
	err := l.cmd.Wait()
	if s == syscall.SIGTERM && err != nil {
		l.t.Errorf("stopped: %v\n%s", err, l.log())
	}
}

func (l *logger) log() string {
	b, _ := os.ReadFile(filepath.Join(l.dir, "log"))
	return string(b)
}

// messages counts what is lasting: all, and by mark.
func (l *logger) messages() (all, resent int) {
	r, err := capfile.Open(filepath.Join(l.dir, "job.capture"))
	if err != nil {
		return 0, 0
	}
	defer r.Close()
	for rec, err := range r.Records(l.t.Context(), capfile.Window{}) {
		if err == nil && rec.Note == "" {
			all++
			if strings.HasSuffix(rec.Channel, "#resent") {
				resent++
			}
		}
	}
	return all, resent
}

// output is what a command prints.
func (l *logger) output(args ...string) string {
	l.t.Helper()
	out, err := l.command(args...).CombinedOutput()
	if err != nil {
		l.t.Fatalf("%v: %v\n%s", args, err, out)
	}
	return string(out)
}

// holds compares what can be exported with what the sensor sent: each once, at its time.
func (l *logger) holds(p *publisher) {
	l.t.Helper()
	l.output("verify", "job.capture")
	l.output("export", "job.capture", "-o", "out.csv")
	text, err := os.ReadFile(filepath.Join(l.dir, "out.csv"))
	if err != nil {
		l.t.Fatal(err)
	}
	got := map[string]string{}
	for _, row := range strings.Split(strings.TrimSpace(string(text)), "\n")[1:] {
		cells := strings.Split(row, ",")
		if _, twice := got[cells[0]]; twice || cells[1] != "radio/flow" || cells[4] != "good" {
			l.t.Errorf("row %q", row)
		}
		got[cells[0]] = cells[2]
	}
	for at, value := range p.sent {
		if got[at] != value {
			l.t.Errorf("%s at %s was acknowledged, the capture has %q", value, at, got[at])
		}
	}
	if len(got) != len(p.sent) {
		l.t.Errorf("%d readings of %d messages", len(got), len(p.sent))
	}
}

const radioSheet = `[job]
name = "Mill Row 3"
[[source]]
name = "radio"
kind = "mqtt"
broker = "mqtt://%s"
[[source.topic]]
topic = "house/flow"
point = "flow"
path = "t"
time = "ms"
time_unit = "ms"
`

// TestBrokerKilled: mosquitto is killed in the middle of a stream, while it waits for receipts, and started again.
// Nothing that it had acknowledged is lost, and nothing is read twice.
func TestBrokerKilled(t *testing.T) {
	m := newMosquitto(t, "allow_anonymous true")
	b := newBetween(t, m.address)
	l := newLogger(t, fmt.Sprintf(radioSheet, b.address))
	l.start()
	await(t, "the logger subscribes", func() bool { return b.subscribed.Load() > 0 })
	p := newPublisher(t, m.address)
	p.send(15)
	await(t, "15 are acknowledged", func() bool { return b.receipts.Load() == 15 })
	b.swallow.Store(true)
	p.send(15)
	time.Sleep(2 * time.Second) // the broker saves what it holds
	m.kill()
	b.swallow.Store(false)
	await(t, "the outage is noticed", func() bool { return strings.Contains(l.log(), "source lost") })
	m.start()
	p.send(15)
	await(t, "all are lasting", func() bool { n, _ := l.messages(); return n >= 45 })
	l.end(syscall.SIGTERM)
	l.holds(p)
	n, resent := l.messages()
	t.Logf("%d records of 45 messages, %d marked as sent again", n, resent)
	if b.others.Load() > 0 {
		t.Errorf("the logger published %d messages", b.others.Load())
	}
}

// TestLoggerKilled: the logger is killed after a commit whose messages were not acknowledged yet, and started again.
func TestLoggerKilled(t *testing.T) {
	m := newMosquitto(t, "allow_anonymous true")
	b := newBetween(t, m.address)
	l := newLogger(t, fmt.Sprintf(radioSheet, b.address))
	l.start()
	await(t, "the logger subscribes", func() bool { return b.subscribed.Load() > 0 })
	p := newPublisher(t, m.address)
	p.send(15)
	await(t, "15 are acknowledged", func() bool { return b.receipts.Load() == 15 })
	b.swallow.Store(true)
	p.send(15)
	await(t, "30 are lasting", func() bool { n, _ := l.messages(); return n == 30 })
	l.end(syscall.SIGKILL)
	b.swallow.Store(false)
	p.send(15) // while it is away
	l.start()
	await(t, "all are acknowledged", func() bool { return b.receipts.Load() == 45 })
	l.end(syscall.SIGTERM)
	l.holds(p)
	n, resent := l.messages()
	t.Logf("%d records of 45 messages, %d marked as sent again", n, resent)
	if n != 60 || resent < 15 {
		t.Errorf("%d records, %d marked as sent again; want 60, and 15 or more", n, resent)
	}
	var answer struct{ Coverage map[string]float64 }
	if err := json.Unmarshal([]byte(l.output("analyse", "job.capture", "--json")), &answer); err != nil || len(answer.Coverage) != 1 {
		t.Errorf("analysis: %v, %+v", err, answer)
	}
}
