package main

import (
	"context"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/capture/capfile"
	"tundish/decode"
	"tundish/decode/payload"
)

// inTime tells whether a reading can take its place in the order of time. The late word of a contact is what it says
// now: it is dated so.
func inTime(cfg *analyse.Config, r *decode.Reading, came time.Time) bool {
	if came.Sub(r.Time) <= payload.LateMost {
		return true
	}
	contact := slices.ContainsFunc(cfg.Contacts, func(c analyse.Contact) bool { return c.Series == r.Series })
	if contact {
		r.Time = came
	}
	return contact
}

// contactsBefore finds what the contacts had said before each chunk: one that tells nothing but changes may have said
// it days ago. The records are read once for it, and those of the contacts alone are decoded.
func (c *captured) contactsBefore(ctx context.Context, cfg *analyse.Config, chunks []chunk) error {
	if len(cfg.Contacts) == 0 || len(chunks) < 2 {
		return nil
	}
	only := map[string]bool{}
	for _, x := range cfg.Contacts {
		only[x.Series.Source] = true
	}
	s, i := analyse.NewStanding(cfg, nil), 1
	chunks[0].before = s.Copy(time.Time{})
	upTo := func(t time.Time) {
		for ; i < len(chunks) && !t.Before(chunks[i].begins()); i++ {
			chunks[i].before = s.Copy(chunks[i].begins())
		}
	}
	var came time.Time
	_, err := c.scan(ctx, capfile.Window{}, listener{
		only: only,
		record: func(source string, run uint32, t time.Time, note string) {
			came = t
			upTo(t)
			s.Record(source, run, t, note)
		},
		hole: s.Damage,
	}, func(r decode.Reading) error {
		if inTime(cfg, &r, came) {
			s.Take(&r)
		}
		return nil
	})
	for ; i < len(chunks); i++ {
		chunks[i].before = s.Copy(chunks[i].begins())
	}
	return err
}

// begins is when the first day of a chunk begins to look.
func (x *chunk) begins() time.Time { return x.window.From.Add(warmUp) }
