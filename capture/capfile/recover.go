package capfile

import (
	"bytes"
	"fmt"

	"tundish/capture"
)

// inspect refuses a capture that cannot be gone on with, before anything of it is touched.
func (w *Writer) inspect() (*index, headRow, error) {
	x, err := loadIndex(w.conn, w.path)
	if err != nil {
		return nil, headRow{}, err
	}
	head, found, err := readHeadRow(w.conn)
	if err != nil || !found || len(x.bad) > 0 || head.blocks != x.place.blocks {
		return nil, head, x.broken()
	}
	return x, head, nil
}

// recover brings the writer to where the file stands, and seals what a killed run left in the tail.
func (w *Writer) recover(x *index, head headRow) error {
	w.place = x.place
	w.place.tail, w.place.hash = head.tail, head.hash // what transact will find
	for i := range x.blocks {
		b := &x.blocks[i]
		w.group = max(w.group, b.group)
		w.last = max(w.last, b.run)
		w.seq = max(w.seq, b.lastSeq)
	}
	losses := w.sideLoss(x)
	j, losses := w.readJournal(x, losses)
	losses = w.readTail(x, &j, losses)
	if len(losses) == 0 && x.head != "" {
		losses = append(losses, entry{Text: x.head})
	}
	for n := range j.runs {
		w.last = max(w.last, n)
	}
	for _, e := range losses {
		e.Kind = entryLoss
		line, err := e.line()
		if err != nil {
			return err
		}
		w.keepLine(line)
	}
	if len(w.lines) == 0 && len(w.streams) == 0 && w.place.tail == 0 {
		return nil
	}
	return w.seal()
}

// sideLoss holds the expected head against the chain.
func (w *Writer) sideLoss(x *index) []entry {
	text, err := w.side.read()
	if err == nil && len(text) == 0 {
		return nil
	}
	var p place
	if err == nil {
		p, err = parseSide(text)
	}
	if err != nil {
		return []entry{{Text: "the expected head beside the capture was damaged: whether the last commits are there cannot be told", Bytes: text}}
	}
	if why := x.contains(p); why != "" {
		return []entry{{Text: fmt.Sprintf("after a kill or power cut, %s; expected: %v", why, p)}}
	}
	return nil
}

func (w *Writer) readJournal(x *index, losses []entry) (journal, []entry) {
	var j journal
	stmt, err := w.conn.Prepare(bodyQuery)
	if err != nil {
		return j, append(losses, entry{Text: "journal: " + err.Error()})
	}
	for i := range x.blocks {
		b := &x.blocks[i]
		if !b.journal() {
			continue
		}
		body, err := b.loadBody(stmt, nil)
		if err == nil {
			err = j.lines(body, b.count)
		}
		if err != nil {
			losses = append(losses, entry{Text: fmt.Sprintf("journal block %d: %v", b.n, err)})
		}
	}
	return j, losses
}

// readTail takes over what the tail's sound rows hold. Of a damaged row the bytes are kept, and its places in the
// sequence go to the records after it.
func (w *Writer) readTail(x *index, j *journal, losses []entry) []entry {
	for i := range x.tail {
		t := &x.tail[i]
		lose := func(what string, bytes []byte) {
			losses = append(losses, entry{Text: fmt.Sprintf("tail row %d of %d: %s", t.n, x.place.tail, what), Bytes: bytes})
		}
		if t.bad != "" && !t.whole() {
			lose(t.bad+"; its records are lost, its bytes kept", t.body)
			continue
		}
		if t.bad != "" {
			lose(t.bad+"; its content is sound and was taken over", nil)
		}
		// whole and sound rows were unpacked before, so that only a journal line can still be wrong.
		unpackTail(t, func(rec *capture.Record) error {
			w.last = max(w.last, rec.Run)
			w.keepRecord(w.stream(rec.Run, rec.Source), rec)
			return nil
		}, func(line []byte) error {
			w.keepLine(bytes.Clone(line))
			if err := j.line(line); err != nil {
				lose(err.Error(), nil)
			}
			return nil
		})
	}
	return losses
}
