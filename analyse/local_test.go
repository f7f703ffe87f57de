package analyse

import (
	"testing"
	"time"
)

// The moments are those of the IANA time zone database: London 2026-10-25 02:00 to 01:00 and 2026-03-29 01:00 to 02:00,
// Lord Howe 2026-04-05 02:00 to 01:30.
func TestLocalTime(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ zone, utc, want string }{
		{"Europe/London", "2026-10-24T23:59:59Z", "00:59:59"},
		{"Europe/London", "2026-10-25T00:00:00Z", "01:00:00 BST"},
		{"Europe/London", "2026-10-25T00:59:59Z", "01:59:59 BST"},
		{"Europe/London", "2026-10-25T01:00:00Z", "01:00:00 GMT"},
		{"Europe/London", "2026-10-25T01:59:59Z", "01:59:59 GMT"},
		{"Europe/London", "2026-10-25T02:00:00Z", "02:00:00"},
		{"Europe/London", "2026-03-29T00:59:59Z", "00:59:59"},
		{"Europe/London", "2026-03-29T01:00:00Z", "02:00:00"},
		{"Australia/Lord_Howe", "2026-04-04T14:29:59Z", "01:29:59"},
		{"Australia/Lord_Howe", "2026-04-04T14:30:00Z", "01:30:00 +11"},
		{"Australia/Lord_Howe", "2026-04-04T15:00:00Z", "01:30:00 +1030"},
		{"UTC", "2026-10-25T00:30:00Z", "00:30:00"},
	} {
		zone, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		at, err := time.Parse(time.RFC3339, c.utc)
		if err != nil {
			t.Fatal(err)
		}
		if got := LocalTime(at, zone, "15:04:05"); got != c.want {
			t.Errorf("%s %s: %s, want %s", c.zone, c.utc, got, c.want)
		}
	}
}
