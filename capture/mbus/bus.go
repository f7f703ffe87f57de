package mbus

import (
	"bytes"
	"context"
	"errors"
	"time"

	"tundish/capture"
)

// bus is one call of Capture: the line while it is open.
type bus struct {
	*Source
	ctx    context.Context
	line   *line
	emit   func(capture.Record) error
	failed error // emit's

	buf    [4 * longestFrame]byte
	n      int           // bytes in buf
	looked int           // bytes of them at which no answer begins
	heard  time.Duration // when the last of them came
	quiet  time.Duration // when the line was last known to carry a byte, in or out
}

// piece is the most bytes of noise in one record.
const piece = 2 * longestFrame

// errEnd ends a read when emit has failed; the cause is in bus.failed.
var errEnd = errors.New("emit failed")

// run reads meters by their turns until something ends it.
func (b *bus) run() error {
	for {
		m := b.next()
		if err := b.rest(m.due); err != nil {
			return err
		}
		m.due = b.clock.Now() + b.cfg.Interval // from here on it counts as read, whatever comes of it
		if err := b.turn(m); err != nil {
			return err
		}
	}
}

// rest listens until a time has come: what nobody asked for is noted, and a lost port noticed.
func (b *bus) rest(until time.Duration) error {
	for {
		left := until - b.clock.Now()
		if left <= 0 {
			return b.settle()
		}
		if err := b.hear(left); err != nil {
			return err
		}
		if b.n > 0 && b.clock.Now()-b.heard > b.gap() {
			if err := b.noise("", b.n, "bytes that nobody asked for"); err != nil {
				return err
			}
		}
	}
}

// settle waits until the line has been silent as long as must be between telegrams.
func (b *bus) settle() error {
	begun := b.clock.Now()
	for {
		left := max(b.heard, b.quiet) + bitsBetween*b.bit() - b.clock.Now()
		if left <= 0 || b.clock.Now()-begun > b.patience() {
			return b.noise("", b.n, "bytes that nobody asked for")
		}
		if err := b.hear(left); err != nil {
			return err
		}
	}
}

// patience is how long a line may go on without a silence: two of the longest frames.
func (b *bus) patience() time.Duration {
	return 2*longestFrame*bitsAChar*b.bit() + b.spare + time.Second
}

// gap is the silence that ends a telegram.
func (b *bus) gap() time.Duration { return bitsBetween*b.bit() + gapSpare }

// hear takes what comes within d into the buffer. When it is full, the older half goes out as noise.
func (b *bus) hear(d time.Duration) error {
	if err := b.ctx.Err(); err != nil {
		return err
	}
	if b.n == len(b.buf) {
		if err := b.noise("", piece, "bytes that nobody asked for"); err != nil {
			return err
		}
	}
	n, err := b.line.receive(b.buf[b.n:], d)
	if errors.Is(err, errQuiet) {
		return nil
	}
	if err != nil {
		return errors.Join(err, b.noise("", b.n, "half a telegram: the port was lost"))
	}
	b.n += n
	b.heard = b.now()
	return nil
}

// noise gives the first n bytes of the buffer out with a note, in pieces, and takes them from it.
func (b *bus) noise(channel string, n int, note string) error {
	for n > 0 {
		k := min(n, piece)
		if err := b.put(channel, b.buf[:k], b.heard, note, 0); err != nil {
			return err
		}
		b.drop(k)
		n -= k
	}
	return nil
}

// drop takes bytes from the front of the buffer.
func (b *bus) drop(k int) {
	b.n = copy(b.buf[:], b.buf[k:b.n])
	b.looked = max(0, b.looked-k)
}

// put emits a record.
func (b *bus) put(channel string, payload []byte, at time.Duration, note string, sweep uint32) error {
	at = max(at, b.last)
	b.last = at
	r := capture.Record{At: at, Source: b.cfg.Source, Channel: channel, Sweep: sweep, Payload: bytes.Clone(payload), Note: note}
	if b.failed = b.emit(r); b.failed != nil {
		return errEnd
	}
	return nil
}

// answer is what came to a request.
type answer uint8

const (
	nothing  answer = iota
	ack             // a single E5
	telegram        // a sound long frame; it is at the front of the buffer
	damaged         // bytes that are neither: noted
)

// exchange sends a request and takes what comes. n is the length of a telegram.
func (b *bus) exchange(channel string, r request) (a answer, n int, err error) {
	if err := b.settle(); err != nil {
		return nothing, 0, err
	}
	if err := b.line.send(r); err != nil {
		return nothing, 0, err
	}
	sent := b.clock.Now()
	b.looked = 0
	b.quiet = sent + time.Duration(r.n)*bitsAChar*b.bit() // the driver returns before the bytes are out
	first := b.quiet + bitsAnswer*b.bit() + answerFixed + b.spare
	end := first + b.patience()
	echo := r.bytes()
	for {
		now := b.clock.Now()
		if len(echo) > 0 && b.n >= len(echo) && bytes.Equal(b.buf[:len(echo)], echo) {
			b.drop(len(echo)) // many level converters send back what they are sent
			echo = nil
		}
		from, to, later := find(b.buf[:b.n], b.looked)
		b.looked = later
		switch {
		case to > 0:
			if err := b.noise(channel, from, "noise ahead of an answer"); err != nil {
				return nothing, 0, err
			}
			return telegram, to - from, nil
		case b.n == 0 && now > first:
			return nothing, 0, nil
		case b.n > 0 && now-max(b.heard, b.quiet) > b.gap() || now > end:
			if b.n == 1 && b.buf[0] == ackByte {
				b.n = 0
				return ack, 0, nil
			}
			return damaged, 0, b.noise(channel, b.n, b.wrong(r))
		}
		wait := first - now
		if b.n > 0 {
			wait = max(b.heard, b.quiet) + b.gap() - now
		}
		if err := b.hear(max(wait, 0) + time.Millisecond); err != nil {
			return nothing, 0, err
		}
	}
}

// wrong says what a damaged answer looks like.
func (b *bus) wrong(r request) string {
	switch n := span(b.buf[:b.n]); {
	case r.frame[0] == longStart || r.frame[2] == selected:
		return "damaged answer to " + r.what + ": more than one meter may have answered"
	case n > b.n:
		return "damaged answer to " + r.what + ": it breaks off"
	case n == b.n:
		return "damaged answer to " + r.what + ": the checksum is wrong"
	}
	return "damaged answer to " + r.what
}
