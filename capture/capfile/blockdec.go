package capfile

import (
	"errors"
	"fmt"

	"tundish/capture"
)

// blockDecoder gives the records of one body, in order. It is used again for the next block, so that reading
// costs no memory per record: a Payload is valid until the next record.
type blockDecoder struct {
	columnReader
	known map[string]string

	run    uint32
	source string
	n, i   int

	seq, at, sweep, channel, note, shape []int64

	channels, notes, table []string
	templates              []template

	lengths  []int64
	verbatim []byte // all of them
	unread   []byte // those still to come

	keys, key, low []int64
	last           [maxKeys]uint16

	word      []int64
	rest      [scratchLen - 2][]byte
	lastProbe [][scratchLen]byte

	// places of the next payload of each form
	iVerbatim, iFrame, iScratch int
	payload                     []byte
}

var errLeftover = errors.New("body goes on after its end")

// load takes the body of block b apart.
func (d *blockDecoder) load(b *blockRow, body []byte) error {
	if d.known == nil {
		d.known = map[string]string{}
	}
	d.in, d.err = body, nil
	d.run, d.source, d.i = b.run, b.source, 0
	d.iVerbatim, d.iFrame, d.iScratch = 0, 0, 0
	n := d.uvarint()
	if d.n = 0; d.err != nil {
		return d.err
	}
	if n == 0 || n > MaxBlockRecords || int64(n) != b.count {
		return fmt.Errorf("body of %d records, %d were told", n, b.count)
	}
	d.n = int(n)
	d.seq = d.deltas(d.seq)
	d.at = d.deltas(d.at)
	d.sweep = d.deltas(d.sweep)
	d.channels = d.texts(d.channels, d.n, d.known)
	d.channel = d.index(d.channel, len(d.channels))
	d.notes = d.texts(d.notes, d.n, d.known)
	d.note = d.index(d.note, len(d.notes))
	d.loadPayloads()
	if d.err == nil && len(d.in) > 0 {
		d.err = errLeftover
	}
	if d.err != nil {
		d.n = 0
		return d.err
	}
	return d.agree(b)
}

func (d *blockDecoder) deltas(dst []int64) []int64 {
	first := d.varint()
	dst = grown(dst, max(d.n, 1))
	d.ints(dst[1:], d.n-1)
	if d.err != nil {
		return dst
	}
	dst[0] = first
	for i := 1; i < len(dst); i++ {
		dst[i] += dst[i-1]
	}
	return dst
}

func (d *blockDecoder) index(dst []int64, limit int) []int64 {
	dst = d.ints(dst, d.n)
	if d.err == nil && !within(dst, int64(limit)) {
		d.fail(errors.New("dictionary entry out of range"))
	}
	return dst
}

func within(vs []int64, limit int64) bool {
	for _, v := range vs {
		if v < 0 || v >= limit {
			return false
		}
	}
	return true
}

func (d *blockDecoder) loadPayloads() {
	d.table = d.texts(d.table, 3*maxTemplates, d.known)
	d.templates = d.templates[:0]
	for i := 0; i+2 < len(d.table); i += 3 {
		form := d.table[i]
		if len(form) != 1 || form[0] < formLower || form[0] > formScratch {
			d.fail(fmt.Errorf("line shape of unknown form %q", form))
			return
		}
		t := template{form[0], d.table[i+1], d.table[i+2]}
		if len(t.prefix)+len(t.suffix) > MaxText {
			d.fail(fmt.Errorf("line shape of %d bytes", len(t.prefix)+len(t.suffix)))
			return
		}
		d.templates = append(d.templates, t)
	}
	d.shape = d.index(d.shape, len(d.templates)+1)
	if d.err != nil {
		return
	}
	verbatim, frames, scratch := 0, 0, 0
	for _, s := range d.shape {
		switch {
		case s == 0:
			verbatim++
		case d.templates[s-1].form == formScratch:
			scratch++
		default:
			frames++
		}
	}
	d.lengths = d.ints(d.lengths, verbatim)
	sum := int64(0)
	for _, l := range d.lengths {
		if l < 0 || l > MaxPayload {
			d.fail(fmt.Errorf("payload of %d bytes", l))
			return
		}
		sum += l
	}
	d.verbatim = d.bytes(d.verbatim, int(sum))
	d.unread = d.verbatim
	d.loadFrames(frames)
	d.loadScratch(scratch)
}

func (d *blockDecoder) loadFrames(n int) {
	d.last = [maxKeys]uint16{}
	d.keys, d.key, d.low = d.keys[:0], d.key[:0], d.low[:0]
	if n == 0 || d.err != nil {
		return
	}
	k := d.uvarint()
	if k > maxKeys {
		d.fail(fmt.Errorf("%d upper halves of frames", k))
		return
	}
	limit := int64(1 << 32)
	if k > 0 {
		limit = 1 << 16
		d.keys = d.ints(d.keys, int(k))
		d.key = d.ints(d.key, n)
		if d.err == nil && !(within(d.keys, limit) && within(d.key, int64(k))) {
			d.fail(errors.New("frame out of range"))
		}
	}
	d.low = d.ints(d.low, n)
	if d.err == nil && !within(d.low, limit) {
		d.fail(errors.New("frame out of range"))
	}
}

func (d *blockDecoder) loadScratch(n int) {
	if n == 0 || d.err != nil {
		return
	}
	d.lastProbe = grown(d.lastProbe, len(d.channels))
	clear(d.lastProbe)
	d.word = d.ints(d.word, n)
	if d.err == nil && !within(d.word, 1<<16) {
		d.fail(errors.New("scratchpad out of range"))
	}
	for i := range d.rest {
		d.rest[i] = d.bytes(d.rest[i], n)
	}
}

// agree checks the columns against the row, so that what a window skips by the row is what the body holds.
func (d *blockDecoder) agree(b *blockRow) error {
	lo, hi, prev := d.at[0], d.at[0], int64(0)
	for i := range d.n {
		if d.seq[i] <= prev {
			return errors.New("records out of order")
		}
		if d.sweep[i] < 0 || d.sweep[i] > 1<<32-1 {
			return errors.New("sweep out of range")
		}
		prev = d.seq[i]
		lo, hi = min(lo, d.at[i]), max(hi, d.at[i])
	}
	if lo != b.firstAt || hi != b.lastAt || lo < 0 || hi > maxMicros ||
		uint64(d.seq[0]) != b.firstSeq || uint64(prev) != b.lastSeq {
		return errors.New("body and its row differ in sequence or times")
	}
	return nil
}

// more says whether next has a record, and its sequence number.
func (d *blockDecoder) more() (seq int64, ok bool) {
	if d.i >= d.n {
		return 0, false
	}
	return d.seq[d.i], true
}

// next fills all of rec but Time.
func (d *blockDecoder) next(rec *capture.Record) {
	i := d.i
	d.i++
	rec.Seq, rec.Run, rec.Source = uint64(d.seq[i]), d.run, d.source
	rec.At = at(d.at[i])
	rec.Sweep = uint32(d.sweep[i])
	rec.Channel = d.channels[d.channel[i]]
	rec.Note = d.notes[d.note[i]]
	if d.shape[i] == 0 {
		l := int(d.lengths[d.iVerbatim])
		d.iVerbatim++
		rec.Payload = d.unread[:l:l]
		d.unread = d.unread[l:]
		return
	}
	t := &d.templates[d.shape[i]-1]
	if t.form == formScratch {
		s := d.nextScratch(int(d.channel[i]))
		d.payload = appendScratch(d.payload[:0], s)
	} else {
		digits := lowerHex
		if t.form == formUpper {
			digits = upperHex
		}
		d.payload = append(d.payload[:0], t.prefix...)
		d.payload = appendFrame(d.payload, d.nextFrame(), digits)
		d.payload = append(d.payload, t.suffix...)
	}
	rec.Payload = d.payload
}

func (d *blockDecoder) nextFrame() uint32 {
	i := d.iFrame
	d.iFrame++
	if len(d.key) == 0 {
		return uint32(d.low[i])
	}
	k := d.key[i]
	d.last[k&(maxKeys-1)] += unzigzag16(uint16(d.low[i]))
	return flipParity(uint32(d.keys[k])<<16 | uint32(d.last[k&(maxKeys-1)]))
}

func (d *blockDecoder) nextScratch(channel int) *[scratchLen]byte {
	i := d.iScratch
	d.iScratch++
	s := &d.lastProbe[channel]
	word := uint16(scratchWord(s)) + unzigzag16(uint16(d.word[i]))
	s[0], s[1] = byte(word), byte(word>>8)
	for col := 2; col < scratchLen-1; col++ {
		s[col] ^= d.rest[col-2][i]
	}
	s[scratchLen-1] = d.rest[scratchLen-3][i] ^ crc8(s[:scratchLen-1])
	return s
}
