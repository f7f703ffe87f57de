package main

import (
	"context"
	"sync"
	"sync/atomic"

	"tundish/capture/capfile"
)

// pool does work on one capture with several readers at a time: a reader belongs to one goroutine.
type pool struct {
	c       *captured
	most    int // readers
	readers []*capfile.Reader
}

func newPool(c *captured, most int) *pool {
	return &pool{c: c, most: max(1, most), readers: []*capfile.Reader{c.reader}}
}

// grow opens readers, as many as there is work for.
func (p *pool) grow(n int) {
	for len(p.readers) < min(p.most, n) {
		r, err := capfile.Open(p.c.path)
		if err != nil {
			return // what is open goes on
		}
		if r.Head() != p.c.reader.Head() { // it is being recorded: one look at it serves all
			_ = r.Close() // it was only read
			p.close()
			p.most = 1
			return
		}
		p.readers = append(p.readers, r)
	}
}

// each does n pieces of work, each with a capture whose reader is its own. The first error ends them all.
func (p *pool) each(ctx context.Context, n int, do func(ctx context.Context, own *captured, i int) error) error {
	p.grow(n)
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var next atomic.Int64
	var all sync.WaitGroup
	for _, r := range p.readers {
		own := *p.c
		own.reader = r
		all.Go(func() {
			for i := next.Add(1) - 1; i < int64(n); i = next.Add(1) - 1 {
				if err := do(ctx, &own, int(i)); err != nil {
					cancel(err)
					return
				}
			}
		})
	}
	all.Wait()
	return context.Cause(ctx)
}

// close closes the readers that were opened.
func (p *pool) close() {
	for _, r := range p.readers[1:] {
		_ = r.Close() // it was only read
	}
	p.readers = p.readers[:1]
}
