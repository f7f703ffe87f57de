package readingscsv

import (
	"context"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// readForm gives what a table holds, a line a record.
func readForm(t *testing.T, text string, f Form) ([]string, Stats, error) {
	t.Helper()
	var out []string
	st, err := ReadAs(context.Background(), strings.NewReader(text), "x.csv", "loft", f, func(wall time.Time, rec capture.Record) error {
		line := wall.Format(time.RFC3339) + " " + rec.Channel + "=" + string(rec.Payload)
		if rec.Note != "" {
			line = wall.Format(time.RFC3339) + " " + rec.Note
		}
		out = append(out, line)
		return nil
	})
	return out, st, err
}

// utf16le is a text as some programs write it: UTF-16, low byte first, with its mark.
func utf16le(text string) string {
	b := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(text)) {
		b = append(b, byte(u), byte(u>>8))
	}
	return string(b)
}

func TestReadAs(t *testing.T) {
	german := "Anlage Keller\r\nSeriennummer;17\r\n\r\nDatum;Uhrzeit;Vorlauf [°C];Rücklauf [°C];\r\n12.01.2026;07:30:00;55,1;44,0;\r\n12.01.2026;07:30:10;55,3;;\r\n"
	form := Form{Time: []string{"Datum", "Uhrzeit"}, Layout: "02.01.2006 15:04:05", Zone: zone(t, "Europe/Berlin"), Want: []string{"Vorlauf [°C]"}}
	want := []string{"2026-01-12T06:30:00Z column/Vorlauf [°C]=55,1", "2026-01-12T06:30:00Z column/Rücklauf [°C]=44,0", "2026-01-12T06:30:10Z column/Vorlauf [°C]=55,3"}
	latin := strings.NewReplacer("ü", "\xfc", "°", "\xb0").Replace(german)
	windows := form
	windows.Windows1252 = true
	numbered := form
	numbered.Heading, numbered.Separator = 4, ';'
	for _, c := range []struct {
		name, text string
		form       Form
	}{
		{"UTF-8", german, form}, {"UTF-8 with its mark", "\ufeff" + german, form}, {"UTF-16", utf16le(german), form},
		{"Windows-1252", latin, windows}, {"line of the headings given", german, numbered},
		{"tabs", strings.ReplaceAll(german, ";", "\t"), form},
	} {
		got, _, err := readForm(t, c.text, c.form)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
	}
}

// TestPutBack: the clocks of London went back at 02:00 on 26 October 2025, so that 01:00 to 02:00 came twice, and
// forward at 01:00 on 30 March 2025 (IANA time zone database).
func TestPutBack(t *testing.T) {
	form := Form{Layout: "2006-01-02 15:04", Zone: zone(t, "Europe/London")}
	got, st, err := readForm(t, "time,a\n2025-10-26 00:30,1\n2025-10-26 01:10,2\n2025-10-26 01:50,3\n2025-10-26 01:10,4\n2025-10-26 01:50,5\n2025-10-26 02:10,6\n", form)
	want := []string{"2025-10-25T23:30:00Z column/a=1", "2025-10-26T00:10:00Z column/a=2", "2025-10-26T00:50:00Z column/a=3",
		"2025-10-26T01:10:00Z column/a=4", "2025-10-26T01:50:00Z column/a=5", "2025-10-26T02:10:00Z column/a=6"}
	if d := cmp.Diff(want, got); d != "" || err != nil || st.Twice != 4 || st.Back != 0 {
		t.Errorf("%v, %d twice, %d back (-want +got):\n%s", err, st.Twice, st.Back, d)
	}
	got, st, err = readForm(t, "time,a\n2025-10-26 00:30,1\n2025-10-26 01:30,2\n2025-10-26 01:30,3\n2025-10-26 02:30,4\n", form)
	want = []string{"2025-10-25T23:30:00Z column/a=1", "2025-10-26T00:30:00Z column/a=2", "2025-10-26T01:30:00Z column/a=3", "2025-10-26T02:30:00Z column/a=4"}
	if d := cmp.Diff(want, got); d != "" || err != nil || st.Twice != 2 || st.Back != 0 {
		t.Errorf("a row an hour: %v, %d twice, %d back (-want +got):\n%s", err, st.Twice, st.Back, d)
	}
	got, st, err = readForm(t, "time,a\n2025-10-26 01:10,1\n2025-10-26 01:10,2\n2025-10-26 01:11,3\n", form)
	want = []string{"2025-10-26T00:10:00Z column/a=1", "2025-10-26T00:10:00Z column/a=2", "2025-10-26T00:11:00Z column/a=3"}
	if d := cmp.Diff(want, got); d != "" || err != nil {
		t.Errorf("two rows a minute: %v (-want +got):\n%s", err, d)
	}
	got, st, err = readForm(t, "time,a\n2025-03-30 00:30,1\n2025-03-30 01:30,2\n2025-03-30 02:30,3\n", form)
	want = []string{"2025-03-30T00:30:00Z column/a=1", `2025-03-30T00:30:00Z line 3: "2025-03-30 01:30": there is no such time of day: clocks were put forward over it`,
		"2025-03-30T01:30:00Z column/a=3"}
	if d := cmp.Diff(want, got); d != "" || err != nil || st.Noted != 1 {
		t.Errorf("%v, %d noted (-want +got):\n%s", err, st.Noted, d)
	}
}

func TestReadAsErrors(t *testing.T) {
	for _, c := range []struct {
		name, text string
		form       Form
		want       string
	}{
		{"no heading of the time", "a;b\n1;2\n", Form{Time: []string{"Zeit"}}, `no line has the heading of the time, "Zeit"; the line with most columns has "a", "b"`},
		{"a wanted column is missing", "Zeit;b\n1;2\n", Form{Time: []string{"Zeit"}, Want: []string{"c"}}, `line 1: no column "c"; the columns are "Zeit", "b"`},
		{"a wanted heading twice", "time,c,c\n", Form{Want: []string{"c"}}, `the heading "c" stands over two columns`},
		{"empty", "", Form{}, "no line has the heading of the time"},
		{"no times", "time,c\nx,1\n", Form{Want: []string{"c"}}, ErrNoTimes.Error()},
	} {
		if _, _, err := readForm(t, c.text, c.form); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

func FuzzReadAs(f *testing.F) {
	f.Add("Datum;Wert\n12.01.2026 07:30:00;1,5\n", byte(0), 0)
	f.Add(utf16le("time\ta\n1768199410.5\t3\n"), byte('\t'), 1)
	f.Fuzz(func(t *testing.T, text string, sep byte, heading int) {
		for _, form := range []Form{{Separator: sep, Heading: heading}, {Time: []string{"Datum"}, Layout: "02.01.2006 15:04:05", Zone: time.FixedZone("x", 3600)}} {
			n := uint64(0)
			st, _ := ReadAs(context.Background(), strings.NewReader(text), "x", "x", form, func(_ time.Time, rec capture.Record) error {
				n++
				return nil
			})
			if st.Records != n {
				t.Fatalf("%d records, counted %d", n, st.Records)
			}
		}
	})
}
