package capfile

import (
	"context"
	"errors"
	"fmt"

	"zombiezen.com/go/sqlite"
)

// errStop ends an unpacking that nobody needs any more.
var errStop = errors.New("stopped")

// Proof is what Verify has seen to hold.
type Proof struct {
	Blocks  int    // sealed blocks
	Tail    int    // tail rows, not yet sealed
	Records uint64 // in both
	Head    Head
	// Closed says that the capture was closed cleanly and stands alone.
	Closed bool
}

// Verify walks a capture's chain from the genesis to the head: every row and body against its hash, every hash
// against the next, the sequence of the records, the head row and, where the capture was not closed, the expected
// head beside it. The error is a *BrokenError that names the first block that fails, or what Open gives. Verify
// may run while the capture is recorded, and changes nothing.
func Verify(ctx context.Context, path string) (Proof, error) {
	// The side file is read first: whatever it says then, the snapshot taken after it holds.
	side, hasSide, sideErr := readSide(path)
	r, err := Open(path)
	if err != nil {
		return Proof{}, err
	}
	defer r.Close()
	if err := r.prove(ctx); err != nil {
		return Proof{}, err
	}
	broken := func(why string) error { return &BrokenError{Path: path, Why: why} }
	if sideErr != nil {
		return Proof{}, broken(fmt.Sprintf("%v; whether the last commits are there cannot be told", sideErr))
	}
	if why := r.index.contains(side); hasSide && why != "" {
		return Proof{}, broken(why)
	}
	mode, err := pragma(r.conn, "journal_mode")
	if err != nil {
		return Proof{}, openError(path, err)
	}
	p := r.index.place
	return Proof{Blocks: int(p.blocks), Tail: int(p.tail), Records: uint64(p.records), Head: p.head(),
		Closed: mode == "delete" && p.tail == 0 && !hasSide}, nil
}

// prove reads everything, the way any reader does, and accepts no fault.
func (r *Reader) prove(ctx context.Context) error {
	var first *BrokenError
	seq := uint64(0)
	for rec, err := range r.Records(ctx, Window{}) {
		if d, ok := errors.AsType[*DamageError](err); ok {
			if d.Block > 0 && (first == nil || d.Block < first.Block) {
				first = &BrokenError{Path: r.path, Block: d.Block, Why: d.Why}
			}
			continue
		}
		if err != nil {
			return err
		}
		if seq++; rec.Seq != seq && first == nil && r.index.broken() == nil {
			return &BrokenError{Path: r.path, Block: r.blockOf(rec.Seq),
				Why: fmt.Sprintf("record %d stands where record %d belongs", rec.Seq, seq)}
		}
	}
	if first != nil {
		return first
	}
	if err := r.index.broken(); err != nil {
		return err
	}
	for table, want := range map[string]int64{"block": r.index.place.blocks, "body": r.index.place.blocks, "tail": r.index.place.tail, "head": 1} {
		n := int64(-1)
		_, err := row(r.conn, "SELECT count(*) FROM "+table, nil, func(s *sqlite.Stmt) { n = s.ColumnInt64(0) })
		if err != nil || n != want {
			return &BrokenError{Path: r.path, Why: fmt.Sprintf("table %s has %d rows, %d belong", table, n, want)}
		}
	}
	return nil
}

// blockOf is the first block that can hold a record; 0 for the tail.
func (r *Reader) blockOf(seq uint64) int {
	for i := range r.index.blocks {
		if b := &r.index.blocks[i]; !b.journal() && b.firstSeq <= seq && seq <= b.lastSeq {
			return int(b.n)
		}
	}
	return 0
}
