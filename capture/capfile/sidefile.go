package capfile

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// sideSuffix is added to the capture's name.
const sideSuffix = "-head"

// place is the state of a chain after one commit.
type place struct {
	blocks, tail, records int64
	block                 digest // hash of the last block
	hash                  digest // hash of the last tail row, else block
}

// sideFile keeps the expected place beside the capture while it is recorded: the engine drops a damaged log
// without a word. It also carries the lock that keeps a second writer away.
type sideFile struct{ f *os.File }

// sideLine is one line of fixed length, so that writing it anew never leaves an end of the old one.
func sideLine(p place) []byte {
	s := fmt.Sprintf("tundish-head 1 blocks=%019d tail=%019d records=%019d block=%x hash=%x",
		p.blocks, p.tail, p.records, p.block, p.hash)
	sum := sha256.Sum256([]byte(s))
	return fmt.Appendf(nil, "%s sum=%x\n", s, sum[:8])
}

func parseSide(text []byte) (place, error) {
	var p place
	var block, hash []byte
	_, err := fmt.Sscanf(string(text), "tundish-head 1 blocks=%d tail=%d records=%d block=%x hash=%x",
		&p.blocks, &p.tail, &p.records, &block, &hash)
	if err != nil || len(block) != len(p.block) || len(hash) != len(p.hash) {
		return p, errors.New("not as it was written")
	}
	p.block, p.hash = digest(block), digest(hash)
	if string(sideLine(p)) != string(text) {
		return p, errors.New("not as it was written")
	}
	return p, nil
}

// readSide gives the expected place; ok is false where there is no side file, or an empty one.
func readSide(path string) (p place, ok bool, err error) {
	text, err := os.ReadFile(path + sideSuffix)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(text) == 0 {
		return p, false, nil
	}
	if err == nil {
		p, err = parseSide(text)
	}
	if err != nil {
		return p, false, fmt.Errorf("side file %s%s: %w", path, sideSuffix, err)
	}
	return p, true, nil
}

// openSide opens and locks the side file, making it where there is none.
func openSide(path string) (*sideFile, error) {
	name := path + sideSuffix
	for {
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o644)
		if err != nil {
			return nil, err
		}
		if err := lockFile(f); err != nil {
			f.Close()
			return nil, fmt.Errorf("%s: %w: another process records into it", path, ErrBusy)
		}
		// The one who held the lock may have removed the file when done.
		st, err := f.Stat()
		now, errNow := os.Stat(name)
		if err == nil && errNow == nil && os.SameFile(st, now) {
			return &sideFile{f}, nil
		}
		f.Close()
	}
}

func (s *sideFile) write(p place) error {
	_, err := s.f.WriteAt(sideLine(p), 0)
	return err
}

func (s *sideFile) read() ([]byte, error) {
	return io.ReadAll(io.NewSectionReader(s.f, 0, 1<<12))
}

func (s *sideFile) close() error { return s.f.Close() }

func (s *sideFile) empty() bool {
	st, err := s.f.Stat()
	return err == nil && st.Size() == 0
}

// remove ends the side file, when the capture stands alone.
func (s *sideFile) remove() error {
	name := s.f.Name()
	return errors.Join(s.f.Close(), os.Remove(name))
}

// String is for messages.
func (p place) String() string {
	return fmt.Sprintf("%d blocks, %d tail rows, %d records, head %s", p.blocks, p.tail, p.records, hex.EncodeToString(p.hash[:]))
}
