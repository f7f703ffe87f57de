package timedlines

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tundish/capture"
)

type line struct{ Wall, Payload, Note string }

func readAll(ctx context.Context, r io.Reader) ([]line, Stats, error) {
	var got []line
	stats, err := Read(ctx, r, "boiler.log", "boiler", func(wall time.Time, rec capture.Record) error {
		if rec.Source != "boiler" || rec.Seq != 0 || rec.At != 0 || rec.Channel != "" || wall.Location() != time.UTC {
			return fmt.Errorf("record %+v at %v", rec, wall)
		}
		got = append(got, line{wall.Format(time.RFC3339Nano), string(rec.Payload), rec.Note})
		return nil
	})
	return got, stats, err
}

// The times with an offset and a fraction are the examples of RFC 3339, 5.8.
func TestRead(t *testing.T) {
	const t1 = "2026-01-12T06:30:00Z"
	long := strings.Repeat("8", LineLimit)
	overlong := "line 2: longer than 65536 bytes: kept in pieces"
	for _, c := range []struct {
		name, in string
		want     []line
		stats    Stats
	}{
		{"as printed", t1 + " 80190000\r\n", []line{{t1, "80190000\r\n", ""}}, Stats{Lines: 1, Records: 1}},
		{"RFC 3339 fraction", "1985-04-12T23:20:50.52Z\tx\n", []line{{"1985-04-12T23:20:50.52Z", "x\n", ""}}, Stats{Lines: 1, Records: 1}},
		{"RFC 3339 offset", "1996-12-19T16:39:57-08:00  x y \n", []line{{"1996-12-20T00:39:57Z", "x y \n", ""}}, Stats{Lines: 1, Records: 1}},
		{"lower case", "1985-04-12t23:20:50.52z x\n", []line{{"1985-04-12T23:20:50.52Z", "x\n", ""}}, Stats{Lines: 1, Records: 1}},
		{"blank and comment", "# a\n\n \t\r\n" + t1 + " x\n#" + long + "\n", []line{{t1, "x\n", ""}}, Stats{Lines: 5, Records: 1, Skipped: 4}},
		{"byte order mark", "\ufeff" + t1 + " x\n", []line{{t1, "x\n", ""}}, Stats{Lines: 1, Records: 1}},
		{"an empty adapter line", t1 + " \r\n" + t1 + "\n", []line{{t1, "\r\n", ""}, {t1, "\n", ""}}, Stats{Lines: 2, Records: 2}},
		{"eight bits", t1 + " \x00\xff\xfe\r\r\n", []line{{t1, "\x00\xff\xfe\r\r\n", ""}}, Stats{Lines: 1, Records: 1}},
		{"cut off, with a time", t1 + " 8019", []line{{t1, "8019", ""}}, Stats{Lines: 1, Records: 1, Truncated: true}},
		{"cut off in the time", t1 + " x\n2026-01-12T06:3", []line{{t1, "x\n", ""},
			{t1, "2026-01-12T06:3", `line 2: no time: "2026-01-12T06:3" is not an RFC 3339 time: cut off`}},
			Stats{Lines: 2, Records: 2, NoTime: 1, Truncated: true}},
		{"cut off after the time", t1 + " x\n2026-01-12T06:31:00Z", []line{{t1, "x\n", ""},
			{t1, "2026-01-12T06:31:00Z", "line 2: no time: nothing stands after it: cut off"}},
			Stats{Lines: 2, Records: 2, NoTime: 1, Truncated: true}},
		{"bad times are kept", t1 + " x\n2026-13-12T06:30:00Z y\nnoise\n2026-01-12 06:30:00 z\n", []line{{t1, "x\n", ""},
			{t1, "2026-13-12T06:30:00Z y\n", `line 2: no time: "2026-13-12T06:30:00Z" is not an RFC 3339 time`},
			{t1, "noise\n", `line 3: no time: "noise" is not an RFC 3339 time`},
			{t1, "2026-01-12 06:30:00 z\n", `line 4: no time: "2026-01-12" is not an RFC 3339 time`}},
			Stats{Lines: 4, Records: 4, NoTime: 3}},
		{"bad before any time is known", "noise\nmore\n" + t1 + " x\n", []line{{t1, "x\n", ""}},
			Stats{Lines: 3, Records: 1, Untimed: 2, FirstUntimed: 1}},
		{"back", t1 + " x\n2026-01-12T05:30:00Z y\n", []line{{t1, "x\n", ""}, {"2026-01-12T05:30:00Z", "y\n", ""}},
			Stats{Lines: 2, Records: 2, Back: 1}},
		{"overlong", t1 + " x\n" + long + "80000200\n" + t1 + " y\n", []line{{t1, "x\n", ""}, {t1, long, overlong},
			{t1, "80000200\n", overlong}, {t1, "y\n", ""}}, Stats{Lines: 3, Records: 4, Overlong: 1}},
		{"overlong and cut off at the limit", t1 + " x\n" + long, []line{{t1, "x\n", ""}, {t1, long, overlong}},
			Stats{Lines: 2, Records: 2, Overlong: 1, Truncated: true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for name, r := range map[string]io.Reader{"whole": strings.NewReader(c.in), "byte by byte": iotest.OneByteReader(strings.NewReader(c.in))} {
				got, stats, err := readAll(t.Context(), r)
				if err != nil {
					t.Fatal(name, err)
				}
				if diff := cmp.Diff(c.want, got) + cmp.Diff(c.stats, stats); diff != "" {
					t.Errorf("%s: %.2000s", name, diff)
				}
			}
		})
	}
}

func TestErrors(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"empty", "", "boiler.log: line 1: no line has a time"},
		{"comments only", "# a\n", "boiler.log: line 1: no line has a time"},
		{"no times", "# a\n80190000\n40193D80\n", "boiler.log: line 2: no line has a time"},
		{"random bytes", "\x93\x00\xfe\x1b[0m\n\xff\xff", "boiler.log: line 1: no line has a time"},
		{"random bytes without an end", strings.Repeat("\xa5", 3*LineLimit), "boiler.log: line 1: no line has a time"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, _, err := readAll(t.Context(), strings.NewReader(c.in))
			if !errors.Is(err, ErrNoTimes) || !strings.HasPrefix(err.Error(), c.want) || len(got) > 0 {
				t.Errorf("got %v, %v", got, err)
			}
		})
	}
	t.Run("emit", func(t *testing.T) {
		full := errors.New("disk full")
		_, err := Read(t.Context(), strings.NewReader("2026-01-12T06:30:00Z x\n"), "f", "s", func(time.Time, capture.Record) error { return full })
		if err != full {
			t.Errorf("got %v", err)
		}
	})
	t.Run("read", func(t *testing.T) {
		broken := errors.New("input/output error")
		in := io.MultiReader(strings.NewReader("2026-01-12T06:30:00Z x\n"), iotest.ErrReader(broken))
		got, stats, err := readAll(t.Context(), in)
		if !errors.Is(err, broken) || len(got) != 1 || stats.Truncated {
			t.Errorf("got %v, %+v, %v", got, stats, err)
		}
	})
	t.Run("cancelled", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if _, _, err := readAll(ctx, strings.NewReader("2026-01-12T06:30:00Z x\n")); !errors.Is(err, context.Canceled) {
			t.Errorf("got %v", err)
		}
	})
}

// endless gives the same text again and again, without holding it.
type endless struct {
	text string
	left int
	at   int
}

func (e *endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) && e.left > 0 {
		k := copy(p[n:min(len(p), n+e.left)], e.text[e.at:])
		n, e.left, e.at = n+k, e.left-k, (e.at+k)%len(e.text)
	}
	if n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

// TestBoundedMemory: 32 MB, as lines and as one line, take no more memory than the buffer. (Allocations that the
// collector has taken back meanwhile do not count: the heap is looked at on the way.)
func TestBoundedMemory(t *testing.T) {
	const size, allowed = 32 << 20, 4 << 20
	const one = "2026-01-12T06:30:00Z 80190000\r\n"
	heap := func() uint64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	for name, in := range map[string]io.Reader{
		"lines":    &endless{text: one, left: size},
		"one line": io.MultiReader(strings.NewReader(one), &endless{text: "8", left: size}),
	} {
		t.Run(name, func(t *testing.T) {
			before, most, bytes := heap(), uint64(0), 0
			begun := time.Now()
			n := 0
			stats, err := Read(t.Context(), in, "f", "s", func(_ time.Time, rec capture.Record) error {
				bytes += len(rec.Payload)
				if n++; n%(1<<18) == 1 || name == "one line" && n%256 == 1 {
					most = max(most, heap())
				}
				return nil
			})
			if err != nil || bytes < size/4 {
				t.Fatalf("%d bytes, %+v, %v", bytes, stats, err)
			}
			if most > before+allowed {
				t.Errorf("heap grew from %d to %d bytes", before, most)
			}
			t.Logf("%d lines in %v, heap grew by %d kB", stats.Lines, time.Since(begun), (int64(most)-int64(before))>>10)
		})
	}
}

// TestNothingLost: whatever the lines hold, every byte after the times comes back, in order.
func TestNothingLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in, want bytes.Buffer
		for i := range rapid.IntRange(1, 20).Draw(t, "lines") {
			wall := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "s"), 0).UTC().Format(time.RFC3339)
			text := rapid.SliceOf(rapid.ByteRange(0, 255).Filter(func(b byte) bool { return b != '\n' })).Draw(t, "text")
			text = bytes.TrimLeft(text, " \t")
			fmt.Fprintf(&in, "%s %s\n", wall, text)
			fmt.Fprintf(&want, "%s\n", text)
			if i%3 == 0 {
				in.WriteString("# note\n")
			}
		}
		got, stats, err := readAll(context.Background(), &in)
		if err != nil || stats.NoTime > 0 {
			t.Fatalf("%+v, %v", stats, err)
		}
		var all strings.Builder
		for _, l := range got {
			all.WriteString(l.Payload)
		}
		if all.String() != want.String() {
			t.Fatalf("got %q, want %q", all.String(), want.String())
		}
	})
}

func FuzzTimedLines(f *testing.F) {
	f.Add([]byte("# c\n2026-01-12T06:30:00.25Z  80190000\r\n2026-01-12T06:30:00+01:00\tB40193200"))
	f.Add([]byte("noise\n\ufeff\xff\x00"))
	f.Add([]byte("2026-01-12T06:30:00Z\n2026-01-12T06:30:00Z"))
	f.Fuzz(func(t *testing.T, in []byte) {
		got, stats, err := readAll(context.Background(), bytes.NewReader(in))
		if err != nil && !errors.Is(err, ErrNoTimes) {
			t.Fatal(err)
		}
		if uint64(len(got)) != stats.Records || (err != nil) != (len(got) == 0) {
			t.Fatalf("%d records, %+v, %v", len(got), stats, err)
		}
		rest := in
		for _, l := range got { // each payload stands in the file, in order
			i := bytes.Index(rest, []byte(l.Payload))
			if i < 0 {
				t.Fatalf("%q does not stand in the file", l.Payload)
			}
			rest = rest[i+len(l.Payload):]
		}
		if want := uint64(bytes.Count(in, []byte("\n"))); stats.Lines != want && stats.Lines != want+1 {
			t.Fatalf("%d lines, %d line ends", stats.Lines, want)
		}
	})
}
