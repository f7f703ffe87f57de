package report

import (
	"time"

	"tundish/decode"
)

// wholeRecord is the chart of everything recorded.
func (c *composer) wholeRecord() section {
	s := section{level: 2, id: "record", title: "The whole record"}
	span := c.res.To.Sub(c.res.From)
	switch {
	case len(c.res.Coverage) == 0 && c.res.Facts == nil:
		s.blocks = append(s.blocks, para{text: "There are no readings and no episodes to draw."})
	case span <= 0 || c.res.From.IsZero():
		s.blocks = append(s.blocks, para{text: "There is no stretch of time to draw."})
	case span > rowsFrom && span <= linesUpTo:
		s.blocks = c.dayRows()
	case span > linesUpTo:
		s.blocks = append(s.blocks,
			para{aside, "For each " + spanWords(bandColumn(span)) + ": the bands of flow and return reach from the least to the greatest value, the lines are means; the bars below show the share of the time in which heat was asked for, and in which the burner was lit (full height: all of it)."},
			figure{c.plots.chart(c.wholeTitle(), c.res.From, c.res.To, "")})
	default:
		s.blocks = append(s.blocks, figure{c.plots.chart(c.wholeTitle(), c.res.From, c.res.To, "")})
	}
	return s
}

// wholeTitle names what the chart of the whole record has in it.
func (c *composer) wholeTitle() string {
	var e events
	e.recorded(c.res.Coverage, c.res.Facts)
	switch {
	case e.firings && e.asked:
		return "Temperatures, demand and firings over the whole record"
	case e.firings:
		return "Temperatures and firings over the whole record"
	case e.asked:
		return "Temperatures and demand over the whole record"
	}
	return "Temperatures over the whole record"
}

// dayRows draws a row for each local day, all with the same value axis.
func (c *composer) dayRows() []block {
	out := []block{para{aside, "A row for each day, all to the same scale. What lies before the record's beginning and after its end is left blank."}}
	var rows []*plot
	zone := c.in.zone()
	y, m, d := c.res.From.In(zone).Date()
	for k := 0; ; k++ {
		day := time.Date(y, m, d+k, 12, 0, 0, 0, time.UTC)
		next := day.AddDate(0, 0, 1)
		from := dayStart(day.Year(), day.Month(), day.Day(), zone)
		to := dayStart(next.Year(), next.Month(), next.Day(), zone)
		if !from.Before(c.res.To) {
			break
		}
		p := c.plots.chart(day.Format("Monday 2 January 2006"), from, to, "")
		p.compact, p.dayRow, p.extra = true, true, nil
		rows = append(rows, p)
		out = append(out, figure{p})
	}
	for _, p := range rows {
		p.peers = rows
	}
	if slow := c.plots.slow("Outside temperature and water pressure over the whole record", c.res.From, c.res.To); slow != nil {
		out = append(out, figure{slow})
	}
	return out
}

// slow is a plot of what changes slowly, nil where there is nothing of the kind.
func (m *plotter) slow(title string, from, to time.Time) *plot {
	full := m.chart(title, from, to, "")
	p := &plot{title: title, from: from, to: to, zone: m.zone, compact: true, envelope: full.envelope, named: full.named}
	p.events.absent = full.events.absent
	for _, point := range []decode.Point{decode.Outside, decode.Pressure} {
		c, ok := pick(m.in.Result.Coverage, point, "")
		if !ok {
			continue
		}
		small := panel{point.String(), point.Unit(), []*trace{newTrace(c, point.String(), otherStroke, from, to)}}
		if len(p.main.traces) == 0 {
			p.main = small
		} else {
			p.extra = append(p.extra, small)
		}
	}
	if len(p.main.traces) == 0 {
		return nil
	}
	if len(p.extra) == 0 {
		p.title = capital(p.main.name) + " over the whole record"
	}
	return p
}
