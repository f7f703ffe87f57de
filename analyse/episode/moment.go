package episode

import "time"

// moment is a time as nanoseconds since 1970, for where every reading comes along: to compare two or to take one from
// another is a single step. 0 is no time. The times of a record lie between 1678 and 2262, so that all can be told.
type moment int64

func momentOf(t time.Time) moment {
	if t.IsZero() {
		return 0
	}
	return moment(t.UnixNano())
}

func (m moment) time() time.Time {
	if m == 0 {
		return time.Time{}
	}
	return time.Unix(0, int64(m)).UTC()
}

// since is the time from u to m. Where u may be no time, that is asked first.
func (m moment) since(u moment) time.Duration { return time.Duration(m - u) }

// within tells whether u is a time, and m is no more than d after it.
func (m moment) within(d time.Duration, u moment) bool { return u != 0 && m.since(u) <= d }
