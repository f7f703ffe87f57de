package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"

	"github.com/fxamacker/cbor/v2"
	"github.com/klauspost/compress/zstd"
)

// A file of kept parts: a line that says what it is, the key that it was kept under, SHA-256 over what follows, and the
// parts (CBOR, RFC 8949) in a zstd frame (RFC 8878).

const (
	keptSuffix = ".days"
	keptTitle  = "tundish days 1\n"
	// keptAtMost bounds what a file may unpack to, in bytes: a damaged one must not fill the memory. Own choice: a
	// hundred times what a busy chunk takes.
	keptAtMost = 256 << 20
	// keptFileAtMost is the same of the file itself.
	keptFileAtMost = 16 << 20
)

// keptForm writes values as they are: nil is not empty, and a number keeps all its bits.
func keptForm() (cbor.EncMode, cbor.DecMode, error) {
	enc, err := cbor.EncOptions{Sort: cbor.SortBytewiseLexical, Time: cbor.TimeRFC3339Nano, NaNConvert: cbor.NaNConvertPreserveSignal, InfConvert: cbor.InfConvertNone}.EncMode()
	if err != nil {
		return nil, nil, err
	}
	dec, err := cbor.DecOptions{ExtraReturnErrors: cbor.ExtraDecErrorUnknownField, MaxArrayElements: 1 << 20}.DecMode()
	return enc, dec, err
}

func packChunk(kept *keptChunk, key [sha256.Size]byte) ([]byte, error) {
	enc, _, err := keptForm()
	if err != nil {
		return nil, err
	}
	plain, err := enc.Marshal(kept)
	if err != nil {
		return nil, err
	}
	z, err := zstd.NewWriter(nil, zstd.WithEncoderConcurrency(1))
	if err != nil {
		return nil, err
	}
	body := z.EncodeAll(plain, nil)
	sum := sha256.Sum256(body)
	return bytes.Join([][]byte{[]byte(keptTitle), key[:], sum[:], body}, nil), nil
}

// unpackChunk reads a file that was kept under a key. Its error says in what way it is none.
func unpackChunk(text []byte, key [sha256.Size]byte) (*keptChunk, error) {
	rest, ok := bytes.CutPrefix(text, []byte(keptTitle))
	if !ok || len(rest) < 2*sha256.Size {
		return nil, errors.New("it holds no kept days")
	}
	if !bytes.Equal(rest[:sha256.Size], key[:]) {
		return nil, errors.New("it was kept under another key")
	}
	body := rest[2*sha256.Size:]
	if sum := sha256.Sum256(body); !bytes.Equal(sum[:], rest[sha256.Size:2*sha256.Size]) {
		return nil, errors.New("it was changed")
	}
	return unpackParts(body)
}

// unpackParts reads what stands in the frame.
func unpackParts(body []byte) (*keptChunk, error) {
	z, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxMemory(keptAtMost))
	if err != nil {
		return nil, err
	}
	defer z.Close()
	plain, err := z.DecodeAll(body, nil)
	if err != nil {
		return nil, err
	}
	return readParts(plain)
}

// readParts reads the parts themselves.
func readParts(plain []byte) (*keptChunk, error) {
	_, dec, err := keptForm()
	if err != nil {
		return nil, err
	}
	kept := &keptChunk{}
	if err := dec.Unmarshal(plain, kept); err != nil {
		return nil, err
	}
	for i, p := range kept.Parts {
		if p == nil || p.Facts == nil {
			return nil, fmt.Errorf("part %d is empty", i+1)
		}
	}
	for hour, h := range kept.Late {
		if h == nil {
			return nil, fmt.Errorf("hour %d is empty", hour)
		}
	}
	return kept, nil
}
