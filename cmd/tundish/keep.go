package main

import (
	"crypto/sha256"
	"fmt"
	"hash"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/capture/capfile"
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
}

// key is the hash over all that a chunk's parts follow from. False: they cannot be kept.
func (k *keeper) key(c *captured, cfg *analyse.Config, x *chunk) (key [sha256.Size]byte, ok bool) {
	if x.bounds.From.IsZero() { // nothing was recorded
		return key, false
	}
	records, ok := c.reader.Fingerprint(x.window)
	if !ok {
		return key, false
	}
	h := sha256.New()
	h.Write(k.program[:])
	h.Write(records[:])
	say(h, "on %s; days %s to %s, records %s to %s, none %t, going %t", runtime.GOARCH, stamp(x.bounds.From), stamp(x.bounds.To),
		stamp(x.window.From), stamp(x.window.To), x.none, x.going)
	say(h, "zone %s", cfg.Site.Zone)
	for day := cfg.Day(x.bounds.From); ; day = day.Next(cfg.Site.Zone) {
		say(h, "day %s %s %s", stamp(day.From), stamp(day.To), day.Lead)
		if !x.bounds.To.IsZero() && !day.To.Before(x.bounds.To) || x.bounds.To.IsZero() && day.To.After(lastOf(cfg)) {
			break
		}
	}
	say(h, "buses %q", cfg.Buses)
	say(h, "plant %q, house %q", c.sheet.Text, c.sheet.Site.HouseText)
	for _, r := range c.reader.Runs() {
		if r.Kind == capfile.Note || r.From.IsZero() || !x.window.To.IsZero() && !r.From.Before(x.window.To) || r.To.Before(x.window.From) {
			continue
		}
		from, to := r.From, r.To
		if from.Before(x.window.From) {
			from = x.window.From
		}
		if !x.window.To.IsZero() && to.After(x.window.To) {
			to = x.window.To
		}
		say(h, "run %d %s %s to %s, sources %q", r.Number, r.Kind, stamp(from), stamp(to), r.Sources)
		say(h, "sheet %q", c.sheetOf(r.Number).Text)
	}
	h.Sum(key[:0])
	return key, true
}

// lastOf is when the last run ends.
func lastOf(cfg *analyse.Config) (last time.Time) {
	for _, r := range cfg.Runs {
		if r.To.After(last) {
			last = r.To
		}
	}
	return last
}

// say puts a line into a hash.
func say(h hash.Hash, format string, args ...any) { fmt.Fprintf(h, format+"\n", args...) }

func stamp(t time.Time) string {
	if t.IsZero() {
		return "open"
	}
	return t.UTC().Format(time.RFC3339Nano)
}

func (k *keeper) path(key [sha256.Size]byte) string {
	return filepath.Join(k.folder, fmt.Sprintf("%x", key[:20])+keptSuffix)
}

// fetch looks a chunk up, and fills it.
func (k *keeper) fetch(key [sha256.Size]byte, x *chunk) bool {
	info, err := os.Stat(k.path(key))
	if err != nil || info.Size() > keptFileAtMost {
		return false
	}
	text, err := os.ReadFile(k.path(key))
	if err != nil {
		return false
	}
	kept, err := unpackChunk(text, key)
	if err != nil { // damaged: it is made anew
		return false
	}
	now := time.Now()
	_ = os.Chtimes(k.path(key), now, now) // used; where that cannot be noted it goes sooner
	x.parts = kept.Parts
	x.seen = &scanned{records: kept.Records, unread: kept.Unread, counted: kept.Counted}
	return true
}

// put keeps a chunk. What cannot be written is not kept: nothing depends on it.
func (k *keeper) put(key [sha256.Size]byte, x *chunk) error {
	if len(x.seen.damage) > 0 || len(x.seen.untimed) > 0 {
		return nil
	}
	text, err := packChunk(&keptChunk{Parts: x.parts, Records: x.seen.records, Unread: x.seen.unread, Counted: x.seen.counted}, key)
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
