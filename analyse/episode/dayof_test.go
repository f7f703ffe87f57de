package episode

import (
	"testing"
	"time"
)

// Days of a zone are of 23, 24 or 25 hours, lie without a gap and hold the times of their own date alone; also where clocks
// change at midnight. Rules of 2026 by the IANA time zone database.
func TestDaysOfZones(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		zone        string
		short, long string // days on which clocks are put forward, back
	}{
		{"Europe/London", "2026-03-29", "2026-10-25"},
		{"Africa/Cairo", "2026-04-24", "2026-10-29"},     // 00:00 to 01:00; 24:00 to 23:00
		{"America/Santiago", "2026-09-06", "2026-04-04"}, // 00:00 to 01:00; 24:00 to 23:00
		{"America/Havana", "2026-03-08", "2026-11-01"},   // 00:00 to 01:00; 01:00 to 00:00
		{"Atlantic/Azores", "2026-03-29", "2026-10-25"},  // 00:00 to 01:00; 01:00 to 00:00
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		at := time.Date(2026, 1, 1, 12, 0, 0, 0, zone)
		p := dayOf(at, zone)
		for p.From.Year() < 2027 {
			date := p.From.In(zone).Format(time.DateOnly)
			want := 24 * time.Hour
			switch date {
			case c.short:
				want = 23 * time.Hour
			case c.long:
				want = 25 * time.Hour
			}
			if got := p.To.Sub(p.From); got != want {
				t.Errorf("%s: %s has %v, want %v", c.zone, date, got, want)
			}
			for q := p.From; q.Before(p.To); q = q.Add(15 * time.Minute) {
				if got := dayOf(q, zone); got.From != p.From || got.To != p.To || q.In(zone).Format(time.DateOnly) != date {
					t.Fatalf("%s: %v is in %v to %v, want %s", c.zone, q.In(zone), got.From, got.To, date)
				}
			}
			next := p.Next(zone)
			if next.From != p.To {
				t.Fatalf("%s: after %s a day begins at %v, not %v", c.zone, date, next.From, p.To)
			}
			p = next
		}
	}
}
