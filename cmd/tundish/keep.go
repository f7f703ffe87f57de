package main

import (
	"crypto/sha256"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"sync/atomic"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// A grown capture is analysed again only where it has grown: what the analysis found of a chunk of days is kept in a
// file, named by a hash over all that it follows from. The same parts joined give the same bytes.

const (
	// keepEnv names the folder for what is kept; "off": nothing is kept.
	keepEnv = "TUNDISH_CACHE"
	// keepOff is the word for it.
	keepOff = "off"
	// keepAtMost is how large the folder may grow, in bytes; what was not used for longest goes first. Own choice: some
	// years of a home, or a winter of a hundred.
	keepAtMost = 256 << 20
)

// keeper is the folder in which parts are kept. A nil keeper keeps nothing.
type keeper struct {
	folder  string
	program [sha256.Size]byte // of the program that runs: another may find something else
	log     *slog.Logger
	// chunks and worked are how many the last analysis had, and how many of them it had to work on.
	chunks, worked int
	// looked is how many pieces of arrivals were looked through for what came late.
	looked atomic.Int64
}

// keepFlags are the flags of commands that analyse.
type keepFlags struct {
	NoCache bool `name:"no-cache" help:"Work everything out anew, and keep nothing of it for the next time."`
}

// keeper is the folder that flags and environment ask for; nil: nothing is kept.
func (f keepFlags) keeper(log *slog.Logger) *keeper {
	if f.NoCache {
		return nil
	}
	folder, err := keepFolder()
	if err == nil && folder == "" {
		return nil
	}
	var k *keeper
	if err == nil {
		k, err = newKeeper(folder, log)
	}
	if err != nil {
		log.Debug("what is found of each day is not kept", "folder", folder, "error", err)
		return nil
	}
	return k
}

// newKeeper makes the folder ready. Where that cannot be done nothing is kept, and the analysis goes on without.
func newKeeper(folder string, log *slog.Logger) (*keeper, error) {
	k := &keeper{folder: folder, log: log}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, err
	}
	path, err := os.Executable()
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close() // it was only read
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return nil, err
	}
	h.Sum(k.program[:0])
	return k, nil
}

// keepFolder is where parts are kept: as the environment says, else the user's folder for what can be made anew.
// Empty: nowhere.
func keepFolder() (string, error) {
	switch v := os.Getenv(keepEnv); v {
	case keepOff:
		return "", nil
	case "":
	default:
		return v, nil
	}
	base, err := os.UserCacheDir()
	if err != nil {
		return "", err
	}
	return filepath.Join(base, "tundish", "days"), nil
}

// keptChunk is what is kept of a chunk.
type keptChunk struct {
	Parts   []*analyse.Part
	Records uint64
	Unread  map[string]uint64
	Counted map[string][]decode.Count
	// Late is kept by itself: what came late in some days of arrivals, by the hour of its sender's time.
	Late map[int64]*lateHour
}

func (k *keeper) path(key [sha256.Size]byte) string {
	return filepath.Join(k.folder, fmt.Sprintf("%x", key[:20])+keptSuffix)
}

// fetch looks a chunk up, and fills it.
func (k *keeper) fetch(key [sha256.Size]byte, x *chunk) bool {
	kept, ok := k.read(key)
	if ok {
		x.parts = kept.Parts
		x.seen = &scanned{records: kept.Records, unread: kept.Unread, counted: kept.Counted}
	}
	return ok
}

// read looks up what was kept under a key.
func (k *keeper) read(key [sha256.Size]byte) (*keptChunk, bool) {
	info, err := os.Stat(k.path(key))
	if err != nil || info.Size() > keptFileAtMost {
		return nil, false
	}
	text, err := os.ReadFile(k.path(key))
	if err != nil {
		return nil, false
	}
	kept, err := unpackChunk(text, key)
	if err != nil { // damaged: it is made anew
		return nil, false
	}
	now := time.Now()
	_ = os.Chtimes(k.path(key), now, now) // used; where that cannot be noted it goes sooner
	return kept, true
}

// put keeps a chunk. What cannot be written is not kept: nothing depends on it.
func (k *keeper) put(key [sha256.Size]byte, x *chunk) error {
	if len(x.seen.damage) > 0 || len(x.seen.untimed) > 0 {
		return nil
	}
	return k.write(key, &keptChunk{Parts: x.parts, Records: x.seen.records, Unread: x.seen.unread, Counted: x.seen.counted})
}

// write keeps something under a key.
func (k *keeper) write(key [sha256.Size]byte, kept *keptChunk) error {
	text, err := packChunk(kept, key)
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(k.folder, "new-*"+keptSuffix) // readable by its owner alone
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err = firstError(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), k.path(key))
	}
	if err != nil {
		_ = os.Remove(f.Name()) // the first error is the one to tell
	}
	return err
}

// keepAll keeps what was worked on. Where it cannot be kept, the next analysis does it again.
func (c *captured) keepAll(worked []*chunk) {
	if c.keep == nil {
		return
	}
	put := false
	for _, x := range worked {
		if x.lasts {
			if err := c.keep.put(x.key, x); err != nil {
				c.keep.log.Debug("what was found of some days is not kept", "folder", c.keep.folder, "error", err)
				return
			}
			put = true
		}
	}
	if put {
		if err := c.keep.trim(keepAtMost); err != nil {
			c.keep.log.Debug("what was kept for long is not dropped", "folder", c.keep.folder, "error", err)
		}
	}
}

// trim drops what was not used for longest until the folder holds no more than a number of bytes.
func (k *keeper) trim(most int64) error {
	entries, err := os.ReadDir(k.folder)
	if err != nil {
		return err
	}
	type file struct {
		path string
		size int64
		used time.Time
	}
	var all []file
	var sum int64
	for _, e := range entries {
		if filepath.Ext(e.Name()) != keptSuffix {
			continue
		}
		info, err := e.Info()
		if err != nil { // gone meanwhile
			continue
		}
		all = append(all, file{filepath.Join(k.folder, e.Name()), info.Size(), info.ModTime()})
		sum += info.Size()
	}
	slices.SortFunc(all, func(a, b file) int { return a.used.Compare(b.used) })
	for _, f := range all {
		if sum <= most {
			return nil
		}
		if err := os.Remove(f.path); err != nil && !os.IsNotExist(err) {
			return err
		}
		sum -= f.size
	}
	return nil
}
