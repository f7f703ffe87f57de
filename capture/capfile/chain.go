package capfile

import (
	"crypto/sha256"
	"encoding/binary"
)

// digest is a SHA-256 value (FIPS 180-4).
type digest = [sha256.Size]byte

// The first bytes of each hash input keep the kinds of hash apart.
const (
	genesisText = "tundish capture 1\n"
	blockDomain = "tundish block 1\n"
	tailDomain  = "tundish tail 1\n"
)

// Codings of a block's body.
const (
	codingJournal = "json-lines"
	codingColumns = "columns-1"
)

// genesis is what block 1 names as the block before it.
func genesis() digest { return sha256.Sum256([]byte(genesisText)) }

// blockRow is one row of table block: all that is known of a block but its body.
type blockRow struct {
	n, group          int64
	run               uint32
	source, coding    string
	firstSeq, lastSeq uint64 // 0 in the journal
	firstAt, lastAt   int64  // µs, least and greatest; 0 in the journal
	count             int64
	body              digest // SHA-256 of the body
	prev, hash        digest
}

// canonical appends the hash input: every column that anything reads, numbers as 64 bits big-endian, texts with
// their length before them.
func (b *blockRow) canonical(dst []byte) []byte {
	dst = append(dst, blockDomain...)
	dst = appendInts(dst, uint64(b.n), uint64(b.group), uint64(b.run))
	dst = appendText(dst, b.source)
	dst = appendText(dst, b.coding)
	dst = appendInts(dst, b.firstSeq, b.lastSeq, uint64(b.firstAt), uint64(b.lastAt), uint64(b.count))
	dst = append(dst, b.body[:]...)
	return append(dst, b.prev[:]...)
}

func (b *blockRow) sum() digest {
	var buf [512]byte
	return sha256.Sum256(b.canonical(buf[:0]))
}

func (b *blockRow) journal() bool { return b.coding == codingJournal }

// tailRow is one row of table tail: what one commit made durable.
type tailRow struct {
	n, blocks      int64 // place, blocks before it
	first, records int64 // number of its first record, or of the next where it has none; records in it
	body           []byte
	prev, hash     digest
	bad            string // why it is damaged, "" if sound
}

func (t *tailRow) sum() digest {
	h := sha256.New()
	buf := append(make([]byte, 0, 128), tailDomain...)
	buf = appendInts(buf, uint64(t.n), uint64(t.blocks), uint64(t.first), uint64(t.records), uint64(len(t.body)))
	h.Write(buf)
	h.Write(t.body)
	h.Write(t.prev[:])
	return digest(h.Sum(nil))
}

func appendInts(dst []byte, vs ...uint64) []byte {
	for _, v := range vs {
		dst = binary.BigEndian.AppendUint64(dst, v)
	}
	return dst
}

func appendText(dst []byte, s string) []byte {
	return append(binary.BigEndian.AppendUint64(dst, uint64(len(s))), s...)
}

func bodyHash(body []byte) digest { return sha256.Sum256(body) }
