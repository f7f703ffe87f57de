package capfile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"zombiezen.com/go/sqlite"
)

// Create makes a capture. The error is os.ErrExist if the file is there already.
func Create(path string, opt Options) (*Writer, error) {
	limit, err := opt.blockRecords()
	if err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o644)
	if err != nil {
		return nil, err
	}
	if err := f.Close(); err != nil {
		return nil, err
	}
	// A side file left by a capture that is gone would accuse this one.
	if err := os.Remove(path + sideSuffix); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, errors.Join(err, os.Remove(path))
	}
	w, err := openWriter(path, limit)
	if err != nil {
		for _, suffix := range []string{"", sideSuffix, "-wal", "-shm", "-journal"} {
			os.Remove(path + suffix)
		}
		return nil, err
	}
	return w, nil
}

// Continue opens a capture to go on recording in it. What a killed run left unsealed is verified and sealed; what
// is damaged or missing there is kept as far as it exists and recorded ([Reader.Losses]). An error is ErrBusy
// while another process records into it, ErrNotCapture, a *VersionError, or a *BrokenError if sealed blocks are
// not as they were: such a capture is kept as it is, and recording goes on in a new one.
func Continue(path string, opt Options) (*Writer, error) {
	limit, err := opt.blockRecords()
	if err != nil {
		return nil, err
	}
	if _, err := plainFile(path); err != nil {
		return nil, err
	}
	return openWriter(path, limit)
}

func openWriter(path string, limit int) (*Writer, error) {
	w := &Writer{path: path, limit: limit, runs: map[uint32]bool{}, byKey: map[streamKey]*stream{}}
	var err error
	if w.side, err = openSide(path); err != nil {
		return nil, err
	}
	if err := w.begin(); err != nil {
		fresh := w.side.empty()
		err = errors.Join(err, w.release())
		if fresh { // made just now, beside something that is no capture
			os.Remove(path + sideSuffix)
		}
		return nil, err
	}
	return w, nil
}

// begin opens the file, and makes it if it is empty.
func (w *Writer) begin() (err error) {
	if w.conn, err = sqlite.OpenConn(w.path, sqlite.OpenReadWrite); err != nil {
		return openError(w.path, err)
	}
	w.conn.SetBusyTimeout(busyTimeout)
	if w.cols.enc, err = newEncoder(); err != nil {
		return err
	}
	pages, err := pragma(w.conn, "page_count")
	if err != nil {
		return openError(w.path, err)
	}
	if pages == "0" { // just made, or killed while it was
		if err := makeSchema(w.conn); err != nil {
			return writeError(w.path, err)
		}
		syncFolder(w.path)
	}
	if err := checkSchema(w.conn, w.path); err != nil {
		return err
	}
	x, head, err := w.inspect()
	if err != nil {
		return err
	}
	if err := recordingMode(w.conn); err != nil {
		return writeError(w.path, err)
	}
	if err := w.recover(x, head); err != nil {
		return err
	}
	return w.noteSide()
}

// syncFolder makes a new file's name durable, where the system can.
func syncFolder(path string) {
	if d, err := os.Open(filepath.Dir(path)); err == nil {
		d.Sync()
		d.Close()
	}
}

// release lets go of everything without writing.
func (w *Writer) release() error {
	var errs []error
	if w.conn != nil {
		errs = append(errs, w.conn.Close())
		w.conn = nil
	}
	if w.cols.enc != nil {
		errs = append(errs, w.cols.enc.Close())
	}
	if w.side != nil {
		errs = append(errs, w.side.close())
		w.side = nil
	}
	return errors.Join(errs...)
}
