package main

import (
	"context"
	"time"

	"tundish/analyse"
	"tundish/capture/capfile"
	"tundish/decode"
)

// contactsBefore finds what the contacts had said before each chunk: one that tells nothing but changes may have said
// it days ago. The records of their sources are read once for it.
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
	_, err := c.scanPlaced(ctx, capfile.Window{}, placing{listener: listener{
		only: func(source string) bool { return only[source] },
		record: func(source string, run uint32, t time.Time, note string) {
			upTo(t)
			s.Record(source, run, t, note)
		},
		hole: s.Damage,
	}, late: func(source string, run uint32, t time.Time) {
		upTo(t)
		s.Record(source, run, t, "")
	}, missed: func(r *decode.Reading, _ uint32, came time.Time) { s.Late(r, came) }}, func(r decode.Reading) error {
		s.Take(&r)
		return nil
	})
	for ; i < len(chunks); i++ {
		chunks[i].before = s.Copy(chunks[i].begins())
	}
	return err
}

// begins is when the first day of a chunk begins to look.
func (x *chunk) begins() time.Time { return x.window.From.Add(warmUp) }
