package capfile

import (
	"bytes"
	"errors"
	"fmt"
	"slices"

	"github.com/klauspost/compress/zstd"
	"zombiezen.com/go/sqlite"
	"zombiezen.com/go/sqlite/sqlitex"

	"tundish/capture"
)

// Reader reads a capture as it was when opened, also while another process records into it. It belongs to one
// goroutine; open several to read in parallel. While it is open the recorder's log grows, and the recorder cannot
// close cleanly: do not keep it for long. It never changes the capture.
type Reader struct {
	path    string
	conn    *sqlite.Conn
	index   *index
	journal journal
	body    *sqlite.Stmt
	zstd    *zstd.Decoder
	spare   []*blockDecoder
	buf     []byte
}

// Open opens a capture for reading. A damaged one opens too, if its structure still holds: Records then yields a
// *DamageError in each damaged place. Errors: fs.ErrNotExist, ErrNotCapture, *VersionError, ErrReadOnly (it was not
// closed cleanly and lies in a folder that cannot be written).
func Open(path string) (*Reader, error) {
	if _, err := plainFile(path); err != nil {
		return nil, err
	}
	conn, err := sqlite.OpenConn(path, sqlite.OpenReadOnly)
	if err != nil {
		return nil, openError(path, err)
	}
	r := &Reader{path: path, conn: conn}
	if err := r.load(); err != nil {
		r.Close()
		return nil, err
	}
	return r, nil
}

func (r *Reader) load() (err error) {
	r.conn.SetBusyTimeout(busyTimeout)
	// The snapshot begins with the first look after BEGIN and lasts until Close.
	if err := sqlitex.ExecuteTransient(r.conn, "BEGIN", nil); err != nil {
		return openError(r.path, err)
	}
	if err := checkSchema(r.conn, r.path); err != nil {
		return err
	}
	if r.zstd, err = newDecoder(); err != nil {
		return err
	}
	if r.body, err = r.conn.Prepare(bodyQuery); err != nil {
		return openError(r.path, err)
	}
	if r.index, err = loadIndex(r.conn, r.path); err != nil {
		return err
	}
	r.loadJournal()
	return nil
}

// loadJournal reads all that is not a record, and computes the times.
func (r *Reader) loadJournal() {
	for i := range r.index.blocks {
		b := &r.index.blocks[i]
		if r.index.bad[int(b.n)] != "" {
			continue
		}
		if !b.journal() {
			r.journal.seen(b.run, b.lastAt)
			continue
		}
		var err error
		r.buf, err = b.loadBody(r.body, r.buf)
		if err == nil {
			err = r.journal.lines(r.buf, b.count)
		}
		if err != nil {
			r.index.bad[int(b.n)] = err.Error()
		}
	}
	for i := range r.index.tail {
		t := &r.index.tail[i]
		if t.bad != "" {
			continue
		}
		err := unpackTail(t, func(rec *capture.Record) error {
			r.journal.seen(rec.Run, micros(rec.At))
			return nil
		}, r.journal.line)
		if err != nil {
			t.bad = err.Error()
			r.index.fault(fmt.Sprintf("tail row %d: %s", t.n, t.bad))
		}
	}
	r.journal.settle()
}

// Sheets are all versions of job sheets, in order of recording.
func (r *Reader) Sheets() []Sheet {
	list := slices.Clone(r.journal.sheets)
	for i := range list {
		list[i].Text = bytes.Clone(list[i].Text)
	}
	return list
}

// Runs are the runs by number.
func (r *Reader) Runs() []Run {
	var list []Run
	for _, s := range r.journal.sorted() {
		run := s.Run
		run.Sources, run.Observations = slices.Clone(run.Sources), slices.Clone(run.Observations)
		run.Steps, run.Sleeps = slices.Clone(run.Steps), slices.Clone(run.Sleeps)
		list = append(list, run)
	}
	return list
}

// Marks are what people noted, in order of recording.
func (r *Reader) Marks() []Mark { return slices.Clone(r.journal.marks) }

// Losses are what was found damaged or missing each time that recording went on after a kill.
func (r *Reader) Losses() []Loss { return slices.Clone(r.journal.losses) }

// Head is the head of what the Reader sees. [Verify] says whether it is proven.
func (r *Reader) Head() Head { return r.index.place.head() }

// Close ends reading. Further calls give ErrClosed.
func (r *Reader) Close() error {
	if r.conn == nil {
		return fmt.Errorf("%s: %w", r.path, ErrClosed)
	}
	if r.zstd != nil {
		r.zstd.Close()
	}
	err := errors.Join(r.conn.Close())
	r.conn = nil
	return err
}
