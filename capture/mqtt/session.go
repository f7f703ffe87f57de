package mqtt

import (
	"bufio"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"net/url"
	"sync"
	"sync/atomic"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
	"github.com/eclipse/paho.mqtt.golang/packets"
)

// inboxLength is how many messages wait between the connection and the source.
const inboxLength = 16

// message is one message as it came.
type message struct {
	paho.Message
	at      time.Duration // when, on the run's clock
	settled bool          // it came by itself: nothing waited at the broker before it
}

// session is one connection to the broker.
type session struct {
	client  paho.Client
	inbox   chan message
	lost    chan error    // has one when the connection is lost
	ready   chan struct{} // closed when the broker has taken the subscriptions
	ended   chan struct{}
	end     func()
	backlog bool // messages that waited may still come
	// acked is when the latest acknowledgement was given or the broker answered CONNECT, on the run's clock, ns.
	acked atomic.Int64
	// hold ends it that the connection is cut at a cancel: from when on the ending is a polite one.
	hold   atomic.Pointer[func() bool]
	free   time.Duration // when the message before was passed on; the library's goroutine has it
	source *Source
}

// connect makes a session. It subscribes in the background: what waited at the broker comes before the broker's answer,
// and has to be taken for it to come at all.
func (s *Source) connect(ctx context.Context) (*session, error) {
	c := &session{inbox: make(chan message, inboxLength), lost: make(chan error, 1), ready: make(chan struct{}), ended: make(chan struct{}), source: s}
	c.end = sync.OnceFunc(func() { close(c.ended) })
	var dialled atomic.Pointer[error] // what the library keeps to itself of a dial or a handshake
	o := paho.NewClientOptions().AddBroker("tcp://" + s.cfg.Address).SetClientID(s.cfg.ClientID).
		SetProtocolVersion(4).SetCleanSession(s.cfg.Brief).SetOrderMatters(true).SetAutoAckDisabled(true).
		SetAutoReconnect(false).SetConnectRetry(false).SetConnectTimeout(ConnectTimeout).SetWriteTimeout(ConnectTimeout).
		SetKeepAlive(KeepAlive).SetPingTimeout(PingTimeout).
		SetDefaultPublishHandler(c.arrived).
		SetConnectionLostHandler(func(_ paho.Client, err error) { c.fail(lossOf(err)) }).
		SetCustomOpenConnectionFn(func(*url.URL, paho.ClientOptions) (net.Conn, error) {
			conn, err := s.dial(ctx)
			if err != nil {
				dialled.Store(&err)
				return nil, err
			}
			stop := context.AfterFunc(ctx, func() { conn.Close() })
			c.hold.Store(&stop)
			return &guard{Conn: conn, in: bufio.NewReader(conn), filters: len(s.cfg.Topics), connected: c.moved, refused: c.fail}, nil
		})
	if s.cfg.Login != nil {
		user, password, err := s.cfg.Login()
		if err != nil {
			return nil, err
		}
		o.SetUsername(user).SetPassword(password)
	}
	c.client = paho.NewClient(o)
	c.moved()
	go s.ledger.receipts(c.over, c.moved)
	if err := c.begin(ctx, &dialled); err != nil {
		c.close()
		return nil, err
	}
	if stop := c.hold.Load(); stop != nil {
		(*stop)()
	}
	go func() {
		err := c.subscribe(ctx)
		if err == nil {
			close(c.ready)
			return
		}
		select { // where the connection was lost, that is told, and better
		case <-c.ended:
		case <-time.After(subscribeTold):
			c.fail(err)
		}
	}()
	return c, nil
}

// begin connects.
func (c *session) begin(ctx context.Context, dialled *atomic.Pointer[error]) error {
	connecting := c.client.Connect()
	if err := c.await(ctx, connecting); err != nil {
		if d := dialled.Load(); d != nil {
			return *d
		}
		return refusal(err)
	}
	if t, ok := connecting.(*paho.ConnectToken); ok {
		c.backlog = t.SessionPresent()
	}
	return nil
}

// codeInUse is what some brokers answer to a SUBSCRIBE whose packet identifier equals that of a message that they wait to
// have acknowledged (it is of MQTT 5.0, 2.4). The identifiers of the two directions have nothing to do with each other
// (MQTT 3.1.1, 2.3.1); the next one may be free.
const codeInUse = 0x91

// subscribeTries is how many identifiers are tried then. Own choice: more than brokers send ahead of their receipts.
const subscribeTries = 1100

func (c *session) subscribe(ctx context.Context) error {
	filters := map[string]byte{}
	for _, f := range c.source.cfg.Topics {
		filters[f] = 1
	}
	for try := 1; ; try++ {
		subscribing := c.client.SubscribeMultiple(filters, nil)
		if err := c.await(ctx, subscribing); err != nil {
			return fmt.Errorf("subscribing: %w", err)
		}
		refused, code := "", byte(0)
		for filter, qos := range subscribing.(*paho.SubscribeToken).Result() {
			if qos > 2 && (refused == "" || filter < refused) { // MQTT 3.1.1, 3.9.3: 0x80 is a failure
				refused, code = filter, qos
			}
		}
		switch {
		case refused == "":
			return nil
		case code != codeInUse || try == subscribeTries:
			return fmt.Errorf("refuses the subscription to %q: does its list of rights let this user read it?", refused)
		}
	}
}

// await waits for the library.
func (c *session) await(ctx context.Context, t paho.Token) error {
	select {
	case <-t.Done():
		return t.Error()
	case <-c.ended:
		return errors.New("ended")
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(2 * ConnectTimeout):
		return errors.New("no answer")
	}
}

// arrived takes a message from the library. While it waits nothing more is read.
func (c *session) arrived(_ paho.Client, m paho.Message) {
	now := c.source.clock.Now()
	alone := now-time.Duration(c.acked.Load()) >= Settle && now-c.free >= Idle
	select {
	case c.inbox <- message{Message: m, at: now.Truncate(time.Microsecond), settled: alone}:
	case <-c.ended:
	}
	c.free = c.source.clock.Now()
}

// moved is told when the broker has been given a reason to send what waits.
func (c *session) moved() { c.acked.Store(int64(c.source.clock.Now())) }

func (c *session) fail(err error) {
	select {
	case c.lost <- err:
	default:
	}
}

func (c *session) over() bool {
	select {
	case <-c.ended:
		return true
	default:
		return false
	}
}

// close ends the connection, politely where it still stands.
func (c *session) close() {
	c.end()
	c.source.ledger.wake()
	c.client.Disconnect(100)
}

// dial reaches the broker.
func (s *Source) dial(ctx context.Context) (net.Conn, error) {
	ctx, cancel := context.WithTimeout(ctx, ConnectTimeout)
	defer cancel()
	conn, err := (&net.Dialer{KeepAlive: KeepAlive}).DialContext(ctx, "tcp", s.cfg.Address)
	if err != nil || s.cfg.TLS == nil {
		return conn, err
	}
	cfg := s.cfg.TLS.Clone()
	cfg.InsecureSkipVerify = false
	if cfg.ServerName == "" {
		cfg.ServerName, _, _ = net.SplitHostPort(s.cfg.Address)
	}
	secure := tls.Client(conn, cfg)
	if err := secure.HandshakeContext(ctx); err != nil {
		conn.Close()
		return nil, tlsWords(err)
	}
	return secure, nil
}

// subscribeTold is how long a failed subscription waits for the news of a lost connection behind it.
const subscribeTold = 100 * time.Millisecond

// lossOf says why a connection was lost.
func lossOf(err error) error {
	if errors.Is(err, io.EOF) {
		return errors.New("closed the connection: it was stopped, or another client has the same client identifier")
	}
	return fmt.Errorf("the connection is lost: %w", err)
}

// tlsWords says what a failed handshake means.
func tlsWords(err error) error {
	what := "the secure connection (TLS) was not made"
	unknown, isUnknown := errors.AsType[x509.UnknownAuthorityError](err)
	switch {
	case isUnknown && unknown.Cert != nil:
		what = "its certificate is signed by nobody known here; for an authority of one's own give ca = \"FILE\""
	case is[x509.HostnameError](err):
		what = "its certificate is for another name"
	case is[x509.CertificateInvalidError](err):
		what = "its certificate is not valid now; is the clock of this machine right?"
	case is[tls.RecordHeaderError](err):
		what = "it does not speak TLS at this port"
	}
	return fmt.Errorf("%s: %w", what, err)
}

func is[T error](err error) bool {
	_, ok := errors.AsType[T](err)
	return ok
}

// refusal says what a refused connection means (MQTT 3.1.1, 3.2.2.3).
func refusal(err error) error {
	switch {
	case errors.Is(err, packets.ErrorRefusedBadUsernameOrPassword), errors.Is(err, packets.ErrorRefusedNotAuthorised):
		// Which of the two codes is sent for a wrong password differs from broker to broker.
		return errors.New("refuses the connection: user name or password is wrong or missing, or this user may not connect")
	case errors.Is(err, packets.ErrorRefusedIDRejected):
		return errors.New("refuses the client identifier; give another with client_id")
	case errors.Is(err, packets.ErrorRefusedServerUnavailable):
		return errors.New("says that it is not available")
	}
	return fmt.Errorf("no connection: %w", err)
}
