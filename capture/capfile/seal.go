package capfile

import (
	"bytes"
	"errors"
	"fmt"

	"zombiezen.com/go/sqlite"
	"zombiezen.com/go/sqlite/sqlitex"
)

// sealed is a block ready to be written.
type sealed struct {
	blockRow
	body []byte
}

// commitTail writes what is pending as one tail row.
func (w *Writer) commitTail() error {
	t := tailRow{n: w.place.tail + 1, blocks: w.place.blocks, first: w.place.records + 1, records: w.pending.records,
		body: w.pending.buf, prev: w.place.hash}
	t.hash = t.sum()
	next := w.place
	next.tail, next.records, next.hash = t.n, next.records+t.records, t.hash
	err := w.transact(next, func() error {
		return sqlitex.Execute(w.conn, "INSERT INTO tail (n, blocks, first_seq, records, body, prev, hash) VALUES (?, ?, ?, ?, ?, ?, ?)",
			&sqlitex.ExecOptions{Args: []any{t.n, t.blocks, t.first, t.records, t.body, t.prev[:], t.hash[:]}})
	})
	if err != nil {
		return err
	}
	w.pending.reset()
	return w.noteSide()
}

// seal writes all that is not sealed as blocks, the journal first, and takes the tail away, in one transaction.
func (w *Writer) seal() error {
	next := w.place
	group := w.group + 1
	var list []sealed
	add := func(b blockRow, body []byte) {
		next.blocks++
		b.n, b.group, b.body, b.prev = next.blocks, group, bodyHash(body), next.block
		b.hash = b.sum()
		next.block = b.hash
		list = append(list, sealed{b, body})
	}
	if len(w.lines) > 0 {
		add(blockRow{coding: codingJournal, count: int64(len(w.lines))}, bytes.Join(w.lines, nil))
	}
	for _, s := range w.streams {
		if len(s.seq) > 0 {
			add(s.row(), bytes.Clone(w.cols.encodeBlock(s)))
		}
	}
	next.tail, next.hash, next.records = 0, next.block, int64(w.seq)
	err := w.transact(next, func() error {
		for i := range list {
			if err := insertBlock(w.conn, &list[i]); err != nil {
				return err
			}
		}
		return sqlitex.Execute(w.conn, "DELETE FROM tail", nil)
	})
	if err != nil {
		return err
	}
	w.group = group
	w.lines, w.streams, w.recent, w.size = nil, nil, nil, 0
	clear(w.byKey)
	w.pending.reset()
	return w.noteSide()
}

func insertBlock(conn *sqlite.Conn, b *sealed) error {
	err := sqlitex.Execute(conn, "INSERT INTO block (n, grp, run, source, coding, first_seq, last_seq, first_at, last_at, "+
		"count, body_hash, prev, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", &sqlitex.ExecOptions{Args: []any{
		b.n, b.group, int64(b.run), b.source, b.coding, int64(b.firstSeq), int64(b.lastSeq), b.firstAt, b.lastAt,
		b.count, b.blockRow.body[:], b.prev[:], b.hash[:]}})
	if err != nil {
		return err
	}
	body := any(b.body)
	if b.journal() {
		body = string(b.body) // so that any client shows text
	}
	return sqlitex.Execute(conn, "INSERT INTO body (n, body) VALUES (?, ?)", &sqlitex.ExecOptions{Args: []any{b.n, body}})
}

// transact runs write in a transaction that moves the head from where this writer left it to next. Only when it is
// durable does the writer move.
func (w *Writer) transact(next place, write func() error) error {
	err := inTransaction(w.conn, func() error {
		h, found, err := readHeadRow(w.conn)
		if err != nil {
			return err
		}
		if p := w.place; !found || h.blocks != p.blocks || h.tail != p.tail || h.hash != p.hash {
			return fmt.Errorf("%w: another process has recorded into it since this one began", ErrBusy)
		}
		if err := write(); err != nil {
			return err
		}
		return w.setHead(next)
	})
	if err != nil {
		return writeError(w.path, err)
	}
	w.place = next
	return nil
}

func (w *Writer) setHead(p place) error {
	return sqlitex.Execute(w.conn, "UPDATE head SET blocks = ?, tail = ?, records = ?, hash = ? WHERE id = 1",
		&sqlitex.ExecOptions{Args: []any{p.blocks, p.tail, p.records, p.hash[:]}})
}

// inTransaction runs do in a transaction that takes the write lock at once.
func inTransaction(conn *sqlite.Conn, do func() error) error {
	if err := sqlitex.Execute(conn, "BEGIN IMMEDIATE", nil); err != nil {
		return err
	}
	err := do()
	if err == nil {
		err = sqlitex.Execute(conn, "COMMIT", nil)
	}
	if err != nil && !conn.AutocommitEnabled() {
		return errors.Join(err, sqlitex.Execute(conn, "ROLLBACK", nil))
	}
	return err
}

// noteSide writes the expected head. The commit stands whatever comes of it; but without room for the side file a
// loss would go unnoticed, so the caller hears of it.
func (w *Writer) noteSide() error {
	if err := w.side.write(w.place); err != nil {
		if outOfRoom(err) {
			return fmt.Errorf("%s%s: %w: %w", w.path, sideSuffix, ErrFull, err)
		}
		return fmt.Errorf("%s%s: %w", w.path, sideSuffix, err)
	}
	return nil
}
