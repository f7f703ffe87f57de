package serialline

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

type piece struct {
	Payload, Note string
	At            time.Duration
}

// split feeds chunks, one a millisecond, and flushes.
func split(t interface{ Fatalf(string, ...any) }, limit int, chunks ...[]byte) []piece {
	var got []piece
	s := splitter{limit: limit, emit: func(p []byte, at time.Duration, note string) error {
		got = append(got, piece{string(p), note, at})
		return nil
	}}
	for i, c := range chunks {
		if err := s.add(c, time.Duration(i)*time.Millisecond); err != nil {
			t.Fatalf("add: %v", err)
		}
		if len(s.held) >= limit {
			t.Fatalf("%d bytes held", len(s.held))
		}
	}
	if err := s.flush(); err != nil {
		t.Fatalf("flush: %v", err)
	}
	return got
}

func TestSplit(t *testing.T) {
	ms := time.Millisecond
	long := strings.Repeat("8", LineLimit)
	for _, c := range []struct {
		name   string
		chunks []string
		want   []piece
	}{
		{"one line", []string{"80000200\r\n"}, []piece{{"80000200\r\n", "", 0}}},
		{"two in a chunk share a time", []string{"a\nb\n"}, []piece{{"a\n", "", 0}, {"b\n", "", 0}}},
		{"last byte gives the time", []string{"a", "b", "\n"}, []piece{{"ab\n", "", 2 * ms}}},
		{"a lone carriage return ends nothing", []string{"a\rb\r\n"}, []piece{{"a\rb\r\n", "", 0}}},
		{"half a line", []string{"a\n800"}, []piece{{"a\n", "", 0}, {"800", "", 0}}},
		{"empty lines", []string{"\n\r\n"}, []piece{{"\n", "", 0}, {"\r\n", "", 0}}},
		{"eight bits", []string{"\xff\x00\xfe\n"}, []piece{{"\xff\x00\xfe\n", "", 0}}},
		{"longest line", []string{long[1:] + "\n"}, []piece{{long[1:] + "\n", "", 0}}},
		{"too long by one", []string{long + "\n", "a\n"}, []piece{{long, overlong, 0}, {"\n", overlong, 0}, {"a\n", "", ms}}},
		{"too long, cut where a frame would seem to stand", []string{long, "80000200\r\n"},
			[]piece{{long, overlong, 0}, {"80000200\r\n", overlong, ms}}},
		{"nothing", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			var chunks [][]byte
			for _, s := range c.chunks {
				chunks = append(chunks, []byte(s))
			}
			if diff := cmp.Diff(c.want, split(t, LineLimit, chunks...)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestOverdue(t *testing.T) {
	var got []piece
	s := splitter{limit: LineLimit, emit: func(p []byte, at time.Duration, note string) error {
		got = append(got, piece{string(p), note, at})
		return nil
	}}
	s.add([]byte("800"), time.Second)
	if s.overdue(time.Second + UnfinishedAfter - time.Microsecond) {
		t.Error("overdue too early")
	}
	s.add([]byte("0"), 2*time.Second) // a slow line: each byte gives it time
	if s.overdue(time.Second + UnfinishedAfter) {
		t.Error("overdue while bytes still come")
	}
	if !s.overdue(2*time.Second + UnfinishedAfter) {
		t.Error("not overdue")
	}
	s.flush()
	if s.overdue(time.Hour) {
		t.Error("overdue with nothing in hand")
	}
	// After a piece of exactly the limit and a pause, a good line is a good line again.
	s.add(slices.Repeat([]byte{'8'}, LineLimit), time.Hour)
	if !s.overdue(time.Hour + UnfinishedAfter) {
		t.Error("the rest of a line in pieces is not waited for for ever")
	}
	s.flush()
	s.add([]byte("a\n"), 2*time.Hour)
	want := []piece{{"8000", "", 2 * time.Second}, {strings.Repeat("8", LineLimit), overlong, time.Hour}, {"a\n", "", 2 * time.Hour}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestEmitErrorUnchanged(t *testing.T) {
	full := errors.New("disk full")
	s := splitter{limit: LineLimit, emit: func([]byte, time.Duration, string) error { return full }}
	if err := s.add([]byte("a\n"), 0); err != full {
		t.Errorf("got %v", err)
	}
	s = splitter{limit: LineLimit, emit: s.emit, held: []byte("a")}
	if err := s.flush(); err != full {
		t.Errorf("flush: got %v", err)
	}
}

// sameLines checks that a stream gives the same pieces whole and in chunks of given sizes, and nothing is lost.
func sameLines(t interface{ Fatalf(string, ...any) }, limit int, stream []byte, sizes []int) {
	var chunks [][]byte
	rest := stream
	for _, n := range sizes {
		n = min(max(n, 0), len(rest))
		chunks = append(chunks, rest[:n])
		rest = rest[n:]
	}
	chunks = append(chunks, rest)
	whole, cut := split(t, limit, stream), split(t, limit, chunks...)
	var joined []byte
	for i := range whole {
		whole[i].At = 0
		joined = append(joined, whole[i].Payload...)
	}
	for i := range cut {
		cut[i].At = 0
	}
	if !bytes.Equal(joined, stream) {
		t.Fatalf("the pieces are not the stream: %q, want %q", joined, stream)
	}
	if !slices.Equal(whole, cut) {
		t.Fatalf("whole %v, in chunks %v", whole, cut)
	}
}

func TestChunkingInvariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		part := rapid.OneOf(
			rapid.SampledFrom([]string{"\n", "\r", "\r\n", "80000200\r\n", strings.Repeat("x", LineLimit-1), strings.Repeat("y", LineLimit)}),
			rapid.StringN(0, 20, -1))
		stream := strings.Join(rapid.SliceOfN(part, 0, 12).Draw(t, "parts"), "")
		sameLines(t, LineLimit, []byte(stream), rapid.SliceOfN(rapid.IntRange(0, 5000), 0, 20).Draw(t, "sizes"))
	})
}

func FuzzSplitLines(f *testing.F) {
	f.Add([]byte("80000200\r\n40000200\r\n"), []byte{1, 3, 200})
	f.Add([]byte("\xff\x00\n\r\r\n"), []byte{})
	f.Add([]byte("888888888888888888\n8888888888888888\n"), []byte{16, 1})
	f.Fuzz(func(t *testing.T, stream, cuts []byte) {
		sizes := make([]int, len(cuts))
		for i, c := range cuts {
			sizes[i] = int(c)
		}
		sameLines(t, 16, stream, sizes) // short, so that long lines are found too
	})
}
