package analyse_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

var start = time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)

// tell gives one flame reading every interval, except from…to.
func tell(a *analyse.Analysis, total, interval, from, to time.Duration) {
	for at := time.Duration(0); at <= total; at += interval {
		if at > from && at < to {
			continue
		}
		t := start.Add(at)
		a.Record("boiler", 1, t, "")
		a.Reading(decode.Reading{Time: t, Series: decode.Series{Source: "boiler", Point: decode.Flame}, Quality: decode.Good})
	}
}

// Coverage is the share of the record in which a reading is no older than three usual intervals: by hand, 100 min
// with readings every 10 s but none between minutes 30 and 50 leaves 80 min and 30 s.
func TestCoverage(t *testing.T) {
	a := analyse.New(analyse.Config{})
	tell(a, 100*time.Minute, 10*time.Second, 30*time.Minute, 50*time.Minute)
	c := a.Result().Coverage
	if len(c) != 1 {
		t.Fatalf("coverage is %+v", c)
	}
	want := (80*60 + 30) / 6000.0
	if math.Abs(c[0].Share-want) > 1e-9 {
		t.Errorf("share is %v, want %v", c[0].Share, want)
	}
	if c[0].Interval != 10*time.Second || c[0].Series.String() != "boiler/flame" {
		t.Errorf("coverage is %+v", c[0])
	}
}

func check(run func(*analyse.Pass)) analyse.Check {
	return analyse.Check{Kind: "k", Run: run, Needs: []analyse.Need{{Points: []decode.Point{decode.Flame}, Say: "no flame"}}}
}

func TestThreeAnswers(t *testing.T) {
	clear := check(func(p *analyse.Pass) { p.Clear("sound") })
	cases := []struct {
		name     string
		check    analyse.Check
		from, to time.Duration // of a hole in 100 min
		want     analyse.Outcome
		because  string
	}{
		{"clear", clear, 0, 0, analyse.Clear, "sound"},
		{"clear, but half was not seen", clear, 30 * time.Minute, 80 * time.Minute, analyse.NotAssessable, "covers only"},
		{"found, though half was not seen", check(func(p *analyse.Pass) { p.Found(analyse.Finding{Summary: "bad"}) }), 30 * time.Minute, 80 * time.Minute, analyse.Found, "bad"},
		{"says nothing", check(func(*analyse.Pass) {}), 0, 0, analyse.NotAssessable, "0 answers"},
		{"says two things", check(func(p *analyse.Pass) { p.Clear("a"); p.Clear("b") }), 0, 0, analyse.NotAssessable, "2 answers"},
		{"lacks its point", analyse.Check{Kind: "k", Run: clear.Run, Needs: []analyse.Need{{Points: []decode.Point{decode.Flow}, Say: "no flow"}}}, 0, 0, analyse.NotAssessable, "no flow"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			a := analyse.New(analyse.Config{Checks: []analyse.Check{c.check}})
			tell(a, 100*time.Minute, 10*time.Second, c.from, c.to)
			r := a.Result()
			if len(r.Checked) != 1 || r.Checked[0].Outcome != c.want || !strings.Contains(r.Checked[0].Because, c.because) {
				t.Errorf("checked is %+v, want %v because %q", r.Checked, c.want, c.because)
			}
			if (len(r.Findings) == 1) != (c.want == analyse.Found) {
				t.Errorf("findings are %+v", r.Findings)
			}
		})
	}
}

func TestSpan(t *testing.T) {
	for d, want := range map[time.Duration]string{
		74 * time.Second: "74 s", 12 * time.Minute: "12 min", 200 * time.Minute: "3 h 20 min", 52 * time.Hour: "2 days 4 h", 48 * time.Hour: "2 days",
		3 * time.Hour: "3 h", 250 * time.Millisecond: "250 ms", 330 * time.Second: "5 min 30 s", 0: "0 s", 48*time.Hour - time.Second: "2 days", 30 * 24 * time.Hour: "30 days",
	} {
		if got := analyse.Span(d); got != want {
			t.Errorf("%v prints as %q, want %q", d, got, want)
		}
	}
}
