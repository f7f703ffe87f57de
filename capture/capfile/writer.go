package capfile

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"time"

	"zombiezen.com/go/sqlite"

	"tundish/capture"
)

// Writer records into one capture. It belongs to one goroutine. What Append and the journal's methods take is
// durable after the next Commit; Close commits too.
type Writer struct {
	path  string
	conn  *sqlite.Conn
	side  *sideFile
	cols  columnWriter
	limit int // records a stream and block

	place place // what the file holds
	group int64 // last group sealed
	seq   uint64

	runs map[uint32]bool // that go on
	last uint32          // run number given last

	// Not yet sealed, durable or not:
	streams []*stream
	byKey   map[streamKey]*stream
	recent  *stream
	lines   [][]byte
	size    int // bytes of it
	// Not yet durable:
	pending tailPacker
}

type streamKey struct {
	run    uint32
	source string
}

func (w *Writer) open() error {
	if w.conn == nil {
		return fmt.Errorf("%s: %w", w.path, ErrClosed)
	}
	return nil
}

// StartRun begins a run and gives its number, from 1.
func (w *Writer) StartRun(info RunInfo) (uint32, error) {
	n := w.last + 1
	e, err := startEntry(n, info)
	if err == nil {
		err = w.enter(e)
	}
	if err != nil {
		return 0, fmt.Errorf("start of run %d: %w", n, err)
	}
	w.last, w.runs[n] = n, true
	return n, nil
}

// EndRun ends a run at a time in it. why says in words what ended it; it must not be empty, since a run without a
// reason was killed.
func (w *Writer) EndRun(run uint32, at time.Duration, why string) error {
	err := w.going(run)
	if err == nil {
		err = checkAt(at)
	}
	if err == nil {
		err = checkText("reason", why)
	}
	if err == nil && why == "" {
		err = errors.New("no reason given: say what ended it")
	}
	if err == nil {
		err = w.enter(entry{Kind: entryRunEnd, Run: run, AtUS: micros(at), Text: why})
	}
	if err != nil {
		return fmt.Errorf("end of run %d: %w", run, err)
	}
	delete(w.runs, run)
	return nil
}

// Sheet keeps one version of a job sheet.
func (w *Writer) Sheet(run uint32, name string, text []byte) error {
	e, err := sheetEntry(run, name, text)
	return w.note(run, "job sheet", e, err)
}

// Observe keeps a look at the wall clock. The years 1970 to 2150 are taken.
func (w *Writer) Observe(run uint32, o Observation) error {
	e, err := observationEntry(run, o)
	return w.note(run, "clock observation", e, err)
}

// Mark keeps what a person noted at a time in the run.
func (w *Writer) Mark(run uint32, at time.Duration, text string) error {
	return w.note(run, "mark", entry{Kind: entryMark, Run: run, AtUS: micros(at), Text: text},
		errors.Join(checkAt(at), checkText("mark", text)))
}

// note enters e unless err or the run says otherwise.
func (w *Writer) note(run uint32, what string, e entry, err error) error {
	if err == nil {
		err = w.going(run)
	}
	if err == nil {
		err = w.enter(e)
	}
	if err != nil {
		return fmt.Errorf("%s in run %d: %w", what, run, err)
	}
	return nil
}

func (w *Writer) going(run uint32) error {
	if err := w.open(); err != nil {
		return err
	}
	if !w.runs[run] {
		return fmt.Errorf("run %d: not started, or ended", run)
	}
	return nil
}

// enter puts an entry into the journal.
func (w *Writer) enter(e entry) error {
	if err := w.open(); err != nil {
		return err
	}
	line, err := e.line()
	if err != nil {
		return err
	}
	if err := w.room(len(w.lines)); err != nil {
		return err
	}
	w.keepLine(line)
	w.pending.journal(line)
	return nil
}

// room seals when the next item would not fit.
func (w *Writer) room(waiting int) error {
	if waiting < w.limit && w.size < sealBytes {
		return nil
	}
	return w.seal()
}

func (w *Writer) keepLine(line []byte) {
	w.lines = append(w.lines, line)
	w.size += len(line)
}

func (w *Writer) keepRecord(s *stream, rec *capture.Record) {
	w.seq++
	s.add(rec, w.seq)
	w.size += len(rec.Payload) + len(rec.Channel) + len(rec.Note)
}

// Append keeps a record of a run that goes on and numbers it; At is rounded down to a microsecond, Seq and Time
// are not looked at, Payload is copied. With an error (ErrTooLarge, ErrFull, …) the record is not in.
func (w *Writer) Append(rec capture.Record) error {
	err := w.going(rec.Run)
	if err == nil {
		err = checkRecord(&rec)
	}
	if err != nil {
		return fmt.Errorf("record of source %q: %w", rec.Source, err)
	}
	s := w.stream(rec.Run, rec.Source)
	if err := w.room(len(s.seq)); err != nil {
		return err
	}
	w.keepRecord(w.stream(rec.Run, rec.Source), &rec)
	w.pending.record(&rec)
	return nil
}

func (w *Writer) stream(run uint32, source string) *stream {
	if s := w.recent; s != nil && s.run == run && s.source == source {
		return s
	}
	key := streamKey{run, source}
	s := w.byKey[key]
	if s == nil {
		s = &stream{run: run, source: source}
		w.byKey[key] = s
		w.streams = append(w.streams, s)
	}
	w.recent = s
	return s
}

// Commit makes durable all that was taken so far. After an error (ErrFull, ErrBusy, …) it stays buffered, and
// Commit may be called again.
func (w *Writer) Commit() error {
	if err := w.open(); err != nil {
		return err
	}
	if w.pending.empty() {
		return nil
	}
	full := func(s *stream) bool { return len(s.seq) >= w.limit }
	if len(w.lines) >= w.limit || w.size >= sealBytes || slices.ContainsFunc(w.streams, full) {
		return w.seal()
	}
	return w.commitTail()
}

// Head is the head of what is durable.
func (w *Writer) Head() Head { return w.place.head() }

func (p place) head() Head {
	return Head{Blocks: int(p.blocks), Records: uint64(p.records), Hash: p.hash}
}

// Size is what the capture takes on the disk, with its log, in bytes.
func (w *Writer) Size() (int64, error) {
	st, err := os.Stat(w.path)
	if err != nil {
		return 0, err
	}
	size := st.Size()
	if st, err := os.Stat(w.path + "-wal"); err == nil {
		size += st.Size()
	}
	return size, nil
}

// Close seals everything and leaves one file that stands alone. After an error the capture is whole but not alone:
// its -wal and -head files belong to it until a Continue and Close succeed. The error is ErrBusy if somebody reads
// the capture just then. Further calls give ErrClosed.
func (w *Writer) Close() error {
	if err := w.open(); err != nil {
		return err
	}
	err := w.finish()
	if err != nil {
		return errors.Join(err, w.release())
	}
	side := w.side
	w.side = nil
	if err := w.release(); err != nil {
		return errors.Join(err, side.close())
	}
	return side.remove()
}

// finish seals and ends the write-ahead log.
func (w *Writer) finish() error {
	if len(w.lines) > 0 || len(w.streams) > 0 || w.place.tail > 0 {
		if err := w.seal(); err != nil {
			return err
		}
	}
	if _, err := pragma(w.conn, "wal_checkpoint(TRUNCATE)"); err != nil {
		return writeError(w.path, err)
	}
	mode, err := pragma(w.conn, "journal_mode=DELETE")
	if err != nil && sqlite.ErrCode(err).ToPrimary() != sqlite.ResultBusy {
		return writeError(w.path, err)
	}
	if mode != "delete" {
		return fmt.Errorf("%s: %w: somebody reads it, so that its -wal and -head files still belong to it", w.path, ErrBusy)
	}
	return nil
}
