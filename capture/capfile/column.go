package capfile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math/bits"

	"github.com/klauspost/compress/zstd"
)

// maxRaw bounds the uncompressed bytes of one section: what may wait for a seal plus its last record.
const maxRaw = sealBytes + 2*MaxPayload

var errShort = errors.New("body ends too early")

// Modes of a section.
const (
	modeRaw  = 0
	modeSame = 1 // one byte, repeated
	modeZstd = 2
)

// columnWriter builds a block's body out of sections.
type columnWriter struct {
	out   []byte
	enc   *zstd.Encoder
	plane []byte
	comp  []byte
}

func newEncoder() (*zstd.Encoder, error) {
	return zstd.NewWriter(nil, zstd.WithEncoderConcurrency(1), zstd.WithEncoderLevel(zstd.SpeedBetterCompression),
		zstd.WithEncoderCRC(false), zstd.WithSingleSegment(true), zstd.WithLowerEncoderMem(true))
}

// bytes writes one section: each has its own statistics, so that a noisy column does not spoil its neighbour.
func (w *columnWriter) bytes(raw []byte) {
	n := uint64(len(raw))
	if n > 0 && bytes.Count(raw, raw[:1]) == len(raw) {
		w.out = append(w.out, modeSame)
		w.out = binary.AppendUvarint(w.out, n)
		w.out = append(w.out, raw[0])
		return
	}
	w.comp = w.enc.EncodeAll(raw, w.comp[:0])
	if len(w.comp)+3 < len(raw) {
		w.out = append(w.out, modeZstd)
		w.out = binary.AppendUvarint(w.out, n)
		w.out = binary.AppendUvarint(w.out, uint64(len(w.comp)))
		w.out = append(w.out, w.comp...)
		return
	}
	w.out = append(w.out, modeRaw)
	w.out = binary.AppendUvarint(w.out, n)
	w.out = append(w.out, raw...)
}

// ints writes a column: its least value, then what is above it in planes of one byte each, lowest first.
func (w *columnWriter) ints(vs []int64) {
	if len(vs) == 0 {
		return
	}
	lo, hi := vs[0], vs[0]
	for _, v := range vs {
		lo, hi = min(lo, v), max(hi, v)
	}
	width := (bits.Len64(uint64(hi)-uint64(lo)) + 7) / 8
	w.out = binary.AppendVarint(w.out, lo)
	w.out = append(w.out, byte(width))
	for p := range width {
		w.plane = w.plane[:0]
		for _, v := range vs {
			w.plane = append(w.plane, byte((uint64(v)-uint64(lo))>>(8*p)))
		}
		w.bytes(w.plane)
	}
}

// texts writes a dictionary.
func (w *columnWriter) texts(list []string) {
	w.out = binary.AppendUvarint(w.out, uint64(len(list)))
	var all []byte
	for _, s := range list {
		all = binary.AppendUvarint(all, uint64(len(s)))
		all = append(all, s...)
	}
	w.bytes(all)
}

// columnReader takes sections off a body. The first error sticks; after it everything is empty.
type columnReader struct {
	in    []byte
	dec   *zstd.Decoder
	plane []byte
	err   error
}

func newDecoder() (*zstd.Decoder, error) {
	return zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxMemory(maxRaw), zstd.WithDecoderLowmem(true))
}

func (r *columnReader) fail(err error) {
	if r.err == nil {
		r.err, r.in = err, nil
	}
}

func (r *columnReader) byte() byte {
	if len(r.in) == 0 {
		r.fail(errShort)
		return 0
	}
	b := r.in[0]
	r.in = r.in[1:]
	return b
}

func (r *columnReader) uvarint() uint64 {
	v, n := binary.Uvarint(r.in)
	if n <= 0 {
		r.fail(errShort)
		return 0
	}
	r.in = r.in[n:]
	return v
}

func (r *columnReader) varint() int64 {
	v, n := binary.Varint(r.in)
	if n <= 0 {
		r.fail(errShort)
		return 0
	}
	r.in = r.in[n:]
	return v
}

func (r *columnReader) take(n uint64) []byte {
	if n > uint64(len(r.in)) {
		r.fail(errShort)
		return nil
	}
	b := r.in[:n:n]
	r.in = r.in[n:]
	return b
}

// bytes reads one section into dst's memory. want is the length it must have, or -1.
func (r *columnReader) bytes(dst []byte, want int) []byte {
	mode, n := r.byte(), r.uvarint()
	if r.err != nil {
		return dst[:0]
	}
	if n > maxRaw || want >= 0 && n != uint64(want) {
		r.fail(fmt.Errorf("section of %d bytes where %d belong", n, want))
		return dst[:0]
	}
	dst = dst[:0]
	switch mode {
	case modeRaw:
		return append(dst, r.take(n)...)
	case modeSame:
		b := r.byte()
		if r.err != nil {
			return dst
		}
		dst = grown(dst, int(n))
		for i := range dst {
			dst[i] = b
		}
		return dst
	case modeZstd:
		comp := r.take(r.uvarint())
		if r.err != nil {
			return dst
		}
		out, err := r.dec.DecodeAll(comp, dst)
		if err != nil {
			r.fail(err)
			return dst
		}
		if uint64(len(out)) != n {
			r.fail(fmt.Errorf("section gives %d bytes, %d were told", len(out), n))
			return dst
		}
		return out
	}
	r.fail(fmt.Errorf("section of unknown mode %d", mode))
	return dst
}

// ints reads a column of n values into dst's memory.
func (r *columnReader) ints(dst []int64, n int) []int64 {
	dst = grown(dst, n)
	if n == 0 {
		return dst
	}
	lo, width := r.varint(), int(r.byte())
	if width > 8 {
		r.fail(fmt.Errorf("column %d bytes wide", width))
	}
	if width == 0 || r.err != nil {
		for i := range dst {
			dst[i] = lo
		}
	}
	for p := 0; p < width && r.err == nil; p++ {
		r.plane = r.bytes(r.plane, n)
		if r.err != nil {
			break
		}
		if p == 0 {
			for i, b := range r.plane[:len(dst)] {
				dst[i] = lo + int64(b)
			}
			continue
		}
		shift := 8 * p
		for i, b := range r.plane[:len(dst)] {
			dst[i] += int64(b) << shift
		}
	}
	return dst
}

// texts reads a dictionary of at most limit texts; known keeps equal texts of different blocks in one piece of memory.
func (r *columnReader) texts(dst []string, limit int, known map[string]string) []string {
	dst = dst[:0]
	n := r.uvarint()
	r.plane = r.bytes(r.plane, -1)
	if n > uint64(limit) {
		r.fail(fmt.Errorf("dictionary of %d texts", n))
	}
	rest := r.plane
	for range n {
		if r.err != nil {
			return dst[:0]
		}
		l, k := binary.Uvarint(rest)
		if k <= 0 || l > uint64(len(rest)-k) {
			r.fail(errShort)
			return dst[:0]
		}
		text := rest[k : k+int(l)]
		rest = rest[k+int(l):]
		s, ok := known[string(text)]
		if !ok {
			s = string(text)
			if len(known) < 4096 {
				known[s] = s
			}
		}
		dst = append(dst, s)
	}
	if len(rest) > 0 {
		r.fail(errors.New("dictionary holds more than it names"))
	}
	return dst
}

// grown gives s with length n, keeping its memory where it is enough.
func grown[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
