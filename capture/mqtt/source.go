// Package mqtt takes messages from a broker (MQTT 3.1.1), one record a message.
//
//	topic     house/boiler/flow        channel  house/boiler/flow
//	message   61.5                     payload  61.5, untouched
//	RETAIN 1                           channel  house/boiler/flow#retained   age unknown
//	DUP 1                              channel  house/boiler/flow#resent     sent before, perhaps taken before
//	waited while the logger was away   channel  house/boiler/flow#waited     age unknown, no older than the outage
//
// It only listens: CONNECT, SUBSCRIBE, PUBACK, PINGREQ and DISCONNECT are all that it sends, never a PUBLISH.
//
// # Nothing acknowledged is lost
//
// The subscriptions are of QoS 1 and the session is a kept one with a fixed client identifier, so that the broker keeps
// for the logger what is sent while it is away. A message is acknowledged when its record is lasting
// ([capture.Record.Stored]) and not before. What the broker sends again within a run, and is known, makes no second
// record; after a crash of the logger the capture may hold a message twice, the second one marked as resent.
//
// The broker does not say which messages waited. With a kept session all are marked as waiting until one comes by
// itself: [Idle] after the one before and [Settle] after the latest acknowledgement, at which a broker with a queue
// would have sent the next at once.
//
// # Bounds
//
// A payload longer than [PayloadLimit] is a record with a note and its first [PayloadKept] bytes; its packet is never in
// memory as a whole. Topics beyond the first [TopicsMost], or longer than [TopicLimit], come without a channel, with a
// note, their payload behind the topic and a space. Of what is not yet lasting at most [MemoryMost] is held; then nothing
// more is read until the recorder has caught up, and the broker keeps it meanwhile.
//
// # When the broker is lost
//
// Capture ends with an error that names it and says what happened; the recorder calls it again, at the longest 30 s
// later. The client library's own reconnecting is not used: it would hide the outage from the record.
package mqtt

import (
	"context"
	"crypto/tls"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tundish/capture"
)

const (
	// PayloadLimit is the longest payload kept whole, in bytes. Own choice: a sensor's message has some hundred.
	PayloadLimit = 64 << 10
	// PayloadKept is how much is kept of a longer one.
	PayloadKept = 1 << 10
	// TopicLimit is the longest topic that becomes a channel, in bytes. Own choice.
	TopicLimit = 256
	// TopicsMost is how many topics become channels. Own choice: ten times what a home with a sensor in each room has.
	TopicsMost = 1000
	// MemoryMost is how much may be held that is not yet lasting, in bytes.
	MemoryMost = 8 << 20
	// overhead is what a message takes beside its payload, about.
	overhead = 512
	// Settle is how long after an acknowledgement a broker with a queue has surely sent the next message. Own choice:
	// several times the way to a broker in another country.
	Settle = 250 * time.Millisecond
	// Idle is the pause before a message that comes by itself. Own choice: messages of a queue follow within
	// milliseconds.
	Idle = 100 * time.Millisecond
	// StopWait is how long a source that is stopped waits for its last records to be lasting, so that they can be
	// acknowledged.
	StopWait = 500 * time.Millisecond
	// ConnectTimeout is for reaching the broker and its first answer.
	ConnectTimeout = 10 * time.Second
	// KeepAlive is the interval of the client's signs of life; PingTimeout is for the answer.
	KeepAlive   = 30 * time.Second
	PingTimeout = 10 * time.Second
)

// Config says which broker to listen to.
type Config struct {
	Source   string      // the source's name in the job sheet
	Address  string      // host:port
	TLS      *tls.Config // nil: plain TCP. The broker's certificate is always verified, for the host of Address
	ClientID string      // fixed, and of this logger alone
	Topics   []string    // topic filters
	// Brief asks the broker to keep nothing for this client when it is gone: a look, and no record. ClientID must not be
	// that of a logger then, whose kept session it would end.
	Brief bool
	// Login gives user and password, asked at each connection; nil: none. Its error must not hold them.
	Login func() (user, password string, err error)
}

// Source is the [capture.Source] of one broker.
type Source struct {
	cfg    Config
	clock  capture.Clock
	ledger ledger
	topics map[string]bool // that became channels
	last   time.Duration   // At of the latest record
	away   bool            // the broker was lost, and is not known to be reached again
}

// New makes a source; nothing is connected before Capture.
func New(cfg Config, clock capture.Clock) *Source {
	s := &Source{cfg: cfg, clock: clock, topics: map[string]bool{}}
	s.ledger.init()
	return s
}

// Capture connects and emits a record a message until ctx is cancelled (nil), the broker refuses or is lost (an error
// that names it), or emit fails. The connection is closed when Capture returns.
func (s *Source) Capture(ctx context.Context, emit func(capture.Record) error) error {
	if ctx.Err() != nil {
		return nil
	}
	c, err := s.connect(ctx)
	if err != nil {
		return s.lost(ctx, err)
	}
	defer c.close()
	ready := c.ready
	for {
		inbox := c.inbox
		if !s.ledger.room() { // the inbox fills, then the connection: the broker keeps the rest
			inbox = nil
		}
		select {
		case m := <-inbox:
			if err := s.take(c, m, emit); err != nil {
				return err
			}
		case <-s.ledger.changed:
		case <-ready:
			ready = nil
			if err := s.reached(emit); err != nil {
				return err
			}
		case <-ctx.Done():
			return s.stop()
		case err := <-c.lost:
			return s.lost(ctx, err)
		}
	}
}

// lost names the broker, unless it was given up.
func (s *Source) lost(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return nil
	}
	s.away = true
	return fmt.Errorf("broker %s: %w", s.cfg.Address, err)
}

// reached tells, after an outage, that the broker has taken the subscriptions: messages may be hours away.
func (s *Source) reached(emit func(capture.Record) error) error {
	if !s.away {
		return nil
	}
	s.away = false
	s.last = max(s.last, s.clock.Now().Truncate(time.Microsecond))
	return emit(capture.Record{Source: s.cfg.Source, At: s.last, Note: capture.Reached})
}

// stop waits a moment for what was emitted to be lasting and acknowledged.
func (s *Source) stop() error {
	limit := time.NewTimer(StopWait)
	defer limit.Stop()
	for !s.ledger.settled() {
		select {
		case <-s.ledger.changed:
		case <-limit.C:
			return nil
		}
	}
	return nil
}

// take makes a record of a message, unless it is one that is known.
func (s *Source) take(c *session, m message, emit func(capture.Record) error) error {
	e, known := s.ledger.enter(m)
	if known {
		return nil
	}
	s.last = max(s.last, m.at) // a new session's clock reading is never behind, an old message's may be
	rec := capture.Record{Source: s.cfg.Source, At: s.last, Channel: m.Topic(), Payload: m.Payload(), Stored: func() { s.ledger.stored(e) }}
	switch {
	case len(rec.Payload) > PayloadLimit:
		rec.Payload = rec.Payload[:PayloadKept]
		rec.Note = fmt.Sprintf("a message longer than %d bytes: its first %d are kept", PayloadLimit, PayloadKept)
	case m.Retained():
		// A retained message says nothing of whether others waited.
	case m.Qos() > 0 && c.backlog && m.settled && !m.Duplicate():
		c.backlog = false
	}
	if !s.channel(rec.Channel) {
		rec.Payload = append([]byte(rec.Channel+" "), rec.Payload...)
		rec.Channel = ""
		rec.Note = fmt.Sprintf("a topic longer than %d bytes or beyond the first %d: narrow the job sheet's topics", TopicLimit, TopicsMost)
		return emit(rec)
	}
	if rec.Note == "" { // the recorder knows by it
		s.away = false
	}
	switch {
	case m.Retained():
		rec.Channel += capture.Retained
	case m.Duplicate():
		rec.Channel += capture.Resent
	case c.backlog && m.Qos() > 0:
		rec.Channel += capture.Waited
	}
	return emit(rec)
}

// channel tells whether a topic is one of those that become channels. One that holds no plain text does not.
func (s *Source) channel(topic string) bool {
	if s.topics[topic] {
		return true
	}
	if len(s.topics) >= TopicsMost || len(topic) > TopicLimit || topic == "" || strings.ContainsRune(topic, '#') ||
		!utf8.ValidString(topic) || strings.ContainsFunc(topic, unicode.IsControl) {
		return false
	}
	s.topics[strings.Clone(topic)] = true
	return true
}
