package capfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"zombiezen.com/go/sqlite"
	"zombiezen.com/go/sqlite/sqlitex"
)

const (
	// applicationID marks the SQLite file as a capture: "tund" in ASCII, at offset 68 of the file.
	applicationID = 0x74756e64
	// formatVersion stands in user_version, at offset 60 of the file.
	formatVersion = 1
	// busyTimeout is how long a writer waits for a lock: a commit of another connection takes milliseconds.
	busyTimeout = 5 * time.Second
)

// schema is compared word for word on opening: nothing in a capture that is not named here.
var schema = [...]struct{ kind, name, sql string }{
	{"table", "block", `CREATE TABLE block (
  n INTEGER PRIMARY KEY,
  grp INTEGER NOT NULL,
  run INTEGER NOT NULL,
  source TEXT NOT NULL,
  coding TEXT NOT NULL,
  first_seq INTEGER NOT NULL,
  last_seq INTEGER NOT NULL,
  first_at INTEGER NOT NULL,
  last_at INTEGER NOT NULL,
  count INTEGER NOT NULL,
  body_hash BLOB NOT NULL,
  prev BLOB NOT NULL,
  hash BLOB NOT NULL
)`},
	{"table", "body", `CREATE TABLE body (
  n INTEGER PRIMARY KEY,
  body NOT NULL
)`},
	{"table", "head", `CREATE TABLE head (
  id INTEGER PRIMARY KEY,
  blocks INTEGER NOT NULL,
  tail INTEGER NOT NULL,
  records INTEGER NOT NULL,
  hash BLOB NOT NULL
)`},
	{"view", "journal", `CREATE VIEW journal AS
SELECT block.n AS n, body.body AS lines FROM block JOIN body ON body.n = block.n
WHERE block.coding = 'json-lines' ORDER BY block.n`},
	{"table", "tail", `CREATE TABLE tail (
  n INTEGER PRIMARY KEY,
  blocks INTEGER NOT NULL,
  first_seq INTEGER NOT NULL,
  records INTEGER NOT NULL,
  body BLOB NOT NULL,
  prev BLOB NOT NULL,
  hash BLOB NOT NULL
)`},
}

// pragma runs one pragma and gives the first column of its answer.
func pragma(conn *sqlite.Conn, text string) (string, error) {
	var got string
	err := sqlitex.ExecuteTransient(conn, "PRAGMA "+text, &sqlitex.ExecOptions{ResultFunc: func(s *sqlite.Stmt) error {
		got = s.ColumnText(0)
		return nil
	}})
	return got, err
}

func pragmas(conn *sqlite.Conn, texts ...string) error {
	for _, t := range texts {
		if _, err := pragma(conn, t); err != nil {
			return err
		}
	}
	return nil
}

// makeSchema fills an empty file. It does so in one transaction with a rollback journal, so that a kill leaves
// either an empty file or a whole capture.
func makeSchema(conn *sqlite.Conn) error {
	if err := pragmas(conn, "page_size=4096", "synchronous=FULL"); err != nil {
		return err
	}
	return inTransaction(conn, func() error { return fillSchema(conn) })
}

func fillSchema(conn *sqlite.Conn) error {
	if err := pragmas(conn, fmt.Sprintf("application_id=%d", applicationID), fmt.Sprintf("user_version=%d", formatVersion)); err != nil {
		return err
	}
	for _, s := range schema {
		if err := sqlitex.ExecuteTransient(conn, s.sql, nil); err != nil {
			return err
		}
	}
	g := genesis()
	return sqlitex.Execute(conn, "INSERT INTO head (id, blocks, tail, records, hash) VALUES (1, 0, 0, 0, ?)",
		&sqlitex.ExecOptions{Args: []any{g[:]}})
}

// recordingMode sets what holds while a capture is written.
func recordingMode(conn *sqlite.Conn) error {
	mode, err := pragma(conn, "journal_mode=WAL")
	if err != nil {
		return err
	}
	if mode != "wal" {
		return fmt.Errorf("the file system does not allow a write-ahead log (mode %s): record onto a local disk", mode)
	}
	return pragmas(conn, "synchronous=FULL", "wal_autocheckpoint=250", "wal_checkpoint(TRUNCATE)")
}

// checkSchema says whether conn is open on a capture that this program reads.
func checkSchema(conn *sqlite.Conn, path string) error {
	if err := pragmas(conn, "trusted_schema=OFF", "cell_size_check=ON"); err != nil {
		return openError(path, err)
	}
	id, err := pragma(conn, "application_id")
	if err != nil {
		return openError(path, err)
	}
	if id != fmt.Sprint(applicationID) {
		return fmt.Errorf("%s: %w: its application id is %s", path, ErrNotCapture, id)
	}
	var version int
	_, err = pragma(conn, "user_version")
	if err == nil {
		err = sqlitex.ExecuteTransient(conn, "PRAGMA user_version", &sqlitex.ExecOptions{ResultFunc: func(s *sqlite.Stmt) error {
			version = s.ColumnInt(0)
			return nil
		}})
	}
	if err != nil {
		return openError(path, err)
	}
	if version > formatVersion {
		return &VersionError{Path: path, Has: version, Reads: formatVersion}
	}
	if version != formatVersion {
		return fmt.Errorf("%s: %w: format %d was never in use", path, ErrNotCapture, version)
	}
	i := 0
	err = sqlitex.ExecuteTransient(conn, "SELECT type, name, sql FROM sqlite_schema ORDER BY name", &sqlitex.ExecOptions{ResultFunc: func(s *sqlite.Stmt) error {
		if i >= len(schema) || schema[i].kind != s.ColumnText(0) || schema[i].name != s.ColumnText(1) || schema[i].sql != s.ColumnText(2) {
			return fmt.Errorf("%w: unexpected %s %q in it", ErrNotCapture, s.ColumnText(0), s.ColumnText(1))
		}
		i++
		return nil
	}})
	switch {
	case errors.Is(err, ErrNotCapture):
		return fmt.Errorf("%s: %w", path, err)
	case err != nil:
		return openError(path, err)
	case i != len(schema):
		return fmt.Errorf("%s: %w: table %q is missing", path, ErrNotCapture, schema[i].name)
	}
	return nil
}

// openError puts an error of the engine, met while opening, into words.
func openError(path string, err error) error {
	switch sqlite.ErrCode(err).ToPrimary() {
	case sqlite.ResultNotADB:
		return fmt.Errorf("%s: %w: it is another kind of file", path, ErrNotCapture)
	case sqlite.ResultCorrupt, sqlite.ResultError, sqlite.ResultFormat, sqlite.ResultTooBig:
		return fmt.Errorf("%s: %w: %w", path, ErrNotCapture, err)
	case sqlite.ResultCantOpen, sqlite.ResultReadOnly:
		if _, e := os.Stat(path + "-journal"); e == nil {
			return fmt.Errorf("%s: its closing was interrupted, and reading may not mend it: go on recording into it "+
				"and stop again; nothing is lost: %w: %w", path, ErrReadOnly, err)
		}
		if f, e := os.Open(filepath.Join(filepath.Dir(path), ".")); e == nil {
			f.Close()
		} else {
			return e
		}
		return fmt.Errorf("%s: it was not closed after recording, and its folder cannot be written, which reading "+
			"it then needs: copy it with %s-wal and %s-head to another folder: %w: %w",
			path, filepath.Base(path), filepath.Base(path), ErrReadOnly, err)
	}
	return writeError(path, err)
}

// writeError puts an error of the engine, met while writing, into words.
func writeError(path string, err error) error {
	code := sqlite.ErrCode(err)
	switch code.ToPrimary() {
	case sqlite.ResultFull:
		return fmt.Errorf("%s: %w: %w", path, ErrFull, err)
	case sqlite.ResultIOErr:
		if noRoom(path) {
			return fmt.Errorf("%s: %w: %w", path, ErrFull, err)
		}
	case sqlite.ResultBusy, sqlite.ResultLocked:
		return fmt.Errorf("%s: %w: %w", path, ErrBusy, err)
	case sqlite.ResultReadOnly, sqlite.ResultCantOpen, sqlite.ResultPerm, sqlite.ResultAuth:
		return fmt.Errorf("%s: %w: %w", path, ErrReadOnly, err)
	}
	return fmt.Errorf("%s: %w", path, err)
}

// noRoom finds out whether a write error of the engine, which hides the system's reason, means that there is no
// room: it writes a page beside the capture, at the place where the log has come to.
func noRoom(path string) bool {
	f, err := os.CreateTemp(filepath.Dir(path), ".room-*")
	if err != nil {
		return outOfRoom(err)
	}
	defer os.Remove(f.Name())
	defer f.Close()
	at := int64(0)
	for _, name := range []string{path, path + "-wal"} {
		if st, err := os.Stat(name); err == nil {
			at = max(at, st.Size())
		}
	}
	_, err = f.WriteAt([]byte(strings.Repeat("\x00", 1<<16)), at)
	return outOfRoom(err)
}

func outOfRoom(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EFBIG) || errors.Is(err, syscall.EDQUOT)
}

// plainFile refuses what is not a file before the engine sees it.
func plainFile(path string) (fs.FileInfo, error) {
	st, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !st.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: %w: it is a folder or a device, and no file", path, ErrNotCapture)
	}
	return st, nil
}
