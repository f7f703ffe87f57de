package opentherm

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/decodetest"
)

func newEdgeDecoder(t testing.TB, c EdgeConfig) *EdgeDecoder {
	t.Helper()
	c.Source = "boiler"
	d, err := NewEdges(c)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// printer turns frames into the lines of an adapter.
type printer struct {
	line  func(us uint64, level int, sender string) string
	base  TimeBase
	clock uint64            // µs
	last  map[string]uint64 // clock at the last change, by channel
}

// edgeRecords gives a record for each change of the frames that records of text hold, the last one at the text's time.
func (p *printer) edgeRecords(text []capture.Record) (out []capture.Record) {
	start := text[0].Time.Add(-100 * time.Millisecond)
	p.last = map[string]uint64{}
	last := map[string]uint64{}
	for _, rec := range text {
		f, ok := FindFrame(rec.Payload, nil)
		if !ok {
			continue
		}
		sender := "S"
		if f.FromMaster() {
			sender = "M"
		}
		edges := f.Edges()
		for i, e := range edges {
			early := edges[len(edges)-1] - e
			t := rec.Time.Add(-early)
			now := p.clock + uint64(t.Sub(start)/time.Microsecond)
			us := now
			switch p.base {
			case SinceChange:
				us = now - last[sender]
			case SinceAnyChange:
				us = now - last[""]
			case Counter:
				us = uint64(uint32(now))
			}
			last[sender], last[""] = now, now
			r := rec
			r.Seq, r.Time, r.Payload = uint64(len(out)+1), t, []byte(p.line(us, 1-i%2, sender)+"\r\n")
			if rec.At != 0 {
				r.At = rec.At - early
			}
			out = append(out, r)
		}
	}
	return out
}

// timesOnly are the readings without the places of their records.
func timesOnly(all []decode.Reading) []decode.Reading {
	out := slices.Clone(all)
	for i := range out {
		out[i].Seq = 0
	}
	return out
}

func readAll(t testing.TB, d decode.Decoder, recs []capture.Record) (all []decode.Reading) {
	for _, r := range recs {
		_ = d.Decode(r, func(x decode.Reading) { all = append(all, x) })
	}
	return all
}

// printers are the forms in which adapters tell a change, with the configuration for each.
func printers() map[string]struct {
	printer
	c EdgeConfig
} {
	type form = struct {
		printer
		c EdgeConfig
	}
	number := func(us uint64, _ int, _ string) string { return fmt.Sprint(us) }
	words := []string{"falling", "Rising"}
	return map[string]form{
		"µs":                    {printer: printer{line: number}},
		"counter":               {printer{line: number, base: Counter}, EdgeConfig{Time: Counter}},
		"counter comes round":   {printer{line: number, base: Counter, clock: 1<<32 - 700_000}, EdgeConfig{Time: Counter}},
		"µs and level":          {printer: printer{line: func(us uint64, lv int, _ string) string { return fmt.Sprintf("%d %d", us, lv) }}},
		"level and µs":          {printer: printer{line: func(us uint64, lv int, _ string) string { return fmt.Sprintf("%d,%d", lv, us) }}},
		"level the other way":   {printer: printer{line: func(us uint64, lv int, _ string) string { return fmt.Sprintf("%d;%d µs", 1-lv, us) }}},
		"R and F":               {printer: printer{line: func(us uint64, lv int, _ string) string { return fmt.Sprintf("%c%d", "FR"[lv], us) }}},
		"words":                 {printer: printer{line: func(us uint64, lv int, _ string) string { return fmt.Sprintf("%dus %s", us, words[lv]) }}},
		"two channels":          {printer: printer{line: func(us uint64, lv int, ch string) string { return fmt.Sprintf("%s %d %d", ch, us, lv) }}},
		"two channels, short":   {printer: printer{line: func(us uint64, lv int, ch string) string { return fmt.Sprintf("%s%d", ch, us) }}},
		"two channels, counter": {printer{base: Counter, line: func(us uint64, lv int, ch string) string { return fmt.Sprintf("%s:%d=%d", ch, us, lv) }}, EdgeConfig{Time: Counter}},
		"two channels, one time": {printer{base: SinceAnyChange, line: func(us uint64, lv int, ch string) string { return fmt.Sprintf("%s H%d", ch, us) }},
			EdgeConfig{Time: SinceAnyChange, Config: Config{Pattern: `^(?P<channel>\w) H(?P<us>\d+)$`}}},
		"pattern": {printer: printer{line: func(us uint64, lv int, ch string) string { return fmt.Sprintf("[%d] edge#%d took %d.", lv, 4711, us) }},
			c: EdgeConfig{Config: Config{Pattern: `^\[(?P<level>[01])\] edge#\d+ took (?P<us>\d+)\.$`}}},
	}
}

// Whatever the form, the readings are those of the same frames as text, with their times.
func TestEdgeForms(t *testing.T) {
	text := timedLines(t, "conversation.log")
	want := timesOnly(readAll(t, newDecoder(t), text))
	if len(want) < 20 {
		t.Fatalf("only %d readings", len(want))
	}
	for name, p := range printers() {
		t.Run(name, func(t *testing.T) {
			recs := p.edgeRecords(text)
			d := newEdgeDecoder(t, p.c)
			if diff := cmp.Diff(want, timesOnly(readAll(t, d, recs))); diff != "" {
				t.Errorf("readings differ (-text +edges):\n%s", diff)
			}
			for _, c := range d.Tally() {
				if strings.HasPrefix(c.Name, "frames ") && c.N > 0 || c.Name == "stray pulses" && c.N > 0 {
					t.Errorf("%s: %d", c.Name, c.N)
				}
			}
		})
	}
}

func TestEdgeConformance(t *testing.T) {
	text := timedLines(t, "conversation.log")
	for _, name := range []string{"µs", "two channels, counter", "pattern"} {
		p := printers()[name]
		t.Run(name, func(t *testing.T) {
			decodetest.TestDecoder(t, func() decode.Decoder { return newEdgeDecoder(t, p.c) }, p.edgeRecords(text)[:62*12])
		})
	}
}

func TestEdgeLines(t *testing.T) {
	type want struct {
		us      uint64
		level   level
		channel string
	}
	for _, c := range []struct {
		lines string // the last one counts, those before it teach the order of numbers
		want  *want
	}{
		{"512", &want{us: 512}},
		{" 512\t", &want{us: 512}},
		{"512 1", &want{512, highLevel, ""}},
		{"0 512", &want{512, lowLevel, ""}},
		{"512 1|0 1", &want{0, highLevel, ""}},
		{"1 512|0 1", &want{1, lowLevel, ""}},
		{"R512", &want{512, highLevel, ""}},
		{"512f", &want{512, lowLevel, ""}},
		{"l 512", &want{512, lowLevel, ""}},
		{"FALLING: 512 us", &want{512, lowLevel, ""}},
		{"B,1,512", &want{512, highLevel, "B"}},
		{"slave rise=512µs", &want{512, highLevel, "slave"}},
		{"A1 512", &want{512, highLevel, "A"}},
		{"", nil}, {"R", nil}, {"512 513", nil}, {"1 2 3", nil}, {"512.5", nil}, {"-512", nil}, {"512 R 1", nil}, {"R F 512", nil},
		{"A B 512", nil}, {"overlongname 512", nil}, {"1234567890123456789", nil}, {"0x200", nil}, {"1R512", nil}, {"512\x00", nil}, {"+512", nil},
	} {
		l, err := newEdgeLines("")
		if err != nil {
			t.Fatal(err)
		}
		var got change
		var ok bool
		for line := range strings.SplitSeq(c.lines, "|") {
			got, ok = l.read([]byte(line + "\r\n"))
		}
		if ok != (c.want != nil) {
			t.Errorf("%q: %+v, %v", c.lines, got, ok)
			continue
		}
		if ok && (got.us != c.want.us || got.level != c.want.level || strings.TrimRight(string(got.channel[:]), "\x00") != c.want.channel) {
			t.Errorf("%q is %+v", c.lines, got)
		}
	}
	for pattern, says := range map[string]string{"(": "missing closing", `(?P<level>.) \d+`: "no group named us"} {
		if _, err := NewEdges(EdgeConfig{Config: Config{Source: "boiler", Pattern: pattern}}); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v", pattern, err)
		}
	}
}

// What is passed over has a name, and what comes after it is whole.
func TestEdgeTally(t *testing.T) {
	us := ideal(0x80190000)
	lines := func(t []uint64) (out []string) {
		for i := range t {
			if i == 0 {
				out = append(out, "100000 1")
				continue
			}
			out = append(out, fmt.Sprintf("%d %d", t[i]-t[i-1], 1-i%2))
		}
		return out
	}
	whole := lines(us)
	var bare []string
	for _, l := range whole {
		bare = append(bare, l[:len(l)-2])
	}
	for _, c := range []struct {
		name  string
		lines []string
		want  map[string]uint64
	}{
		{"whole", whole, map[string]uint64{"level changes": 62, "frames": 1, "requests": 1}},
		{"cut off", whole[:40], map[string]uint64{"frames cut off": 1}},
		{"cut off at once", whole[:6], map[string]uint64{"stray pulses": 1}},
		{"missed", slices.Concat(whole[:30], whole[31:]), map[string]uint64{"frames with a level change missed": 1}},
		{"out of time", slices.Concat(whole[:30], []string{"200 1", "200 0"}, whole[32:]), map[string]uint64{"frames with a level change out of time": 1}},
		// A change between two bits that are alike is missed, and no level tells: all bits after it are turned round.
		{"no stop bit", slices.Concat(bare[:21], []string{"1000"}, bare[23:]), map[string]uint64{"frames without a stop bit": 1}},
		{"glitch", slices.Concat(whole[:20], []string{"200 1", "30 0", "270 1"}, whole[21:]), map[string]uint64{"glitches passed over": 1, "frames": 1}},
		{"after the frame", append(slices.Clone(whole), "300 1", "300 0"), map[string]uint64{"level changes outside of frames": 2, "frames": 1}},
		{"words", append([]string{"ready, version 2.1"}, whole...), map[string]uint64{"lines that are no level change": 1, "frames": 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := newEdgeDecoder(t, EdgeConfig{})
			for i, l := range slices.Concat(c.lines, whole) {
				_ = d.Decode(capture.Record{Seq: uint64(i + 1), Run: 1, At: time.Duration(i) * time.Millisecond, Time: noon, Payload: []byte(l + "\n")}, func(decode.Reading) {})
			}
			got := map[string]uint64{}
			for _, n := range d.Tally() {
				got[n.Name] = n.N
			}
			want := uint64(2)
			if c.want["frames"] == 0 {
				want = 1
			}
			if got["frames"] != want {
				t.Errorf("%d frames, want %d: %v", got["frames"], want, got)
			}
			for name, n := range c.want {
				if name != "frames" && name != "level changes" && name != "requests" && got[name] != n {
					t.Errorf("%s: %d, want %d", name, got[name], n)
				}
			}
		})
	}
}

// Changes that arrive far apart are no neighbours, though a counter that came round says so; nor are those of two runs, or
// those with a loss between.
func TestEdgesApart(t *testing.T) {
	us := ideal(0x80190000)
	for name, breakAt := range map[string]func(*capture.Record){
		"by arrival": func(r *capture.Record) { r.At += ReplyLimit },
		"by run":     func(r *capture.Record) { r.Run = 2 },
	} {
		d := newEdgeDecoder(t, EdgeConfig{Time: Counter})
		for i, at := range us {
			r := capture.Record{Seq: uint64(i + 1), Run: 1, At: time.Duration(at+1) * time.Microsecond, Time: noon, Payload: fmt.Append(nil, at)}
			if i >= 30 {
				breakAt(&r)
			}
			_ = d.Decode(r, func(decode.Reading) {})
		}
		if d.n.frames != 0 || d.e.faults[cutOff] != 1 {
			t.Errorf("%s: %d frames, %d cut off", name, d.n.frames, d.e.faults[cutOff])
		}
	}
	d := newEdgeDecoder(t, EdgeConfig{Time: Counter})
	for i, at := range us {
		if i == 30 {
			_ = d.Decode(capture.Record{Seq: 1, Run: 1, Note: "lost: no such device"}, func(decode.Reading) {})
		}
		_ = d.Decode(capture.Record{Seq: 1, Run: 1, Payload: fmt.Append(nil, at)}, func(decode.Reading) {})
	}
	if d.n.frames != 0 || d.e.faults[cutOff] != 1 {
		t.Errorf("loss: %d frames, %d cut off", d.n.frames, d.e.faults[cutOff])
	}
}

// Both directions interleaved change by change on two channels, as no bus does it: each is read by itself.
func TestEdgesInterleaved(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		a, b := Frame(r.Uint32()), Frame(r.Uint32())
		type line struct {
			at uint64
			ch string
		}
		var all []line
		for _, at := range ideal(a) {
			all = append(all, line{at + 50_000, "A"})
		}
		for _, at := range ideal(b) {
			all = append(all, line{at + 50_333, "B"})
		}
		slices.SortFunc(all, func(x, y line) int { return int(x.at) - int(y.at) })
		for _, base := range []TimeBase{Counter, SinceAnyChange} {
			d := newEdgeDecoder(t, EdgeConfig{Time: base})
			last := uint64(0)
			for i, l := range all {
				us := l.at
				if base == SinceAnyChange {
					us -= last
				}
				last = l.at
				_ = d.Decode(capture.Record{Seq: uint64(i + 1), Run: 1, At: time.Duration(l.at) * time.Microsecond, Payload: fmt.Appendf(nil, "%s %d", l.ch, us)}, func(decode.Reading) {})
			}
			if d.n.frames != 2 {
				t.Errorf("%v and %v, time base %d: %d frames", a, b, base, d.n.frames)
			}
		}
	}
}

func TestEdgesAllocateNothing(t *testing.T) {
	text := timedLines(t, "conversation.log")
	p := printers()["two channels"]
	recs := p.edgeRecords(text)
	d := newEdgeDecoder(t, EdgeConfig{})
	emit := func(decode.Reading) {}
	got := testing.AllocsPerRun(5, func() {
		for _, r := range recs {
			_ = d.Decode(r, emit)
		}
	})
	// Refused values are errors, which are made; the frames as text make as many.
	td := newDecoder(t)
	text2 := testing.AllocsPerRun(5, func() {
		for _, r := range text {
			_ = td.Decode(r, emit)
		}
	})
	if got > text2 {
		t.Errorf("%v allocations for %d lines, the frames as text make %v", got, len(recs), text2)
	}
}

func FuzzEdges(f *testing.F) {
	text := timedLines(f, "conversation.log")
	for _, p := range printers() {
		var b strings.Builder
		for _, r := range p.edgeRecords(text)[:130] {
			b.Write(r.Payload)
		}
		f.Add(b.String(), uint8(p.c.Time))
	}
	f.Fuzz(func(t *testing.T, stream string, base uint8) {
		d := newEdgeDecoder(t, EdgeConfig{Time: TimeBase(base % 3)})
		i := 0
		for line := range strings.SplitSeq(stream, "\n") {
			i++
			_ = d.Decode(capture.Record{Seq: uint64(i), Run: 1, At: time.Duration(i) * time.Millisecond, Time: noon, Payload: []byte(line)}, func(r decode.Reading) {
				if err := decodetest.Check(r); err != nil {
					t.Error(err)
				}
			})
		}
		if d.e.lines != uint64(i) || d.e.unread+d.e.changes != d.e.lines || d.n.frames*52 > d.e.changes {
			t.Errorf("%d lines, %+v, %d frames", i, d.e, d.n.frames)
		}
	})
}

// BenchmarkEdges tells the time for a frame as edges, and as text, of the same conversation.
func BenchmarkEdges(b *testing.B) {
	text := timedLines(b, "conversation.log")
	frames := 0
	for _, r := range text {
		if _, ok := FindFrame(r.Payload, nil); ok {
			frames++
		}
	}
	p := printers()["µs and level"]
	for name, c := range map[string]struct {
		d    decode.Decoder
		recs []capture.Record
	}{"text": {newDecoder(b), text}, "edges": {newEdgeDecoder(b, EdgeConfig{}), p.edgeRecords(text)}} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				for _, r := range c.recs {
					_ = c.d.Decode(r, func(decode.Reading) {})
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*frames), "ns/frame")
		})
	}
}
