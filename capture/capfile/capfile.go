// Package capfile keeps a capture: the one file that a job records into.
//
// A capture is an SQLite file that any SQLite client opens. What a source delivered stands in it untouched, in
// blocks of one run and source each, and what people and the logger said about the recording (job sheets, runs,
// clock observations, marks) stands in the journal, in blocks of readable JSON lines. All blocks form one hash
// chain:
//
//	genesis ◀─ block 1 ◀─ block 2 ◀─ … ◀─ block n ◀─ tail row 1 ◀─ … ◀─ tail row t ◀─ head row, NAME-head
//	           └──────── sealed, columnar ───────┘   └─ a row a commit, not yet ─┘
//	                                                     sealed
//
// [Create] or [Continue] gives the [Writer], [Open] the [Reader], and [Verify] proves the chain. FORMAT.md, beside
// the code, draws every byte and says what the chain proves and what it does not.
//
// UTC is computed on reading, from each run's clock observations (clock.go): a correction that came late also
// corrects what was recorded before it.
//
// Left out: signing of the head, forwarding cursors, and any way to change or drop a record.
package capfile

import (
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"time"

	"tundish/capture"
)

// Limits of what one capture takes. They are bounds of the file format: readers refuse more.
const (
	// MaxPayload is the greatest payload of a record, and the greatest job sheet, in bytes.
	MaxPayload = 1 << 20
	// MaxText is the greatest length of a channel, a note, a mark or a reason, in bytes.
	MaxText = 1 << 16
	// MaxSource is the greatest length of a source's name, in bytes.
	MaxSource = 255
	// MaxBlockRecords is the greatest Options.BlockRecords.
	MaxBlockRecords = 1 << 16
	// MaxAt is the longest run.
	MaxAt = 100 * 365 * 24 * time.Hour
)

// defaultBlockRecords is the size of a block, in records a stream: measured; smaller blocks waste half a page
// each, larger ones make a short window dear to read.
const defaultBlockRecords = 4096

// sealBytes bounds what waits for a seal, in bytes of payload and text, so that large payloads cannot make blocks
// that do not fit into memory.
const sealBytes = 4 << 20

// Options are choices made when a capture is opened for writing. The zero value is right for recording.
type Options struct {
	// BlockRecords is the number of records of one stream that fills a block, at most MaxBlockRecords; 0 = 4096.
	BlockRecords int
}

func (o Options) blockRecords() (int, error) {
	switch {
	case o.BlockRecords == 0:
		return defaultBlockRecords, nil
	case o.BlockRecords < 0 || o.BlockRecords > MaxBlockRecords:
		return 0, fmt.Errorf("block size %d: must be from 1 to %d records", o.BlockRecords, MaxBlockRecords)
	}
	return o.BlockRecords, nil
}

// Head is the end of a capture's chain at one moment. Two captures with the same head hold the same blocks, tail
// rows and order.
type Head struct {
	// Blocks is the number of sealed blocks.
	Blocks int
	// Records is the number of records, sealed or in the tail.
	Records uint64
	// Hash is the hash of the last tail row, else of the last block.
	Hash [32]byte
}

// String is the hash as 64 lower-case hex digits.
func (h Head) String() string { return hex.EncodeToString(h.Hash[:]) }

// Errors that a caller may act on, found with errors.Is.
var (
	// ErrNotCapture: the file is no capture, or it is damaged so early in its structure that it cannot be told
	// from one that is not.
	ErrNotCapture = errors.New("not a capture")
	// ErrFull: the disk, the quota or the file-size limit is full. What was committed stays; the writer keeps what
	// it has buffered and Commit may be called again when there is room.
	ErrFull = errors.New("no room left to write")
	// ErrBusy: another process records into the capture, or a reader keeps it from being closed cleanly.
	ErrBusy = errors.New("in use elsewhere")
	// ErrReadOnly: the capture or its folder cannot be written.
	ErrReadOnly = errors.New("not writable")
	// ErrTooLarge: a payload, text or name is over its limit (MaxPayload, MaxText, MaxSource).
	ErrTooLarge = errors.New("too large")
	// ErrClosed: the Writer or Reader was closed.
	ErrClosed = errors.New("already closed")
)

// VersionError says that a capture was written by a later version of the format than this program reads.
type VersionError struct {
	Path       string
	Has, Reads int
}

func (e *VersionError) Error() string {
	return fmt.Sprintf("%s: capture of format %d, this program reads up to %d: use a newer tundish", e.Path, e.Has, e.Reads)
}

// BrokenError says where a chain is broken.
type BrokenError struct {
	Path string
	// Block is the first block that fails, from 1; 0 where the fault lies in the tail or the head.
	Block int
	Why   string
}

func (e *BrokenError) Error() string {
	if e.Block == 0 {
		return fmt.Sprintf("%s: chain broken: %s", e.Path, e.Why)
	}
	return fmt.Sprintf("%s: chain broken at block %d: %s", e.Path, e.Block, e.Why)
}

// DamageError stands in the place of records that a Reader cannot vouch for.
type DamageError struct {
	// Block is the block's number, from 1; 0 for a tail row.
	Block int
	// Tail is the tail row's number, from 1; 0 for a block.
	Tail int
	// Run and Source name the stream, as far as the file still says; Source is "" for the journal.
	Run    uint32
	Source string
	// From and To are the first and last time concerned; zero where not known.
	From, To time.Time
	Why      string
}

func (e *DamageError) Error() string {
	place, stream, when := fmt.Sprintf("block %d", e.Block), fmt.Sprintf("run %d source %q", e.Run, e.Source), ""
	if e.Block == 0 {
		place, stream = fmt.Sprintf("tail row %d", e.Tail), "all sources"
	} else if e.Source == "" {
		stream = "journal"
	}
	if !e.From.IsZero() {
		when = fmt.Sprintf(", %s to %s", e.From.Format(time.RFC3339), e.To.Format(time.RFC3339))
	}
	return fmt.Sprintf("%s (%s%s): damaged, left out: %s", place, stream, when, e.Why)
}

// checkRecord refuses what the format cannot hold.
func checkRecord(rec *capture.Record) error {
	if err := checkAt(rec.At); err != nil {
		return err
	}
	if err := checkSource(rec.Source); err != nil {
		return err
	}
	switch {
	case len(rec.Payload) > MaxPayload:
		return fmt.Errorf("payload of %d bytes, at most %d are kept: %w", len(rec.Payload), MaxPayload, ErrTooLarge)
	case len(rec.Channel) > MaxText:
		return fmt.Errorf("channel name of %d bytes, at most %d are kept: %w", len(rec.Channel), MaxText, ErrTooLarge)
	case len(rec.Note) > MaxText:
		return fmt.Errorf("note of %d bytes, at most %d are kept: %w", len(rec.Note), MaxText, ErrTooLarge)
	}
	return nil
}

func checkAt(at time.Duration) error {
	if at < 0 || at > MaxAt {
		return fmt.Errorf("time in run %v: must be from 0 to %v", at, MaxAt)
	}
	return nil
}

// micros rounds down to the file's resolution.
func micros(at time.Duration) int64 { return int64(at / time.Microsecond) }

// maxMicros is MaxAt at the file's resolution.
const maxMicros = int64(MaxAt / time.Microsecond)

// maxSeq bounds sequence numbers to what SQLite's signed integers hold.
const maxSeq = uint64(math.MaxInt64)
