// Package sizing judges the plant's output against what the building takes: by the job sheet's figures, and by the
// heat that was made over days of different weather. Start at [Oversized] and [Measure].
package sizing
