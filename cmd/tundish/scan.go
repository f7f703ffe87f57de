package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"tundish/capture"
	"tundish/capture/capfile"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// scanned is what a scan saw besides readings.
type scanned struct {
	records  uint64 // whose time is known
	decoders map[route]decoders
	order    []route           // of decoders, as they were made
	unread   map[string]uint64 // records by source that are in no job sheet
	untimed  map[uint32]uint64 // records by run whose time is not known
	damage   []*capfile.DamageError
	lastWay  route
	near     []namedDecoder            // of the last way, as they were asked for: sources are few
	counted  map[string][]decode.Count // by source, of a scan that was done in pieces
}

// namedDecoder is the decoder of a source.
type namedDecoder struct {
	name string
	*sourceDecoder
}

// route is one way through a source's records: with one job sheet, and for an imported file with a state of its own,
// since the records of two files of one source may lie between each other. Run is 0 for recorded runs, which follow
// each other.
type route struct {
	sheet *jobsheet.Sheet
	run   uint32
}

// decoders are those of one job sheet, by source.
type decoders map[string]*sourceDecoder

// newDecoders makes the decoders of a job sheet's sources for a plant.
func newDecoders(sheet *jobsheet.Sheet, plant *jobsheet.Sheet) (decoders, error) {
	all := decoders{}
	for i := range sheet.Sources {
		src := &sheet.Sources[i]
		d, err := newSourceDecoder(src, plant)
		if err != nil {
			return nil, fmt.Errorf("source %q: %w", src.Name, err)
		}
		all[src.Name] = d
	}
	all.joinBuses(sheet)
	return all, nil
}

// listener is told of a scan besides its readings; any field may be nil.
type listener struct {
	record func(source string, run uint32, t time.Time, note string) // each record, before its readings
	hole   func(source string)                                       // records were lost to damage; "" for all sources
	refuse func(t time.Time, err error)                              // what a decoder refused of a record
	counts capfile.Window                                            // the records that are counted
	begin  func(s *scanned)                                          // counting begins
	end    func(s *scanned)                                          // and ends, if records come after
	named  func(decode.Named)                                        // what a device said of which there is no point
	going  bool                                                      // the record goes on: what decoders hold back is left
	only   func(source string) bool                                  // the sources that are read; nil: all
}

// scan decodes the records of a window, in order. Damaged places and records whose time is not known are passed over
// and counted.
func (c *captured) scan(ctx context.Context, w capfile.Window, l listener, emit func(decode.Reading) error) (*scanned, error) {
	s := &scanned{decoders: map[route]decoders{}, unread: map[string]uint64{}, untimed: map[uint32]uint64{}}
	var stop error
	pass := func(r decode.Reading) {
		if stop == nil {
			stop = emit(r)
		}
	}
	imported := map[uint32]bool{}
	border := l.counts.From
	if border.IsZero() {
		border = l.counts.To
	}
	for _, r := range c.reader.Runs() {
		imported[r.Number] = r.Kind == capfile.Import
	}
	var run uint32
	var way route
	for rec, err := range c.reader.RecordsOf(ctx, w, l.only) {
		if err != nil {
			var d *capfile.DamageError
			if errors.As(err, &d) {
				s.damage = append(s.damage, d)
				if l.hole != nil {
					l.hole(d.Source)
				}
				continue
			}
			return nil, fmt.Errorf("%s: %w", c.path, err)
		}
		if rec.Time.IsZero() {
			s.untimed[rec.Run]++
			continue
		}
		if !border.IsZero() && !rec.Time.Before(border) {
			border = s.cross(&l, border, rec.Time)
		}
		counted := l.counts.Has(rec.Time)
		if counted {
			s.records++
		}
		if l.record != nil {
			l.record(rec.Source, rec.Run, rec.Time, rec.Note)
		}
		if way.sheet == nil || rec.Run != run {
			run = rec.Run
			of := route{sheet: c.sheetOf(run)}
			if imported[run] {
				of.run = run
			} else if way.sheet != nil && of != way {
				s.flush(way, pass)
			}
			way = of
			if err := s.use(way, c.sheet); err != nil {
				return nil, fmt.Errorf("%s: %w", c.path, err)
			}
		}
		taken, refused := s.decode(way, &rec, pass, l.named)
		if l.refuse != nil && refused != nil {
			l.refuse(rec.Time, refused)
		}
		if !taken && counted {
			s.unread[rec.Source]++
		}
		if stop != nil {
			return s, stop
		}
	}
	for _, way := range s.order {
		if !l.going {
			s.flush(way, pass)
		}
	}
	if s.records == 0 && len(s.untimed) > 0 && l.only == nil {
		return nil, fmt.Errorf("%s: the time of no record is known: what was noted of the clock is damaged", c.path)
	}
	return s, stop
}

// use makes the decoders of a way, once.
func (s *scanned) use(way route, plant *jobsheet.Sheet) error {
	if s.decoders[way] != nil {
		return nil
	}
	all, err := newDecoders(way.sheet, plant)
	s.decoders[way], s.order = all, append(s.order, way)
	return err
}

// decode gives a record to its decoder. What a decoder refuses, it counts itself.
// False: no decoder takes it.
func (s *scanned) decode(way route, rec *capture.Record, pass func(decode.Reading), named func(decode.Named)) (taken bool, refused error) {
	if way != s.lastWay {
		s.lastWay, s.near = way, s.near[:0]
	}
	var d *sourceDecoder
	for i := range s.near {
		if s.near[i].name == rec.Source {
			d = s.near[i].sourceDecoder
			break
		}
	}
	if d == nil {
		if d = s.decoders[way][rec.Source]; d == nil {
			return false, nil
		}
		s.near = append(s.near, namedDecoder{rec.Source, d})
	}
	return true, d.DecodeNamed(*rec, pass, named)
}

// cross goes over a border of what is counted, at the first record after it, and gives the next border.
func (s *scanned) cross(l *listener, border, t time.Time) time.Time {
	if border.Equal(l.counts.From) {
		if l.begin != nil {
			l.begin(s)
		}
		if border = l.counts.To; border.IsZero() || t.Before(border) {
			return border
		}
	}
	if l.end != nil {
		l.end(s)
	}
	return time.Time{}
}

// flush gives what the decoders of a way hold back, when its records have ended.
func (s *scanned) flush(way route, pass func(decode.Reading)) {
	for _, src := range way.sheet.Sources {
		s.decoders[way][src.Name].flush(pass)
	}
}

// tally adds up what was counted of a source by the decoders of all ways.
func (s *scanned) tally(source string) []decode.Count {
	if s.counted != nil {
		return slices.DeleteFunc(slices.Clone(s.counted[source]), func(n decode.Count) bool { return n.N == 0 })
	}
	return slices.DeleteFunc(s.tallyAll(source), func(n decode.Count) bool { return n.N == 0 })
}

// tallyAll gives what was not counted as 0.
func (s *scanned) tallyAll(source string) []decode.Count {
	var out []decode.Count
	place := map[string]int{}
	for _, way := range s.order {
		d := s.decoders[way][source]
		if d == nil {
			continue
		}
		for _, n := range d.Tally() {
			if i, ok := place[n.Name]; ok {
				out[i].N += n.N
				continue
			}
			place[n.Name] = len(out)
			out = append(out, n)
		}
	}
	return out
}
