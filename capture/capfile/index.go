package capfile

import (
	"errors"
	"fmt"

	"zombiezen.com/go/sqlite"
	"zombiezen.com/go/sqlite/sqlitex"
)

// index is all of a capture but the bodies of its blocks, checked as far as that goes without them. Rows are
// fetched one by one by their number, everywhere the same way, so that proof and reading cannot see different rows.
type index struct {
	path   string
	blocks []blockRow
	bad    map[int]string // by block number: why its row cannot be trusted
	tail   []tailRow
	place  place  // as the rows add up
	head   string // what is wrong with the head row or the ends of the chain, "" if nothing
}

// headRow is the one row of table head.
type headRow struct {
	blocks, tail, records int64
	hash                  digest
}

func columnDigest(s *sqlite.Stmt, col int) (d digest) {
	if s.ColumnLen(col) == len(d) {
		s.ColumnBytes(col, d[:])
	}
	return d
}

// row runs a query that gives at most one row.
func row(conn *sqlite.Conn, query string, args []any, read func(*sqlite.Stmt)) (found bool, err error) {
	err = sqlitex.Execute(conn, query, &sqlitex.ExecOptions{Args: args, ResultFunc: func(s *sqlite.Stmt) error {
		if found {
			return errors.New("more than one row")
		}
		found = true
		read(s)
		return nil
	}})
	return found, err
}

func readHeadRow(conn *sqlite.Conn) (h headRow, found bool, err error) {
	found, err = row(conn, "SELECT blocks, tail, records, hash FROM head WHERE id = 1", nil, func(s *sqlite.Stmt) {
		h = headRow{s.ColumnInt64(0), s.ColumnInt64(1), s.ColumnInt64(2), columnDigest(s, 3)}
	})
	return h, found, err
}

// loadIndex reads and checks all rows. Its error says that the file cannot be read at all; lesser faults stand in
// the index.
func loadIndex(conn *sqlite.Conn, path string) (*index, error) {
	x := &index{path: path, bad: map[int]string{}}
	head, found, err := readHeadRow(conn)
	switch {
	case err != nil:
		x.head = "head row: " + err.Error()
	case !found:
		x.head = "head row is missing"
	}
	last, err := lastNumber(conn, "block")
	if err != nil {
		return nil, openError(path, err)
	}
	x.loadBlocks(conn, max(last, min(head.blocks, last+1)))
	if err := x.loadTail(conn); err != nil {
		x.fault("tail: " + err.Error())
	}
	if x.head == "" {
		x.compare(head)
	}
	return x, nil
}

// maxGap is how many rows in a row may be bad before the rest is given up: a changed byte in a row's number must not
// make a reader count to 2⁶³. One lost inner page of the table costs about 8000 rows.
const maxGap = 1 << 14

func lastNumber(conn *sqlite.Conn, table string) (n int64, err error) {
	_, err = row(conn, "SELECT max(n) FROM "+table, nil, func(s *sqlite.Stmt) { n = s.ColumnInt64(0) })
	return n, err
}

// fault keeps the first fault of the chain's ends.
func (x *index) fault(why string) {
	if x.head == "" {
		x.head = why
	}
}

func (x *index) loadBlocks(conn *sqlite.Conn, last int64) {
	prev := genesis()
	sum := prev
	seq := uint64(0)  // last of the groups before
	group := int64(0) // the group before
	end := uint64(0)  // last of the group so far
	gap := 0
	for n := int64(1); n <= last; n++ {
		if gap == maxGap {
			x.fault(fmt.Sprintf("blocks %d to %d are not there", n-maxGap, last))
			break
		}
		b, why := loadBlock(conn, n)
		if _, bad := x.bad[int(n-1)]; why == "" && !bad && b.prev != prev && b.prev != sum {
			why = "it does not follow the block before it"
		}
		if why == "" && b.group != group {
			group, seq = b.group, max(seq, end)
		}
		if why == "" && !b.journal() && b.firstSeq <= seq {
			why = "its records do not follow the group before it"
		}
		if why != "" {
			x.bad[int(n)] = why
			gap++
		} else {
			gap = 0
			end = max(end, b.lastSeq)
			if b.coding == codingColumns {
				x.place.records += b.count
			}
		}
		prev, sum = b.hash, b.sum()
		x.blocks = append(x.blocks, b)
	}
	x.place.blocks, x.place.block, x.place.hash = int64(len(x.blocks)), prev, prev
}

// loadBlock reads one row; why says what is wrong with it.
func loadBlock(conn *sqlite.Conn, n int64) (b blockRow, why string) {
	run := int64(0)
	found, err := row(conn, "SELECT n, grp, run, source, coding, first_seq, last_seq, first_at, last_at, count, "+
		"body_hash, prev, hash FROM block WHERE n = ?", []any{n}, func(s *sqlite.Stmt) {
		run = s.ColumnInt64(2)
		b = blockRow{n: s.ColumnInt64(0), group: s.ColumnInt64(1), run: uint32(run), source: s.ColumnText(3), coding: s.ColumnText(4),
			firstSeq: uint64(s.ColumnInt64(5)), lastSeq: uint64(s.ColumnInt64(6)),
			firstAt: s.ColumnInt64(7), lastAt: s.ColumnInt64(8), count: s.ColumnInt64(9),
			body: columnDigest(s, 10), prev: columnDigest(s, 11), hash: columnDigest(s, 12)}
	})
	switch {
	case err != nil:
		return b, err.Error()
	case !found:
		b.n = n
		return b, "it is missing"
	case b.n != n || run != int64(b.run) || b.sum() != b.hash:
		b.n = n
		return b, "its row was changed"
	}
	return b, b.sane()
}

// sane refuses a row that no writer of this format makes, though its hash fits.
func (b *blockRow) sane() string {
	switch {
	case b.coding == codingJournal && b.source == "" && b.count > 0:
		return ""
	case b.coding != codingColumns:
		return fmt.Sprintf("unknown coding %q: a newer tundish may know it", b.coding)
	case b.source == "" || b.count <= 0 || b.firstSeq == 0 || b.firstSeq > b.lastSeq || b.lastSeq > maxSeq ||
		b.firstAt < 0 || b.firstAt > b.lastAt || b.lastAt > maxMicros:
		return "its row is senseless"
	}
	return ""
}

func (x *index) loadTail(conn *sqlite.Conn) error {
	last, err := lastNumber(conn, "tail")
	if err != nil {
		return err
	}
	prev := x.place.hash
	gap := 0
	for n := int64(1); n <= last; n++ {
		if gap == maxGap {
			x.fault(fmt.Sprintf("tail rows %d to %d are not there", n-maxGap, last))
			break
		}
		t := tailRow{n: n, bad: "it is missing"}
		_, err := row(conn, "SELECT n, blocks, first_seq, records, body, prev, hash FROM tail WHERE n = ?", []any{n}, func(s *sqlite.Stmt) {
			t = tailRow{n: s.ColumnInt64(0), blocks: s.ColumnInt64(1), first: s.ColumnInt64(2), records: s.ColumnInt64(3),
				body: make([]byte, s.ColumnLen(4)), prev: columnDigest(s, 5), hash: columnDigest(s, 6)}
			s.ColumnBytes(4, t.body)
		})
		if err != nil {
			t.bad = err.Error()
		}
		if t.bad == "" {
			t.bad = t.fault(n, x.place.blocks, prev)
		}
		if t.bad == "" {
			x.place.records += t.records
			gap = 0
		} else {
			gap++
			x.fault(fmt.Sprintf("tail row %d: %s", n, t.bad))
		}
		t.n = n
		prev = t.hash
		x.tail = append(x.tail, t)
	}
	x.place.tail, x.place.hash = int64(len(x.tail)), prev
	return nil
}

// fault says what is wrong with a row that stands at place n after some blocks and the row with hash prev.
func (t *tailRow) fault(n, blocks int64, prev digest) string {
	switch {
	case t.n != n || t.blocks != blocks || t.sum() != t.hash:
		return "it was changed"
	case t.prev != prev:
		return "it does not follow what stands before it"
	}
	if err := unpackTail(t, nil, nil); err != nil {
		return err.Error()
	}
	return ""
}

// whole says whether a row's content is as it was, wherever the row stands.
func (t *tailRow) whole() bool { return t.sum() == t.hash && unpackTail(t, nil, nil) == nil }

// compare holds the head row against what the rows add up to.
func (x *index) compare(h headRow) {
	p := x.place
	switch {
	case h.blocks != p.blocks:
		x.fault(fmt.Sprintf("%d blocks are there, the head row counts %d", p.blocks, h.blocks))
	case h.tail != p.tail:
		x.fault(fmt.Sprintf("%d tail rows are there, the head row counts %d", p.tail, h.tail))
	case h.hash != p.hash:
		x.fault("the head row names another hash than the chain ends with")
	case h.records != p.records && len(x.bad) == 0:
		x.fault(fmt.Sprintf("%d records are there, the head row counts %d", p.records, h.records))
	}
}

// contains says whether the chain has been at place p; "" if so.
func (x *index) contains(p place) string {
	if p.blocks < 0 || p.blocks > x.place.blocks {
		return fmt.Sprintf("lost: %d blocks were written, %d are there", p.blocks, x.place.blocks)
	}
	block := genesis()
	if p.blocks > 0 {
		block = x.blocks[p.blocks-1].hash
	}
	switch {
	case block != p.block:
		return fmt.Sprintf("block %d is another one than was written", p.blocks)
	case p.blocks < x.place.blocks:
		// The tail was sealed since; its records must be there.
		if p.records > x.place.records && len(x.bad) == 0 {
			return fmt.Sprintf("lost: %d records were written, %d are there", p.records, x.place.records)
		}
	case p.tail > x.place.tail:
		return fmt.Sprintf("lost: %d tail rows were written, %d are there (%d of %d records)", p.tail, x.place.tail, x.place.records, p.records)
	case p.tail > 0 && x.tail[p.tail-1].hash != p.hash:
		return fmt.Sprintf("tail row %d is another one than was written", p.tail)
	}
	return ""
}

// broken is the first fault of the index, block order first; nil if there is none.
func (x *index) broken() error {
	for n := 1; n <= len(x.blocks); n++ {
		if why, ok := x.bad[n]; ok {
			return &BrokenError{Path: x.path, Block: n, Why: why}
		}
	}
	if x.head != "" {
		return &BrokenError{Path: x.path, Why: x.head}
	}
	return nil
}

// loadBody reads a block's body into dst's memory and checks it.
func (b *blockRow) loadBody(stmt *sqlite.Stmt, dst []byte) ([]byte, error) {
	defer stmt.Reset()
	stmt.BindInt64(1, b.n)
	found, err := stmt.Step()
	if err != nil {
		return dst[:0], err
	}
	if !found {
		return dst[:0], errors.New("its body is missing")
	}
	dst = grown(dst, stmt.ColumnLen(0))
	stmt.ColumnBytes(0, dst)
	if bodyHash(dst) != b.body {
		return dst, errors.New("its body was changed")
	}
	return dst, nil
}

const bodyQuery = "SELECT body FROM body WHERE n = ?"
