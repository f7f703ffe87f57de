package analyse

import (
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

// Result is everything that was found out about one record.
type Result struct {
	Job      string
	From, To time.Time // of the record, UTC
	Coverage []Coverage
	Findings []Finding // act first, then by time
	Checked  []Checked // every kind, once, in their set order
	Facts    *episode.Facts
	Marks    []Mark      // what people noted, in order of time
	Criteria []Criterion // of the checks that ran
}

// Coverage says how much of the record one series covers.
type Coverage struct {
	Series   decode.Series
	Share    float64 // of From…To in which a reading is no older than three times the usual interval
	Readings uint64
	Doubtful uint64
	Interval time.Duration // the usual one: the median
	Step     float64       // the smallest change between two readings: what the source resolves; 0: it never changed
	Min, Max float64
	// OnChange: it is told when it changes, and stands meanwhile; Interval is then how often that is looked at.
	OnChange bool
}
