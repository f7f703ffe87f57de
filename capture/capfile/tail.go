package capfile

import (
	"encoding/binary"
	"errors"
	"fmt"

	"tundish/capture"
)

// Items of a tail row.
const (
	itemRecord  = 1
	itemJournal = 2
)

// tailPacker packs what one commit makes durable. A text (source, channel, note) is written once a row and then
// named by its place.
type tailPacker struct {
	buf     []byte
	places  map[string]uint64
	records int64
}

func (p *tailPacker) reset() {
	p.buf, p.records = p.buf[:0], 0
	clear(p.places)
}

func (p *tailPacker) empty() bool { return len(p.buf) == 0 }

func (p *tailPacker) text(s string) {
	if p.places == nil {
		p.places = map[string]uint64{}
	}
	k, ok := p.places[s]
	if !ok {
		k = uint64(len(p.places))
		p.places[s] = k
	}
	p.buf = binary.AppendUvarint(p.buf, k)
	if !ok {
		p.bytes([]byte(s))
	}
}

func (p *tailPacker) bytes(b []byte) {
	p.buf = binary.AppendUvarint(p.buf, uint64(len(b)))
	p.buf = append(p.buf, b...)
}

func (p *tailPacker) record(rec *capture.Record) {
	p.buf = append(p.buf, itemRecord)
	p.buf = binary.AppendUvarint(p.buf, uint64(rec.Run))
	p.text(rec.Source)
	p.buf = binary.AppendUvarint(p.buf, uint64(micros(rec.At)))
	p.text(rec.Channel)
	p.buf = binary.AppendUvarint(p.buf, uint64(rec.Sweep))
	p.text(rec.Note)
	p.bytes(rec.Payload)
	p.records++
}

func (p *tailPacker) journal(line []byte) {
	p.buf = append(p.buf, itemJournal)
	p.bytes(line)
}

// tailReader takes a row's body apart.
type tailReader struct {
	columnReader
	texts []string
}

func (r *tailReader) text() string {
	k := r.uvarint()
	switch {
	case r.err != nil:
		return ""
	case k < uint64(len(r.texts)):
		return r.texts[k]
	case k > uint64(len(r.texts)):
		r.fail(fmt.Errorf("text %d before text %d", k, len(r.texts)))
		return ""
	}
	s := string(r.take(r.uvarint()))
	r.texts = append(r.texts, s)
	return s
}

// unpackTail gives the records (Seq and Time not set; Payload is the row's memory) and journal lines of a row, in
// order. An error may come after some were given: call it twice where all or nothing is wanted.
func unpackTail(t *tailRow, record func(*capture.Record) error, journal func([]byte) error) error {
	r := tailReader{}
	r.in = t.body
	records := int64(0)
	for r.err == nil && len(r.in) > 0 {
		var err error
		switch kind := r.byte(); kind {
		case itemRecord:
			records++
			var rec capture.Record
			if err = r.record(&rec); err == nil && record != nil {
				err = record(&rec)
			}
		case itemJournal:
			line := r.take(r.uvarint())
			if err = r.err; err == nil && journal != nil {
				err = journal(line)
			}
		default:
			err = fmt.Errorf("item of unknown kind %d", kind)
		}
		if err != nil {
			return err
		}
	}
	if records != t.records {
		return fmt.Errorf("row of %d records, %d were told", records, t.records)
	}
	return r.err
}

func (r *tailReader) record(rec *capture.Record) error {
	run := r.uvarint()
	rec.Source = r.text()
	us := r.uvarint()
	rec.Channel = r.text()
	sweep := r.uvarint()
	rec.Note = r.text()
	rec.Payload = r.take(r.uvarint())
	if r.err != nil {
		return r.err
	}
	if run > 1<<32-1 || sweep > 1<<32-1 || us > uint64(maxMicros) || rec.Source == "" {
		return errors.New("record out of range")
	}
	rec.Run, rec.Sweep, rec.At = uint32(run), uint32(sweep), at(int64(us))
	return nil
}
