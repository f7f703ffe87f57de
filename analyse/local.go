package analyse

import "time"

// LocalTime prints a moment for people, in a zone and by a layout of [time.Time.Format]. In an hour that comes twice,
// as clocks are put back, it names by which of the two clocks it is: "01:30 BST", and an hour later "01:30 GMT".
func LocalTime(t time.Time, zone *time.Location, layout string) string {
	t = t.In(zone)
	if comesTwice(t) {
		layout += " MST"
	}
	return t.Format(layout)
}

// comesTwice tells whether clocks on the wall show a moment's date and time twice.
func comesTwice(t time.Time) bool {
	start, end := t.ZoneBounds()
	_, here := t.Zone()
	if !end.IsZero() {
		_, after := end.Zone()
		if back := time.Duration(here-after) * time.Second; back > 0 && end.Sub(t) <= back {
			return true
		}
	}
	if !start.IsZero() {
		_, before := start.Add(-time.Second).Zone()
		if back := time.Duration(before-here) * time.Second; back > 0 && t.Sub(start) < back {
			return true
		}
	}
	return false
}
