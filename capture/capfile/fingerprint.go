package capfile

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"math"

	"tundish/capture"
)

// Fingerprint is a hash over what decides which records a window holds and which times they have: the sealed blocks
// that reach into it, by their hashes, and what is known of their runs' clocks there. As long as it stays the same the
// window's records do too, however far the capture has grown. False: it cannot be told, since records that are not
// sealed yet may lie in the window, or the capture is damaged. Bodies are not read, see [Reader.Sound].
func (r *Reader) Fingerprint(window Window) (sum [32]byte, ok bool) {
	return r.FingerprintOf(window, nil)
}

// FingerprintOf is [Reader.Fingerprint] of the records of some sources alone; nil: of all.
func (r *Reader) FingerprintOf(window Window, only func(source string) bool) (sum [32]byte, ok bool) {
	if len(r.index.bad) > 0 || r.index.head != "" || r.tailMeets(window, only) {
		return sum, false
	}
	h := sha256.New()
	type reach struct{ first, last int64 }
	runs := map[uint32]reach{}
	var order []uint32
	for i := range r.index.blocks {
		b := &r.index.blocks[i]
		if b.journal() || only != nil && !only(b.source) {
			continue
		}
		s := r.journal.runs[b.run]
		if s == nil || !s.clock.known() && window.all() {
			return sum, false
		}
		if !s.clock.known() || !window.meets(s.clock.time(at(b.firstAt)), s.clock.time(at(b.lastAt))) {
			continue
		}
		h.Write(b.hash[:])
		x, seen := runs[b.run]
		if !seen {
			order = append(order, b.run)
			x = reach{math.MaxInt64, 0}
		}
		runs[b.run] = reach{min(x.first, b.firstAt), max(x.last, b.lastAt)}
	}
	for _, run := range order {
		x := runs[run]
		binary.Write(h, binary.BigEndian, run) // a hash takes all
		first, last := int64(at(x.first)), int64(at(x.last))
		c := &r.journal.runs[run].clock
		for _, k := range c.between(c.lapsed(first), c.lapsed(last)) {
			binary.Write(h, binary.BigEndian, []int64{k.at, k.offset})
		}
		for _, s := range c.sleeps {
			if s.after < last {
				binary.Write(h, binary.BigEndian, []int64{-1, s.after, s.slept})
			}
		}
	}
	h.Sum(sum[:0])
	return sum, true
}

// Sound tells whether the bodies of the sealed blocks that reach into a window still fit their hashes. It reads them, and
// does not unpack them.
func (r *Reader) Sound(ctx context.Context, window Window) bool { return r.SoundOf(ctx, window, nil) }

// SoundOf is [Reader.Sound] of the blocks of some sources alone; nil: of all.
func (r *Reader) SoundOf(ctx context.Context, window Window, only func(source string) bool) bool {
	if r.conn == nil {
		return false
	}
	for i := range r.index.blocks {
		b := &r.index.blocks[i]
		if b.journal() || only != nil && !only(b.source) {
			continue
		}
		s := r.journal.runs[b.run]
		if s == nil || s.clock.known() && !window.meets(s.clock.time(at(b.firstAt)), s.clock.time(at(b.lastAt))) {
			continue
		}
		var err error
		if r.buf, err = b.loadBody(r.body, r.buf); err != nil || ctx.Err() != nil {
			return false
		}
	}
	return true
}

// tailMeets tells whether records that are not sealed yet may lie in the window.
func (r *Reader) tailMeets(window Window, only func(source string) bool) bool {
	meets := false
	for i := range r.index.tail {
		err := unpackTail(&r.index.tail[i], func(rec *capture.Record) error {
			if only != nil && !only(rec.Source) {
				return nil
			}
			s := r.journal.runs[rec.Run]
			if s == nil || !s.clock.known() {
				meets = meets || window.all()
				return nil
			}
			meets = meets || window.has(s.clock.time(rec.At))
			return nil
		}, nil)
		if err != nil || meets {
			return true
		}
	}
	return false
}

// between are the knots that decide the times from first to last, both in ns lapsed: those within, and the next one
// on either side.
func (c *clock) between(first, last int64) []knot {
	from, to := 0, len(c.knots)
	for from+1 < len(c.knots) && c.knots[from+1].at <= first {
		from++
	}
	for to-1 > from && c.knots[to-2].at >= last {
		to--
	}
	return c.knots[from:to]
}
