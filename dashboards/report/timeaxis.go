package report

import "time"

// tick is one place on a time axis.
type tick struct {
	at    time.Time
	label string // "06:00", "12 Jan", "2026"
	day   bool   // local midnight (or the day's first moment)
}

// Steps of a time axis that people count in. Steps below a day divide it; longer ones start at midnights.
var (
	clockSteps = []time.Duration{
		time.Minute, 2 * time.Minute, 5 * time.Minute, 10 * time.Minute, 15 * time.Minute, 30 * time.Minute,
		time.Hour, 2 * time.Hour, 3 * time.Hour, 6 * time.Hour, 12 * time.Hour,
	}
	daySteps   = []int{1, 2, 7, 14}
	monthSteps = []int{1, 3, 6, 12, 60}
)

const (
	dayLength   = 24 * time.Hour
	monthLength = 30 * dayLength // for choosing a step only
)

// timeTicks gives at most about most ticks between from and to, both included, at times that people use in the
// zone: on a day when the clocks change the ticks stay at full hours, so one hour is missing or stands there twice.
func timeTicks(from, to time.Time, zone *time.Location, most int) []tick {
	span := to.Sub(from)
	if span <= 0 || most < 1 {
		return nil
	}
	wanted := span / time.Duration(most)
	for _, s := range clockSteps {
		if s >= wanted {
			return clockTicks(from, to, zone, s)
		}
	}
	for _, n := range daySteps {
		if time.Duration(n)*dayLength >= wanted {
			return dayTicks(from, to, zone, n)
		}
	}
	for _, n := range monthSteps {
		if time.Duration(n)*monthLength >= wanted {
			return monthTicks(from, to, zone, n)
		}
	}
	return monthTicks(from, to, zone, monthSteps[len(monthSteps)-1])
}

// clockTicks walks real time in steps fine enough for every zone in use (offsets are whole quarters of an hour) and
// keeps the moments whose wall clock is a multiple of step. Walking the wall clock instead would have to guess what
// 01:30 means on a day on which it is missing.
func clockTicks(from, to time.Time, zone *time.Location, step time.Duration) []tick {
	walk := min(step, 15*time.Minute)
	var out []tick
	for t := from.Truncate(walk); !t.After(to); t = t.Add(walk) {
		if t.Before(from) {
			continue
		}
		local := t.In(zone)
		clock := time.Duration(local.Hour())*time.Hour + time.Duration(local.Minute())*time.Minute
		if clock%step == 0 {
			out = append(out, tick{local, local.Format("15:04"), clock == 0})
		}
	}
	return out
}

// dayTicks counts days from a fixed Monday, so that ticks of a week are Mondays wherever the axis begins.
func dayTicks(from, to time.Time, zone *time.Location, n int) []tick {
	monday := time.Date(2001, time.January, 1, 0, 0, 0, 0, time.UTC)
	var out []tick
	y, m, d := from.In(zone).Date()
	for k := 0; ; k++ {
		day := time.Date(y, m, d+k, 0, 0, 0, 0, time.UTC)
		t := dayStart(day.Year(), day.Month(), day.Day(), zone)
		if t.After(to) {
			return out
		}
		number := int(day.Sub(monday) / dayLength)
		if !t.Before(from) && number%n == 0 {
			out = append(out, tick{t, day.Format("2 Jan"), true})
		}
	}
}

func monthTicks(from, to time.Time, zone *time.Location, n int) []tick {
	var out []tick
	y, m, _ := from.In(zone).Date()
	for k := 0; ; k++ {
		first := time.Date(y, m+time.Month(k), 1, 0, 0, 0, 0, time.UTC)
		t := dayStart(first.Year(), first.Month(), 1, zone)
		if t.After(to) {
			return out
		}
		number := first.Year()*12 + int(first.Month()) - 1
		if !t.Before(from) && number%n == 0 {
			out = append(out, tick{t, first.Format("Jan 2006"), true})
		}
	}
}

// dayStart is the first moment of a local day; in some zones the clocks change at midnight and 00:00 is missing.
func dayStart(y int, m time.Month, d int, zone *time.Location) time.Time {
	t := time.Date(y, m, d, 0, 0, 0, 0, zone)
	if ly, lm, ld := t.Date(); ly != y || lm != m || ld != d {
		if _, end := t.ZoneBounds(); !end.IsZero() {
			return end.In(zone)
		}
	}
	return t
}

// clockChange is a moment at which the zone's offset changes.
type clockChange struct {
	at time.Time
	by time.Duration // positive: clocks go forward
}

// oldClock is what the clock showed at that moment, before it was changed.
func (c clockChange) oldClock() string {
	_, after := c.at.Zone()
	before := time.FixedZone("", after-int(c.by/time.Second))
	return c.at.In(before).Format("15:04")
}

// clockChanges lists the changes strictly between from and to.
func clockChanges(from, to time.Time, zone *time.Location) []clockChange {
	var out []clockChange
	t := from.In(zone)
	for {
		_, end := t.ZoneBounds()
		if end.IsZero() || !end.Before(to) {
			return out
		}
		_, before := t.Zone()
		_, after := end.In(zone).Zone()
		if after != before {
			out = append(out, clockChange{end.In(zone), time.Duration(after-before) * time.Second})
		}
		t = end.In(zone)
	}
}
