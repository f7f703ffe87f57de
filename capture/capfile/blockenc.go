package capfile

import (
	"encoding/binary"
	"time"

	"tundish/capture"
)

// maxTemplates bounds the line shapes of one block; further ones are kept verbatim.
const maxTemplates = 64

// maxKeys bounds the distinct upper halves of a block's frames that are kept apart; with more, frames are kept as
// plain numbers.
const maxKeys = 256

// stream holds the records of one run and source that are not yet sealed, in columns.
type stream struct {
	run     uint32
	source  string
	seq     []int64
	at      []int64 // µs
	sweep   []int64
	channel []string
	note    []string
	end     []int // end of each payload in bytes
	bytes   []byte
}

func (s *stream) add(rec *capture.Record, seq uint64) {
	s.seq = append(s.seq, int64(seq))
	s.at = append(s.at, micros(rec.At))
	s.sweep = append(s.sweep, int64(rec.Sweep))
	s.channel = append(s.channel, rec.Channel)
	s.note = append(s.note, rec.Note)
	s.bytes = append(s.bytes, rec.Payload...)
	s.end = append(s.end, len(s.bytes))
}

func (s *stream) payload(i int) []byte {
	from := 0
	if i > 0 {
		from = s.end[i-1]
	}
	return s.bytes[from:s.end[i]]
}

// row is the stream's row in table block, as far as the stream knows it.
func (s *stream) row() blockRow {
	n := len(s.seq)
	b := blockRow{run: s.run, source: s.source, coding: codingColumns, count: int64(n),
		firstSeq: uint64(s.seq[0]), lastSeq: uint64(s.seq[n-1]), firstAt: s.at[0], lastAt: s.at[0]}
	for _, at := range s.at {
		b.firstAt, b.lastAt = min(b.firstAt, at), max(b.lastAt, at)
	}
	return b
}

// encodeBlock appends the stream's body; FORMAT.md draws it.
func (w *columnWriter) encodeBlock(s *stream) []byte {
	w.out = binary.AppendUvarint(w.out[:0], uint64(len(s.seq)))
	w.deltas(s.seq)
	w.deltas(s.at)
	w.deltas(s.sweep)
	channels, names := indexed(s.channel)
	w.texts(names)
	w.ints(channels)
	notes, texts := indexed(s.note)
	w.texts(texts)
	w.ints(notes)
	w.payloads(s, channels, len(names))
	return w.out
}

// deltas writes the first value and a column of the differences.
func (w *columnWriter) deltas(vs []int64) {
	w.out = binary.AppendVarint(w.out, vs[0])
	ds := make([]int64, len(vs)-1)
	for i := range ds {
		ds[i] = vs[i+1] - vs[i]
	}
	w.ints(ds)
}

// indexed gives the distinct texts in order of appearance and each text's place among them.
func indexed(list []string) (index []int64, distinct []string) {
	known := map[string]int64{}
	index = make([]int64, len(list))
	for i, s := range list {
		k, ok := known[s]
		if !ok {
			k = int64(len(distinct))
			known[s] = k
			distinct = append(distinct, s)
		}
		index[i] = k
	}
	return index, distinct
}

// template is a line shape: what stands around a frame.
type template struct {
	form           byte
	prefix, suffix string
}

// split is a block's payloads, sorted by form.
type split struct {
	templates []template
	shape     []int64 // 0 verbatim, else 1 + place in templates
	lengths   []int64
	verbatim  []byte
	frames    []uint32
	scratch   [][scratchLen]byte
	probe     []int64 // channel of each scratchpad
}

func (w *columnWriter) payloads(s *stream, channels []int64, names int) {
	var sp split
	for i := range s.seq {
		sp.add(s.payload(i), channels[i])
	}
	var table []string
	for _, t := range sp.templates {
		table = append(table, string(t.form), t.prefix, t.suffix)
	}
	w.texts(table)
	w.ints(sp.shape)
	w.ints(sp.lengths)
	w.bytes(sp.verbatim)
	w.frames(sp.frames)
	w.scratchpads(sp.scratch, sp.probe, names)
}

func (sp *split) add(p []byte, channel int64) {
	if s, ok := scratchOf(p); ok {
		if k := sp.find(template{form: formScratch}); k > 0 {
			sp.shape = append(sp.shape, k)
			sp.scratch, sp.probe = append(sp.scratch, s), append(sp.probe, channel)
			return
		}
	}
	if at := frameAt(p); at >= 0 && len(p) <= MaxText {
		v, lower, upper := frameForm(p[at : at+frameDigits])
		if k := sp.findFrame(string(p[:at]), string(p[at+frameDigits:]), lower, upper); k > 0 {
			sp.shape = append(sp.shape, k)
			sp.frames = append(sp.frames, v)
			return
		}
	}
	sp.shape = append(sp.shape, 0)
	sp.lengths = append(sp.lengths, int64(len(p)))
	sp.verbatim = append(sp.verbatim, p...)
}

// findFrame prefers a shape already met: digits without letters fit both cases.
func (sp *split) findFrame(prefix, suffix string, lower, upper bool) int64 {
	for i, t := range sp.templates {
		if t.prefix == prefix && t.suffix == suffix && (lower && t.form == formLower || upper && t.form == formUpper) {
			return int64(i + 1)
		}
	}
	switch {
	case upper:
		return sp.find(template{formUpper, prefix, suffix})
	case lower:
		return sp.find(template{formLower, prefix, suffix})
	}
	return 0
}

// find gives 1 + the template's place, adding it where there is room, else 0.
func (sp *split) find(want template) int64 {
	for i, t := range sp.templates {
		if t == want {
			return int64(i + 1)
		}
	}
	if len(sp.templates) == maxTemplates {
		return 0
	}
	sp.templates = append(sp.templates, want)
	return int64(len(sp.templates))
}

// frames writes 32-bit frames: the upper halves (type and data id on a bus) by a dictionary, the lower halves as
// differences from the last frame with the same upper half.
func (w *columnWriter) frames(vs []uint32) {
	if len(vs) == 0 {
		return
	}
	place := map[uint16]int64{}
	var keys, index, low []int64
	var last [maxKeys]uint16
	for _, v := range vs {
		v = flipParity(v)
		key := uint16(v >> 16)
		k, ok := place[key]
		if !ok {
			if len(keys) == maxKeys {
				w.plainFrames(vs)
				return
			}
			k = int64(len(keys))
			place[key], keys = k, append(keys, int64(key))
		}
		index = append(index, k)
		low = append(low, zigzag16(uint16(v)-last[k]))
		last[k] = uint16(v)
	}
	w.out = binary.AppendUvarint(w.out, uint64(len(keys)))
	w.ints(keys)
	w.ints(index)
	w.ints(low)
}

func (w *columnWriter) plainFrames(vs []uint32) {
	w.out = binary.AppendUvarint(w.out, 0)
	plain := make([]int64, len(vs))
	for i, v := range vs {
		plain[i] = int64(v)
	}
	w.ints(plain)
}

// zigzag16 folds a 16-bit difference so that small ones of both signs are small numbers.
func zigzag16(d uint16) int64 { return int64(d<<1 ^ uint16(int16(d)>>15)) }

func unzigzag16(z uint16) uint16 { return z>>1 ^ -(z & 1) }

// scratchpads writes 9-byte scratchpads, each against the last of the same channel.
func (w *columnWriter) scratchpads(list [][scratchLen]byte, probe []int64, channels int) {
	if len(list) == 0 {
		return
	}
	last := make([][scratchLen]byte, channels)
	word := make([]int64, len(list))
	rest := make([]byte, len(list))
	for i := range list {
		word[i] = zigzag16(uint16(scratchWord(&list[i])) - uint16(scratchWord(&last[probe[i]])))
		last[probe[i]] = list[i]
	}
	w.ints(word)
	for col := 2; col < scratchLen-1; col++ {
		clear(last)
		for i, s := range list {
			rest[i] = s[col] ^ last[probe[i]][col]
			last[probe[i]] = s
		}
		w.bytes(rest)
	}
	for i, s := range list {
		rest[i] = s[scratchLen-1] ^ crc8(s[:scratchLen-1])
	}
	w.bytes(rest)
}

// at is a time in a run from the file's resolution.
func at(us int64) time.Duration { return time.Duration(us) * time.Microsecond }
