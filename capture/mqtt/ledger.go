package mqtt

import (
	"crypto/sha256"
	"encoding/binary"
	"sync"
)

// knownMost is how many of the latest messages are known again when the broker sends them once more. Own choice: more
// than a broker sends ahead of its receipts.
const knownMost = 4096

// ledger holds what was taken and what is still to be acknowledged. It lives on from one connection to the next, since a
// message that was taken over the last one may come again over this one. It is used from several goroutines.
type ledger struct {
	changed chan struct{} // has a token when something was stored or acknowledged

	mu      sync.Mutex
	known   map[identity]*entry
	order   []*entry // of known, as a ring
	next    int
	held    int        // bytes not yet lasting
	waiting int        // entries not yet lasting
	receipt []*entry   // lasting, to be acknowledged
	ready   *sync.Cond // there is a receipt, or the giver of receipts is to end
	giving  int        // acknowledgements on their way
}

// identity tells a message that is sent again from another: the broker keeps the packet identifier (MQTT 3.1.1, 4.4), and
// topic and payload are compared too, since the numbers come round.
type identity [sha256.Size]byte

// entry is one message that was taken.
type entry struct {
	id      identity
	size    int
	lasting bool
	ack     func() // of the latest delivery; nil: none wanted
}

func (l *ledger) init() {
	l.changed = make(chan struct{}, 1)
	l.known = map[identity]*entry{}
	l.order = make([]*entry, knownMost)
	l.ready = sync.NewCond(&l.mu)
}

func identify(m message) (id identity) {
	h := sha256.New()
	var n [6]byte
	binary.BigEndian.PutUint16(n[:], m.MessageID())
	binary.BigEndian.PutUint32(n[2:], uint32(len(m.Topic())))
	h.Write(n[:])
	h.Write([]byte(m.Topic()))
	h.Write(m.Payload())
	return identity(h.Sum(nil))
}

// enter takes a message down. known says that it was taken before: it is acknowledged when its record is lasting.
func (l *ledger) enter(m message) (e *entry, known bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if m.Qos() == 0 {
		e = &entry{size: len(m.Payload()) + overhead}
		l.held += e.size
		l.waiting++
		return e, false
	}
	id := identify(m)
	if m.Duplicate() {
		if e := l.known[id]; e != nil {
			e.ack = m.Ack
			if e.lasting {
				l.give(e)
			}
			return e, true
		}
	}
	e = &entry{id: id, size: len(m.Payload()) + overhead, ack: m.Ack}
	if old := l.order[l.next]; old != nil && l.known[old.id] == old {
		delete(l.known, old.id)
	}
	l.order[l.next], l.known[id] = e, e
	l.next = (l.next + 1) % knownMost
	l.held += e.size
	l.waiting++
	return e, false
}

// stored is told when a message's record is lasting.
func (l *ledger) stored(e *entry) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if e.lasting {
		return
	}
	e.lasting = true
	l.held -= e.size
	l.waiting--
	l.give(e)
	l.tell()
}

// give puts an entry among those to be acknowledged.
func (l *ledger) give(e *entry) {
	if e.ack != nil {
		l.receipt = append(l.receipt, e)
		l.ready.Signal()
	}
}

func (l *ledger) tell() {
	select {
	case l.changed <- struct{}{}:
	default:
	}
}

// room tells whether more may be taken.
func (l *ledger) room() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.held < MemoryMost
}

// settled tells whether all is lasting and acknowledged.
func (l *ledger) settled() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.waiting == 0 && len(l.receipt) == 0 && l.giving == 0
}

// receipts gives acknowledgements until stop says so. given is called after those that were ready at one time. It has a
// goroutine of its own, since an acknowledgement waits while the connection is held up, and the recorder must not.
func (l *ledger) receipts(stop func() bool, given func()) {
	for {
		l.mu.Lock()
		for len(l.receipt) == 0 && !stop() {
			l.ready.Wait()
		}
		if stop() {
			l.mu.Unlock()
			return
		}
		var acks []func()
		for _, e := range l.receipt {
			acks = append(acks, e.ack)
			e.ack = nil
		}
		clear(l.receipt)
		l.receipt = l.receipt[:0]
		l.giving = len(acks)
		l.mu.Unlock()
		for _, ack := range acks {
			ack()
		}
		given()
		l.mu.Lock()
		l.giving = 0
		l.tell()
		l.mu.Unlock()
	}
}

// wake lets the giver of receipts look whether it is to stop.
func (l *ledger) wake() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.ready.Broadcast()
}
