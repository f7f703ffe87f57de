package serialline

import (
	"bytes"
	"fmt"
	"time"
)

// LineLimit is the longest line kept in one piece, in bytes. Own choice: an adapter's line is some tens of bytes;
// more without a line end is noise or a wrong baud rate, and memory must stay bounded.
const LineLimit = 4096

// UnfinishedAfter is how long a line may wait for its end after its last byte, before it is emitted as it stands.
// Own choice: at 300 Bd, the slowest rate in use, a byte takes 33 ms, so that a line still being sent is never cut.
const UnfinishedAfter = 2 * time.Second

// overlong is the note on every piece of a line longer than LineLimit. Without it, the cut could make a word edge
// that the line did not have.
var overlong = fmt.Sprintf("line longer than %d bytes: kept in pieces", LineLimit)

// splitter cuts a stream of bytes into lines. A line ends at \n, which stays with it; \r is a byte like any other.
// However the stream is chunked, the pieces are the same, and one after the other they are the stream.
type splitter struct {
	emit  func(payload []byte, at time.Duration, note string) error
	limit int           // LineLimit; tests shorten it
	held  []byte        // the unfinished line
	at    time.Duration // arrival of its last byte
	cut   bool          // pieces of the unfinished line were emitted already
}

// add takes a chunk that arrived at a time. The payloads it emits are valid until emit returns.
func (s *splitter) add(chunk []byte, at time.Duration) error {
	for len(chunk) > 0 {
		room := s.limit - len(s.held)
		n, ended := min(room, len(chunk)), false
		if i := bytes.IndexByte(chunk[:n], '\n'); i >= 0 {
			n, ended = i+1, true
		}
		s.held = append(s.held, chunk[:n]...)
		s.at = at
		chunk = chunk[n:]
		if ended || n == room {
			if err := s.put(ended); err != nil {
				return err
			}
		}
	}
	return nil
}

// overdue tells whether the unfinished line, or the rest of one emitted in pieces, has waited too long at a time.
func (s *splitter) overdue(now time.Duration) bool {
	return (len(s.held) > 0 || s.cut) && now-s.at >= UnfinishedAfter
}

// flush emits the unfinished line as it stands: half a line, which shows by its missing end.
func (s *splitter) flush() error {
	defer func() { s.cut = false }()
	if len(s.held) == 0 {
		return nil
	}
	return s.put(true)
}

// put emits what is held; last says that the line is over with it.
func (s *splitter) put(last bool) error {
	note := ""
	if s.cut || !last {
		note = overlong
	}
	s.cut = !last
	line := s.held
	s.held = s.held[:0]
	return s.emit(line, s.at, note)
}
