package report

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func labels(ticks []tick) string {
	var out []string
	for _, t := range ticks {
		out = append(out, t.label)
	}
	return strings.Join(out, " ")
}

// TestTimeTicks: the offsets and change days are those of the IANA time zone database (Europe/London: clocks go
// forward at 01:00 UTC on 2026-03-29 and back at 01:00 UTC on 2026-10-25).
func TestTimeTicks(t *testing.T) {
	for _, c := range []struct {
		name, zone, from, to string
		most                 int
		want                 string
	}{
		{"six hours", "Europe/London", "2026-01-12T05:10:00Z", "2026-01-12T11:10:00Z", 7, "06:00 07:00 08:00 09:00 10:00 11:00"},
		{"an hour in ten minutes", "Europe/London", "2026-01-12T05:58:00Z", "2026-01-12T06:58:00Z", 6, "06:00 06:10 06:20 06:30 06:40 06:50"},
		{"ends included", "UTC", "2026-01-12T00:00:00Z", "2026-01-13T00:00:00Z", 4, "00:00 06:00 12:00 18:00 00:00"},
		{"summer time is local", "Europe/London", "2026-07-01T04:30:00Z", "2026-07-01T08:30:00Z", 4, "06:00 07:00 08:00 09:00"},
		{"clocks go forward: 01:00 is missing", "Europe/London", "2026-03-29T00:00:00Z", "2026-03-29T03:00:00Z", 6, "00:00 00:30 02:00 02:30 03:00 03:30 04:00"},
		{"clocks go forward: six-hour ticks stay put", "Europe/London", "2026-03-29T00:00:00Z", "2026-03-29T23:00:00Z", 4, "00:00 06:00 12:00 18:00 00:00"},
		{"clocks go back: 01:00 comes twice", "Europe/London", "2026-10-24T23:00:00Z", "2026-10-25T03:00:00Z", 6, "00:00 01:00 01:00 02:00 03:00"},
		{"clocks go back: six-hour ticks stay put", "Europe/London", "2026-10-24T23:00:00Z", "2026-10-26T00:00:00Z", 5, "00:00 06:00 12:00 18:00 00:00"},
		{"offset of 5:45 h", "Asia/Kathmandu", "2026-01-12T00:00:00Z", "2026-01-12T04:00:00Z", 4, "06:00 07:00 08:00 09:00"},
		{"days", "Europe/London", "2026-03-27T12:00:00Z", "2026-04-01T12:00:00Z", 6, "28 Mar 29 Mar 30 Mar 31 Mar 1 Apr"},
		{"weeks begin on Mondays", "Europe/London", "2026-01-01T00:00:00Z", "2026-02-01T00:00:00Z", 5, "5 Jan 12 Jan 19 Jan 26 Jan"},
		{"months", "Europe/London", "2026-01-15T00:00:00Z", "2026-06-15T00:00:00Z", 6, "Feb 2026 Mar 2026 Apr 2026 May 2026 Jun 2026"},
		{"a year in quarters", "UTC", "2026-01-01T00:00:00Z", "2026-12-31T00:00:00Z", 5, "Jan 2026 Apr 2026 Jul 2026 Oct 2026"},
		{"nothing", "UTC", "2026-01-12T00:00:00Z", "2026-01-12T00:00:00Z", 5, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			zone, err := time.LoadLocation(c.zone)
			if err != nil {
				t.Fatal(err)
			}
			from, _ := time.Parse(time.RFC3339, c.from)
			to, _ := time.Parse(time.RFC3339, c.to)
			if got := labels(timeTicks(from, to, zone, c.most)); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

func TestClockChanges(t *testing.T) {
	zone := londonZone(t)
	year := func(y int) time.Time { return time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC) }
	got := clockChanges(year(2026), year(2027), zone)
	if len(got) != 2 {
		t.Fatalf("%d changes in 2026, want 2", len(got))
	}
	if want := time.Date(2026, 3, 29, 1, 0, 0, 0, time.UTC); !got[0].at.Equal(want) || got[0].by != time.Hour {
		t.Errorf("spring: %v by %v", got[0].at, got[0].by)
	}
	if want := time.Date(2026, 10, 25, 1, 0, 0, 0, time.UTC); !got[1].at.Equal(want) || got[1].by != -time.Hour {
		t.Errorf("autumn: %v by %v", got[1].at, got[1].by)
	}
	if n := len(clockChanges(year(2026), year(2027), time.UTC)); n != 0 {
		t.Errorf("UTC changes %d times", n)
	}
}

// TestDayStart: by the IANA time zone database Cairo's clocks went forward at midnight on 2024-04-26, so that day
// began at 01:00.
func TestDayStart(t *testing.T) {
	zone, err := time.LoadLocation("Africa/Cairo")
	if err != nil {
		t.Fatal(err)
	}
	if got := dayStart(2024, time.April, 26, zone).Format("2006-01-02 15:04"); got != "2024-04-26 01:00" {
		t.Errorf("the day begins at %s", got)
	}
}

// TestTimeTicksLaw: in any window and zone ticks lie inside, go forward, and are not many more than asked for.
func TestTimeTicksLaw(t *testing.T) {
	var zones []*time.Location
	for _, name := range []string{"UTC", "Europe/London", "Asia/Kathmandu", "America/St_Johns", "Australia/Lord_Howe", "Africa/Cairo"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		zones = append(zones, zone)
	}
	rapid.Check(t, func(t *rapid.T) {
		from := time.Unix(rapid.Int64Range(1.6e9, 2e9).Draw(t, "from"), 0)
		span := time.Duration(rapid.Int64Range(60, 4e8).Draw(t, "span")) * time.Second
		most := rapid.IntRange(2, 12).Draw(t, "most")
		zone := rapid.SampledFrom(zones).Draw(t, "zone")
		ticks := timeTicks(from, from.Add(span), zone, most)
		for i, k := range ticks {
			if k.at.Before(from) || k.at.After(from.Add(span)) {
				t.Fatalf("tick at %v outside", k.at)
			}
			if i > 0 && !k.at.After(ticks[i-1].at) {
				t.Fatalf("ticks go back at %v", k.at)
			}
		}
		if len(ticks) > most+4 { // both ends, and an hour that comes twice in half-hour steps
			t.Fatalf("%d ticks where about %d were asked for", len(ticks), most)
		}
	})
}

func TestValueAxis(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		steps  int
		want   string
	}{
		{21, 84, 6, "20 40 60 80 100"},
		{21, 84, 7, "20 30 40 50 60 70 80 90"},
		{-1.2, 7, 4, "−5 0 5 10"},
		{1.11, 1.48, 4, "1.1 1.2 1.3 1.4 1.5"},
		{65, 65, 2, "64 65 66"},
		{0, 1, 2, "0.0 0.5 1.0"},
	} {
		a := newValueAxis(c.lo, c.hi, c.steps)
		var got []string
		for _, v := range a.values() {
			got = append(got, a.label(v))
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%v…%v in %d: got %s, want %s", c.lo, c.hi, c.steps, s, c.want)
		}
	}
}

func TestValueAxisLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-60, 500).Draw(t, "low")
		hi := lo + rapid.Float64Range(0, 500).Draw(t, "range")
		n := rapid.IntRange(2, 8).Draw(t, "steps")
		a := newValueAxis(lo, hi, n)
		if !(a.low <= lo+1e-6 && a.high >= hi-1e-6) {
			t.Fatalf("%v…%v lies outside the axis %v…%v", lo, hi, a.low, a.high)
		}
		if got := len(a.values()); got < 2 || got > n+4 {
			t.Fatalf("%d ticks for %d steps", got, n)
		}
	})
}
