package main

import (
	"cmp"
	"context"
	"crypto/sha256"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/capture/capfile"
	"tundish/decode"
)

const (
	// chunkDays is the number of days that one worker takes at a time. Chunks are counted in the calendar, so that they
	// lie alike whatever the record's length and however many workers there are: the result is the same. Fewer would
	// cost more for the hours that each has to read before and after it.
	chunkDays = 4
	// warmUp is how long before that a decoder begins, so that it has found its place: it keeps what it heard for a
	// minute at the most (opentherm.ReplyLimit, onewire.NeighbourLimit).
	warmUp = 10 * time.Minute
	// collectAt is the share of garbage to what is in use at which the collector runs, %. Own proposal.
	collectAt = 30
)

// chunk is some days of a capture.
type chunk struct {
	bounds analyse.Bounds
	window capfile.Window
	before *analyse.Standing // what contacts had said before it
	none   bool              // no record lies in it
	going  bool              // records come after the window
	parts  []*analyse.Part
	seen   *scanned
	key    [sha256.Size]byte // under which it is kept
	known  bool              // it was kept, and need not be worked on
	lasts  bool              // it can be kept
}

// analyse runs all checks over the whole capture, its days on all cores.
func (c *captured) analyse(ctx context.Context) (*analyse.Result, *scanned, error) {
	return c.analyseOn(ctx, runtime.GOMAXPROCS(0))
}

func (c *captured) analyseOn(ctx context.Context, workers int) (*analyse.Result, *scanned, error) {
	// What stays is small and little is made anew: the collector may come often, and memory stays near what is in use.
	defer debug.SetGCPercent(debug.SetGCPercent(collectAt))
	cfg := c.config(c.reader.Runs())
	p := newPool(c, workers)
	defer p.close()
	if err := c.findLate(ctx, p); err != nil {
		return nil, nil, err
	}
	chunks := c.chunks(&cfg)
	if err := c.contactsBefore(ctx, &cfg, chunks); err != nil {
		return nil, nil, err
	}
	var todo []*chunk
	for i := range chunks {
		x := &chunks[i]
		if c.keep != nil {
			x.key, x.lasts = c.keep.key(c, &cfg, x)
			x.known = x.lasts && c.keep.fetch(x.key, x) && c.reader.Sound(ctx, x.window)
		}
		if !x.known {
			todo = append(todo, x)
		}
	}
	if c.keep != nil {
		c.keep.chunks, c.keep.worked = len(chunks), len(todo)
	}
	if err := p.each(ctx, len(todo), func(ctx context.Context, own *captured, i int) error {
		return own.work(ctx, cfg, todo[i])
	}); err != nil {
		return nil, nil, err
	}
	c.keepAll(todo)
	seen := &scanned{unread: map[string]uint64{}, untimed: map[uint32]uint64{}, counted: map[string][]decode.Count{}}
	var parts []*analyse.Part
	for i := range chunks {
		parts = append(parts, chunks[i].parts...)
		seen.add(chunks[i].seen)
	}
	if err := c.untimed(ctx, seen); err != nil {
		return nil, nil, err
	}
	return analyse.Combine(cfg, parts), seen, nil
}

// chunks parts the record. The first begins with it, and the last ends with it.
func (c *captured) chunks(cfg *analyse.Config) []chunk {
	var from, to time.Time
	for _, r := range cfg.Runs {
		if from.IsZero() || r.From.Before(from) {
			from = r.From
		}
		if r.To.After(to) {
			to = r.To
		}
	}
	if from.IsZero() {
		return []chunk{{}}
	}
	number := func(p episode.Piece) int64 {
		day := p.From.Add(12*time.Hour).Unix() / 86400
		return (day - (day%chunkDays+chunkDays)%chunkDays) / chunkDays
	}
	var out []chunk
	first := cfg.Day(from)
	for last := first; ; {
		next := last.Next(cfg.Site.Zone)
		ends := next.From.After(to)
		if !ends && number(next) == number(first) {
			last = next
			continue
		}
		x := chunk{bounds: analyse.Bounds{From: first.From, To: last.To},
			window: capfile.Window{From: first.Begins().Add(-warmUp), To: last.Ends()}}
		x.going = !to.Before(x.window.To)
		if len(out) == 0 {
			x.window.From = time.Time{}
		}
		if ends {
			x.bounds.To, x.window.To = time.Time{}, time.Time{}
		}
		x.none = !c.reader.Meets(x.window) && !c.late.meets(x.window)
		if n := len(out) - 1; n >= 0 && out[n].none && x.none {
			out[n].bounds.To, out[n].window.To = x.bounds.To, x.window.To
		} else {
			out = append(out, x)
		}
		if ends {
			return out
		}
		first, last = next, next
	}
}

// work analyses a chunk.
func (c *captured) work(ctx context.Context, cfg analyse.Config, x *chunk) (err error) {
	s := analyse.NewStretch(cfg, x.bounds, x.before)
	x.seen = &scanned{}
	if !x.none {
		x.seen, err = c.read(ctx, s, x)
	}
	x.parts = s.Parts()
	return err
}

// read reads a chunk.
func (c *captured) read(ctx context.Context, s *analyse.Stretch, x *chunk) (*scanned, error) {
	starts := x.window.From // from here on the days look at it
	if !starts.IsZero() {
		starts = starts.Add(warmUp)
	}
	told := false      // the last record was told
	var holes []string // before the next one
	damage := func() {
		for _, source := range holes {
			s.Damage(source)
		}
		holes = holes[:0]
	}
	var base, end map[string][]decode.Count
	gone := lateGone{}
	counted := x.counted()
	seen, err := c.scanPlaced(ctx, x.window, placing{from: starts, listener: listener{
		record: func(source string, run uint32, t time.Time, note string) {
			if told = !t.Before(starts); told {
				damage()
				s.Record(source, run, t, note)
			}
		},
		hole: func(source string) {
			if told { // a damaged block that does not say when it was lies in all windows
				holes = append(holes, source)
			}
		},
		refuse: func(t time.Time, err error) {
			if told {
				s.Refused(t, err)
			}
		},
		counts: counted,
		begin:  func(s *scanned) { base = c.tallies(s) },
		end:    func(s *scanned) { end = c.tallies(s) },
		going:  x.going,
	}, late: func(source string, run uint32, t time.Time) {
		told = true
		s.Record(source, run, t, "")
	}, missed: func(r *decode.Reading, run uint32, came time.Time) {
		if told && s.Late(r, came) {
			return
		}
		if counted.Has(came) {
			gone.count(c, r, run, came)
		}
	}}, func(r decode.Reading) error {
		if told {
			s.Take(&r)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if !x.going {
		damage()
	}
	if end == nil {
		end = c.tallies(seen)
	}
	if base == nil && !x.counted().From.IsZero() { // nothing came after it
		base = end
	}
	for name, list := range end {
		for i := range list {
			for _, n := range base[name] {
				if n.Name == list[i].Name {
					list[i].N -= n.N
				}
			}
		}
	}
	gone.into(end)
	seen.counted, seen.decoders, seen.order = end, nil, nil
	return seen, nil
}

// counted is the part of the window whose records are counted: the hours before and after it belong to other chunks.
func (x *chunk) counted() capfile.Window {
	w := capfile.Window(x.bounds)
	if x.window.From.IsZero() {
		w.From = time.Time{}
	}
	return w
}

// tallies are what was counted of all sources.
func (c *captured) tallies(s *scanned) map[string][]decode.Count {
	out := map[string][]decode.Count{}
	for _, src := range c.sources() {
		out[src.Name] = s.tallyAll(src.Name)
	}
	return out
}

// add adds what another scan saw.
func (s *scanned) add(o *scanned) {
	s.records += o.records
	for name, n := range o.unread {
		s.unread[name] += n
	}
	for name, list := range o.counted {
		for _, n := range list {
			i := slices.IndexFunc(s.counted[name], func(x decode.Count) bool { return x.Name == n.Name })
			if i < 0 {
				s.counted[name] = append(s.counted[name], n)
				continue
			}
			s.counted[name][i].N += n.N
		}
	}
	for _, d := range o.damage {
		if !slices.ContainsFunc(s.damage, func(x *capfile.DamageError) bool { return x.Block == d.Block && x.Tail == d.Tail }) {
			s.damage = append(s.damage, d)
		}
	}
	slices.SortFunc(s.damage, func(x, y *capfile.DamageError) int {
		return cmp.Or(cmp.Compare(x.Tail, y.Tail), cmp.Compare(x.Block, y.Block))
	})
}

// untimed counts the records of runs whose clock is not known: they lie in no day.
func (c *captured) untimed(ctx context.Context, s *scanned) error {
	lost := map[uint32]bool{}
	for _, r := range c.reader.Runs() {
		if r.From.IsZero() && r.Kind != capfile.Note {
			lost[r.Number] = true
		}
	}
	if len(lost) == 0 || len(s.untimed) > 0 {
		return nil
	}
	for rec, err := range c.reader.Records(ctx, capfile.Window{}) {
		if err == nil && rec.Time.IsZero() {
			s.untimed[rec.Run]++
		}
	}
	if s.records == 0 && len(s.untimed) > 0 {
		return fmt.Errorf("%s: the time of no record is known: what was noted of the clock is damaged", c.path)
	}
	return ctx.Err()
}
