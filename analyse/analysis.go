package analyse

import (
	"cmp"
	"slices"
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

// Config is what is known of a record beforehand.
type Config struct {
	Site   Site
	Plant  Plant
	Runs   []episode.Run
	Buses  []string // sources whose silence means something
	Checks []Check
	// Sensors, Marks and Codes are what a [Pass] tells the checks.
	Sensors []Sensor
	Marks   []Mark
	Codes   map[int]string
}

// Analysis is one pass over a record: tell it every record and every reading in order of time, then ask for the
// result. Memory is bounded by the number of series and of episodes, not by the number of readings.
type Analysis struct {
	cfg     Config
	facts   *episode.Builder
	series  map[decode.Series]*seriesStats
	first   time.Time
	last    time.Time
	started bool
}

// seriesStats is what coverage needs of one series.
type seriesStats struct {
	cadence     episode.Cadence
	last        time.Time
	n, doubtful uint64
	min, max    float64
}

// New begins a pass.
func New(cfg Config) *Analysis {
	return &Analysis{
		cfg: cfg,
		facts: episode.NewBuilder(episode.Config{
			Runs:            cfg.Runs,
			Buses:           cfg.Buses,
			SwitchedLive:    cfg.Plant.Supply == SwitchedLive,
			HotWaterMade:    cfg.Plant.HotWater != NoHotWater,
			Draws:           drawKind(cfg.Plant.HotWater),
			MinimumPressure: float64(cfg.Plant.MinimumPressure.Value),
			HeatPump:        cfg.Plant.Kind == "heat-pump",
			Zone:            cfg.Site.zone(),
		}),
		series: map[decode.Series]*seriesStats{},
	}
}

// drawKind is what hot water is made for at a plant.
func drawKind(k HotWaterKind) episode.DrawKind {
	switch k {
	case CylinderHotWater:
		return episode.Reheat
	case InstantaneousHotWater:
		return episode.Tap
	}
	return episode.DrawUnknown
}

// Record tells of a record, before its readings.
func (a *Analysis) Record(source string, run uint32, t time.Time, note string) {
	if !a.started || t.Before(a.first) {
		a.first, a.started = t, true
	}
	if t.After(a.last) {
		a.last = t
	}
	a.facts.Record(source, run, t, note)
}

// Damage tells that records of a source ("" for all) were lost to a damaged place in the capture.
func (a *Analysis) Damage(source string) { a.facts.Damage(source) }

// Reading tells of a reading.
func (a *Analysis) Reading(r decode.Reading) {
	if r.Quality == decode.Unknown {
		return
	}
	s := a.series[r.Series]
	if s == nil {
		s = &seriesStats{min: r.Value, max: r.Value}
		a.series[r.Series] = s
	} else if gap := r.Time.Sub(s.last); gap > 0 { // the same moment told twice is no interval
		s.cadence.Add(gap)
	}
	s.n++
	if r.Quality == decode.Doubtful {
		s.doubtful++
	}
	s.last = r.Time
	s.min, s.max = min(s.min, r.Value), max(s.max, r.Value)
	a.facts.Reading(r)
}

// Result ends the pass. It must be called once.
func (a *Analysis) Result() *Result {
	from, to := a.first, a.last
	for _, r := range a.cfg.Runs { // a logger that ran and got nothing is part of the record
		if r.From.IsZero() || !r.Live && a.started {
			continue
		}
		if from.IsZero() || r.From.Before(from) {
			from = r.From
		}
		if r.To.After(to) {
			to = r.To
		}
	}
	res := &Result{Job: a.cfg.Site.Job, From: from, To: to, Coverage: a.coverage(from, to)}
	res.Facts = a.facts.Finish(from, to)
	pass := Pass{Facts: res.Facts, Plant: a.cfg.Plant, Site: a.cfg.Site, Coverage: res.Coverage, Buses: a.cfg.Buses,
		Sensors: a.cfg.Sensors, Marks: a.cfg.Marks, Codes: a.cfg.Codes}
	for i := range a.cfg.Checks {
		c := &a.cfg.Checks[i]
		checked, finding := c.run(pass)
		res.Checked = append(res.Checked, checked)
		if finding != nil {
			res.Findings = append(res.Findings, *finding)
		}
		for _, k := range c.Criteria {
			k.Kind = c.Kind
			res.Criteria = append(res.Criteria, k)
		}
	}
	slices.SortStableFunc(res.Findings, func(x, y Finding) int {
		return cmp.Or(cmp.Compare(y.Severity, x.Severity), x.From.Compare(y.From))
	})
	return res
}

// standsFor is the number of usual intervals for which a reading covers the record.
const standsFor = 3

// coverage of every series, in order of name.
func (a *Analysis) coverage(from, to time.Time) []Coverage {
	out := make([]Coverage, 0, len(a.series))
	total := to.Sub(from)
	for name, s := range a.series {
		c := Coverage{Series: name, Readings: s.n, Doubtful: s.doubtful, Interval: s.cadence.Median(), Min: s.min, Max: s.max}
		stands := standsFor * c.Interval
		if total > 0 {
			covered := s.cadence.Covered(stands) + min(stands, to.Sub(s.last))
			c.Share = min(1, float64(covered)/float64(total))
		} else {
			c.Share = 1
		}
		out = append(out, c)
	}
	slices.SortFunc(out, func(x, y Coverage) int { return cmp.Compare(x.Series.String(), y.Series.String()) })
	return out
}
