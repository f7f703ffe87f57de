package report

import (
	"testing"
	"time"
)

func TestSpanWords(t *testing.T) {
	for _, c := range []struct {
		d    time.Duration
		want string
	}{
		{0, "0\u00a0s"}, {250 * time.Millisecond, "250\u00a0ms"}, {75 * time.Second, "75\u00a0s"}, {5*time.Minute + 30*time.Second, "5\u00a0min 30\u00a0s"},
		{40 * time.Minute, "40\u00a0min"}, {105 * time.Minute, "1\u00a0h 45\u00a0min"}, {24 * time.Hour, "24\u00a0h"}, {72 * time.Hour, "3\u00a0days"},
		{75 * time.Hour, "3\u00a0days 3\u00a0h"}, {30*dayLength + time.Hour, "30\u00a0days"}, {-time.Hour, "0\u00a0s"},
	} {
		if got := spanWords(c.d); got != c.want {
			t.Errorf("%v: %q, want %q", c.d, got, c.want)
		}
	}
}

func TestFigureText(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{{0, "0"}, {9, "9"}, {4.2, "4.2"}, {-0.001, "−0.001"}, {-0.00001, "0"}, {74.26, "74.3"}, {1234.5, "1\u00a0234"}, {-18342, "−18\u00a0342"}, {0.025, "0.025"}, {-3.5, "−3.5"}, {100, "100"}, {10.04, "10"}} {
		if got := figureText(c.v); got != c.want {
			t.Errorf("%v: %s, want %s", c.v, got, c.want)
		}
	}
}

// TestShareText: a share is cut, not rounded: 100 % must mean all of it.
func TestShareText(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{{1, "100\u00a0%"}, {0.99999, "99.9\u00a0%"}, {0.998, "99.8\u00a0%"}, {0, "0\u00a0%"}, {0.0004, "under\u00a00.1\u00a0%"}} {
		if got := shareText(c.v); got != c.want {
			t.Errorf("%v: %s, want %s", c.v, got, c.want)
		}
	}
}

// TestClockNamesTheHourThatComesTwice: on 2026-10-25 01:30 stands twice in London (IANA time zone database).
func TestClockNamesTheHourThatComesTwice(t *testing.T) {
	zone := londonZone(t)
	first := time.Date(2026, 10, 25, 0, 30, 0, 0, time.UTC)
	c := newClock(first.Add(-time.Hour), first.Add(3*time.Hour), zone)
	if got := c.row(first); got != "25 Oct 2026 01:30:00 BST" {
		t.Error(got)
	}
	if got := c.row(first.Add(time.Hour)); got != "25 Oct 2026 01:30:00 GMT" {
		t.Error(got)
	}
	if got := newClock(first.Add(3*time.Hour), first.Add(9*time.Hour), zone).row(first.Add(4 * time.Hour)); got != "25 Oct 2026 04:30:00" {
		t.Error(got)
	}
}

func TestKindsHaveHeadings(t *testing.T) {
	if got := kindTitle("short-cycling"); got != "Short cycling" {
		t.Error(got)
	}
	if got := kindTitle("a-kind-of-tomorrow"); got != "A kind of tomorrow" {
		t.Error(got)
	}
}

func TestCleanText(t *testing.T) {
	for in, want := range map[string]string{
		" a\tb\nc ": "a b c", "a\x00b": "a\ufffdb", "\xff": "\ufffd", "x\u202ey": "x\ufffdy", "naïve – ok": "naïve – ok",
	} {
		if got := cleanText(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}
