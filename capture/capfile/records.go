package capfile

import (
	"context"
	"fmt"
	"iter"
	"time"

	"tundish/capture"
)

// Window is a stretch of time, From included, To not. A zero time leaves that side open; the zero Window is all.
type Window struct{ From, To time.Time }

func (w Window) all() bool { return w.From.IsZero() && w.To.IsZero() }

func (w Window) has(t time.Time) bool {
	return (w.From.IsZero() || !t.Before(w.From)) && (w.To.IsZero() || t.Before(w.To))
}

// Has tells whether a time lies in the window.
func (w Window) Has(t time.Time) bool { return w.has(t) }

// meets says whether a stretch, both ends included, has a time in the window.
func (w Window) meets(first, last time.Time) bool {
	return (w.From.IsZero() || !last.Before(w.From)) && (w.To.IsZero() || first.Before(w.To))
}

// walk is one pass over the records.
type walk struct {
	*Reader
	window Window
	only   func(source string) bool // the sources wanted; nil: all
	yield  func(capture.Record, error) bool
	open   []source // of the group in work
	rec    capture.Record
}

// source is one block being read.
type source struct {
	*blockDecoder
	clock  *clock
	inside bool // all of it lies in the window: a run's time never falls
}

// Records yields the records of a window in order of Seq, with Time filled. Payload is valid until the next
// record. In the place of records that are damaged comes a *DamageError, and the walk goes on; a context that ends
// gives its error and ends the walk. Records of a run whose clock is not known have no Time, and come only when the
// window is all. Blocks outside the window are not read.
func (r *Reader) Records(ctx context.Context, window Window) iter.Seq2[capture.Record, error] {
	return r.RecordsOf(ctx, window, nil)
}

// RecordsOf is [Reader.Records] of some sources alone; nil: of all. Blocks of others are not read.
func (r *Reader) RecordsOf(ctx context.Context, window Window, only func(source string) bool) iter.Seq2[capture.Record, error] {
	return func(yield func(capture.Record, error) bool) {
		w := &walk{Reader: r, window: window, only: only, yield: yield}
		defer w.putBack()
		if r.conn == nil {
			yield(capture.Record{}, fmt.Errorf("%s: %w", r.path, ErrClosed))
			return
		}
		w.blocks(ctx)
	}
}

// Meets tells whether records may lie in a window: a block or a row of the tail that reaches into it, or may.
func (r *Reader) Meets(window Window) bool {
	for i := range r.index.blocks {
		b := &r.index.blocks[i]
		if b.journal() {
			continue
		}
		if s := r.journal.runs[b.run]; r.index.bad[int(b.n)] != "" || s == nil {
			return true
		} else if s.clock.known() && window.meets(s.clock.time(at(b.firstAt)), s.clock.time(at(b.lastAt))) {
			return true
		}
	}
	return len(r.index.tail) > 0
}

// blocks walks all groups, then the tail.
func (w *walk) blocks(ctx context.Context) {
	blocks := w.index.blocks
	for i := 0; i < len(blocks); {
		if err := ctx.Err(); err != nil {
			w.yield(capture.Record{}, err)
			return
		}
		end := i + 1
		for end < len(blocks) && (blocks[end].group == blocks[i].group || w.index.bad[end+1] != "") {
			end++
		}
		for ; i < end; i++ {
			if !w.take(&blocks[i]) {
				return
			}
		}
		if !w.merge() {
			return
		}
	}
	for i := range w.index.tail {
		if err := ctx.Err(); err != nil {
			w.yield(capture.Record{}, err)
			return
		}
		if !w.tail(&w.index.tail[i]) {
			return
		}
	}
}

// take opens a block if the window needs it.
func (w *walk) take(b *blockRow) bool {
	if why := w.index.bad[int(b.n)]; why != "" {
		return w.damage(b, why)
	}
	if b.journal() || w.only != nil && !w.only(b.source) {
		return true
	}
	c := &w.journal.run(b.run).clock
	if !w.window.all() && (!c.known() || !w.window.meets(c.time(at(b.firstAt)), c.time(at(b.lastAt)))) {
		return true
	}
	var err error
	if w.buf, err = b.loadBody(w.body, w.buf); err != nil {
		return w.damage(b, err.Error())
	}
	d := w.decoder()
	if err := d.load(b, w.buf); err != nil {
		w.spare = append(w.spare, d)
		return w.damage(b, err.Error())
	}
	inside := w.window.all() || w.window.has(c.time(at(b.firstAt))) && w.window.has(c.time(at(b.lastAt)))
	w.open = append(w.open, source{d, c, inside})
	return true
}

// damage yields what is left out, if it can concern the window.
func (w *walk) damage(b *blockRow, why string) bool {
	e := &DamageError{Block: int(b.n), Run: b.run, Source: b.source, Why: why}
	if r := w.journal.runs[b.run]; r != nil && r.clock.known() && b.count > 0 && b.firstAt >= 0 && b.lastAt <= maxMicros {
		e.From, e.To = r.clock.time(at(b.firstAt)), r.clock.time(at(b.lastAt))
	}
	trusted := b.sum() == b.hash
	if trusted && !e.From.IsZero() && !w.window.all() && !w.window.meets(e.From, e.To) {
		return true
	}
	return w.yield(capture.Record{}, e)
}

// decoder gives one used before where there is one.
func (r *Reader) decoder() *blockDecoder {
	if n := len(r.spare); n > 0 {
		d := r.spare[n-1]
		r.spare = r.spare[:n-1]
		return d
	}
	d := &blockDecoder{known: map[string]string{}}
	d.dec = r.zstd
	return d
}

func (w *walk) putBack() {
	for _, s := range w.open {
		w.spare = append(w.spare, s.blockDecoder)
	}
	w.open = w.open[:0]
}

// merge yields the records of the open blocks by Seq.
func (w *walk) merge() bool {
	defer w.putBack()
	for {
		best, second := -1, int64(1<<63-1)
		first := second
		for i := range w.open {
			seq, ok := w.open[i].more()
			switch {
			case !ok:
			case seq < first:
				best, first, second = i, seq, first
			case seq < second:
				second = seq
			}
		}
		if best < 0 {
			return true
		}
		// As long as this block is the least, the others need no look.
		for s := &w.open[best]; ; {
			s.next(&w.rec)
			if !w.emit(s.clock, s.inside) {
				return false
			}
			if seq, ok := s.more(); !ok || seq > second {
				break
			}
		}
	}
}

// emit yields w.rec if it is in the window.
func (w *walk) emit(c *clock, inside bool) bool {
	w.rec.Time = c.time(w.rec.At)
	if !inside && !w.window.has(w.rec.Time) {
		return true
	}
	return w.yield(w.rec, nil)
}

// tail yields the records of one tail row.
func (w *walk) tail(t *tailRow) bool {
	if t.bad != "" {
		return w.yield(capture.Record{}, &DamageError{Tail: int(t.n), Why: t.bad})
	}
	seq := uint64(t.first)
	on := true
	unpackTail(t, func(rec *capture.Record) error {
		rec.Seq = seq
		seq++
		if w.only != nil && !w.only(rec.Source) {
			return nil
		}
		c := &w.journal.run(rec.Run).clock
		if !w.window.all() && !c.known() {
			return nil
		}
		w.rec = *rec
		if on = w.emit(c, w.window.all()); !on {
			return errStop
		}
		return nil
	}, nil)
	return on
}
