package readingscsv

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tundish/capture"
)

type cell struct {
	Wall, Channel, Payload, Note string
	Sweep                        uint32
}

func known(p string) bool { return p == "flow" || p == "return" || p == "pressure" }

func readAll(ctx context.Context, r io.Reader) ([]cell, Stats, error) {
	var got []cell
	stats, err := Read(ctx, r, "loft.csv", "probes", known, func(wall time.Time, rec capture.Record) error {
		if rec.Source != "probes" || rec.Seq != 0 || rec.At != 0 || wall.Location() != time.UTC {
			return fmt.Errorf("record %+v at %v", rec, wall)
		}
		got = append(got, cell{wall.Format(time.RFC3339Nano), rec.Channel, string(rec.Payload), rec.Note, rec.Sweep})
		return nil
	})
	return got, stats, err
}

// Quoting is as in the examples of RFC 4180, section 2; times with an offset as in RFC 3339, 5.8. The Unix seconds
// were computed with date -u +%s.
func TestRead(t *testing.T) {
	const t1, t2 = "2026-01-12T06:30:00Z", "2026-01-12T06:31:00Z"
	const f, r = "readings/flow", "readings/return"
	const head = "time,flow,return\n"
	cut := "line 3: the file ends here without a line end: the last cell may be cut off"
	first := []cell{{t1, f, "55.1", "", 1}, {t1, r, "44", "", 1}}
	for _, c := range []struct {
		name, in string
		want     []cell
		stats    Stats
	}{
		{"plain", head + t1 + ",55.1,44\n", first, Stats{Rows: 1, Records: 2}},
		{"CRLF, byte order mark, blanks, comments", "\ufeff# loft\r\ntime, flow ,return\r\n\r\n" + t1 + ",55.1,44\r\n", first,
			Stats{Rows: 1, Records: 2, Skipped: 2}},
		{"empty cells", head + t1 + ",,44\n" + t2 + ",, \n", []cell{{t1, r, "44", "", 1}}, Stats{Rows: 2, Records: 1}},
		{"zero is a reading", head + t1 + ",0,-0.5\n", []cell{{t1, f, "0", "", 1}, {t1, r, "-0.5", "", 1}}, Stats{Rows: 1, Records: 2}},
		{"offset", head + "1996-12-19T16:39:57-08:00,1,\n", []cell{{"1996-12-20T00:39:57Z", f, "1", "", 1}}, Stats{Rows: 1, Records: 1}},
		{"Unix seconds", head + "1768199400,55.1,44\n1768199460.250,55.2,\n", append(first[:2:2], cell{"2026-01-12T06:31:00.25Z", f, "55.2", "", 2}),
			Stats{Rows: 2, Records: 3}},
		{"text is kept as it stands", head + t1 + `, 55.1 ,"4""4,0"` + "\n", []cell{{t1, f, " 55.1 ", "", 1}, {t1, r, `4"4,0`, "", 1}}, Stats{Rows: 1, Records: 2}},
		{"not a number is not judged here", head + t1 + ",n/a,44\n", []cell{{t1, f, "n/a", "", 1}, {t1, r, "44", "", 1}}, Stats{Rows: 1, Records: 2}},
		{"cells missing, cells too many, bad time, bad quotes", head + t1 + ",55.1,44\n" + t2 + ",55\n" + t2 + ",1,2,3\nlater,1,2\n" + t2 + ",\"1,2\n" + t2 + ",1\"x,2\n1768199400000,1,2\n",
			append(first[:2:2],
				cell{t1, "", t2 + ",55\n", "line 3: 2 cells, the header has 3", 2},
				cell{t1, "", t2 + ",1,2,3\n", "line 4: 4 cells, the header has 3", 3},
				cell{t1, "", "later,1,2\n", `line 5: "later" is neither an RFC 3339 time nor Unix seconds`, 4},
				cell{t1, "", t2 + ",\"1,2\n", "line 6: a quoted cell is not closed on its line", 5},
				cell{t1, "", t2 + ",1\"x,2\n", "line 7: a quote stands inside a cell that is not quoted", 6},
				cell{t1, "", "1768199400000,1,2\n", `line 8: "1768199400000" is neither an RFC 3339 time nor Unix seconds`, 7}),
			Stats{Rows: 7, Records: 8, Noted: 6}},
		{"bad before any time is known", head + "later,1,2\n" + t1 + ",55.1,44\n",
			[]cell{{t1, f, "55.1", "", 2}, {t1, r, "44", "", 2}}, Stats{Rows: 2, Records: 2, Untimed: 1, FirstUntimed: 2}},
		{"back", head + t2 + ",1,\n" + t1 + ",2,\n", []cell{{t2, f, "1", "", 1}, {t1, f, "2", "", 2}}, Stats{Rows: 2, Records: 2, Back: 1}},
		{"cut off in the last cell", head + t1 + ",55.1,44\n" + t2 + ",55.2,4",
			append(first[:2:2], cell{t2, f, "55.2", "", 2}, cell{t2, r, "4", cut, 2}), Stats{Rows: 2, Records: 4, Truncated: true}},
		{"cut off before the last cell", head + t1 + ",55.1,44\n" + t2 + ",55",
			append(first[:2:2], cell{t2, f, "55", cut, 2}), Stats{Rows: 2, Records: 3, Truncated: true}},
		{"cut off at a comma", head + t1 + ",55.1,44\n" + t2 + ",55.2,",
			append(first[:2:2], cell{t2, f, "55.2", "", 2}), Stats{Rows: 2, Records: 3, Truncated: true}},
		{"cut off in the time", head + t1 + ",55.1,44\n1768", append(first[:2:2], cell{t1, "", "1768", "line 3: cut off in the time", 2}),
			Stats{Rows: 2, Records: 3, Noted: 1, Truncated: true}},
		{"overlong", head + t1 + ",55.1,44\n" + strings.Repeat("1", LineLimit) + "2\n", append(first[:2:2],
			cell{t1, "", strings.Repeat("1", LineLimit), "line 3: longer than 65536 bytes: kept in pieces", 2},
			cell{t1, "", "2\n", "line 3: longer than 65536 bytes: kept in pieces", 2}), Stats{Rows: 2, Records: 4, Noted: 1}},
		{"header only", head, nil, Stats{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for name, r := range map[string]io.Reader{"whole": strings.NewReader(c.in), "byte by byte": iotest.OneByteReader(strings.NewReader(c.in))} {
				got, stats, err := readAll(t.Context(), r)
				if err != nil {
					t.Fatal(name, err)
				}
				if diff := cmp.Diff(c.want, got) + cmp.Diff(c.stats, stats); diff != "" {
					t.Errorf("%s: %.3000s", name, diff)
				}
			}
		})
	}
}

func TestErrors(t *testing.T) {
	const t1 = "2026-01-12T06:30:00Z"
	for _, c := range []struct {
		name, in string
		want     []string
	}{
		{"empty", "", []string{"loft.csv: line 1: no header"}},
		{"no time", "flow,return\n", []string{`loft.csv: line 1, column 1: "flow" where time must stand`}},
		{"all that is wrong at once", "# x\nTime,flow,flo,flow,time,\n" + t1 + ",1,2,3,4,5\n", []string{
			`line 2, column 1: "Time" where time must stand`, `line 2, column 3: "flo" is not a point`,
			"line 2, column 4: flow stands in column 2 already", "line 2, column 5: time must stand in column 1",
			`line 2, column 6: "" is not a point`}},
		{"semicolons", "time;flow\n", []string{`"time;flow" where time must stand`}},
		{"time alone", "time\n", []string{"line 1, column 2: no point"}},
		{"quotes", "time,\"flow\n", []string{"line 1: a quoted cell is not closed"}},
		{"no row has a time", "time,flow\n\nx,1\ny,2\n", []string{"loft.csv: line 3: no row has a time"}},
		{"random bytes", "\x93\x00\xfe\x1b[0m\n\xff\xff", []string{"line 1, column 1"}},
		{"random bytes without an end", strings.Repeat("\xa5", 2*LineLimit), []string{"line 1: longer than"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, _, err := readAll(t.Context(), strings.NewReader(c.in))
			if err == nil || len(got) > 0 {
				t.Fatalf("got %v, %v", got, err)
			}
			for _, w := range c.want {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("%q does not say %q", err, w)
				}
			}
			if c.name == "no row has a time" && !errors.Is(err, ErrNoTimes) {
				t.Error("not ErrNoTimes")
			}
		})
	}
	t.Run("emit", func(t *testing.T) {
		full := errors.New("disk full")
		_, err := Read(t.Context(), strings.NewReader("time,flow\n"+t1+",1\n"), "f", "s", known, func(time.Time, capture.Record) error { return full })
		if err != full {
			t.Errorf("got %v", err)
		}
	})
	t.Run("read", func(t *testing.T) {
		broken := errors.New("input/output error")
		got, _, err := readAll(t.Context(), io.MultiReader(strings.NewReader("time,flow\n"+t1+",1\n"), iotest.ErrReader(broken)))
		if !errors.Is(err, broken) || len(got) != 1 {
			t.Errorf("got %v, %v", got, err)
		}
	})
	t.Run("cancelled", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if _, _, err := readAll(ctx, strings.NewReader("time,flow\n")); !errors.Is(err, context.Canceled) {
			t.Errorf("got %v", err)
		}
	})
}

// TestRoundTrip: any cell text comes back when it was quoted as RFC 4180 says, and empty cells never do.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var in strings.Builder
		var want []cell
		in.WriteString("time,flow,return\n")
		for row := range rapid.IntRange(1, 10).Draw(t, "rows") {
			sec := rapid.Int64Range(0, lastSecond).Draw(t, "s")
			wall := time.Unix(sec, 0).UTC().Format(time.RFC3339Nano)
			fmt.Fprint(&in, sec)
			for _, ch := range []string{"readings/flow", "readings/return"} {
				text := rapid.StringMatching(`[^\n]{0,8}`).Draw(t, "text")
				fmt.Fprintf(&in, `,"%s"`, strings.ReplaceAll(text, `"`, `""`))
				if strings.TrimSpace(text) != "" {
					want = append(want, cell{wall, ch, text, "", uint32(row + 1)})
				}
			}
			in.WriteString("\n")
		}
		got, _, err := readAll(context.Background(), strings.NewReader(in.String()))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatal(diff)
		}
	})
}

func FuzzReadingsCSV(f *testing.F) {
	f.Add([]byte("time,flow,return\n2026-01-12T06:30:00Z,55.1,44\n1768199400.5,,\"4\"\"4\"\n1768199400,5"))
	f.Add([]byte("time,flow\nx,1\n\xff\x00"))
	f.Add([]byte("\ufefftime,flo,flow,flow\n"))
	f.Fuzz(func(t *testing.T, in []byte) {
		got, stats, err := readAll(context.Background(), bytes.NewReader(in))
		if uint64(len(got)) != stats.Records || err != nil && len(got) > 0 {
			t.Fatalf("%d records, %+v, %v", len(got), stats, err)
		}
		last := uint32(0)
		for _, c := range got {
			if c.Sweep < last || c.Sweep == 0 || uint64(c.Sweep) > stats.Rows {
				t.Fatalf("row %d after row %d of %d", c.Sweep, last, stats.Rows)
			}
			last = c.Sweep
			if c.Note == "" && (strings.TrimSpace(c.Payload) == "" || !known(strings.TrimPrefix(c.Channel, ChannelPrefix))) {
				t.Fatalf("%+v", c)
			}
			if c.Channel == "" && !bytes.Contains(in, []byte(c.Payload)) {
				t.Fatalf("%q does not stand in the file", c.Payload)
			}
		}
	})
}
