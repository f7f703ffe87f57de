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
	// Contacts are series that are told when they change, and stand until their source is lost.
	Contacts []Contact
	// Signs are the engineer's words for what the appliance's indicator light shows.
	Signs map[int]episode.Sign
	// Sensors, Marks and Codes are what a [Pass] tells the checks.
	Sensors []Sensor
	Marks   []Mark
	Codes   map[int]string
}

// Analysis is one pass over a record: tell it every record and every reading in order of time, then ask for the
// result. It works day by day, and what it keeps of a day is small: memory does not grow with the number of readings.
type Analysis struct {
	cfg  Config
	days *Stretch
}

// New begins a pass.
func New(cfg Config) *Analysis { return &Analysis{cfg, NewStretch(cfg, Bounds{}, nil)} }

// Record tells of a record, before its readings.
func (a *Analysis) Record(source string, run uint32, t time.Time, note string) {
	a.days.Record(source, run, t, note)
}

// Damage tells that records of a source ("" for all) were lost to a damaged place in the capture.
func (a *Analysis) Damage(source string) { a.days.Damage(source) }

// Reading tells of a reading.
func (a *Analysis) Reading(r decode.Reading) { a.days.Reading(r) }

// Late tells of a reading that came long after its time, when it came, see [Stretch.Late].
func (a *Analysis) Late(r *decode.Reading, came time.Time) { a.days.Late(r, came) }

// Refused tells what a decoder refused of the last record, nil too.
func (a *Analysis) Refused(t time.Time, err error) { a.days.Refused(t, err) }

// Result ends the pass. It must be called once.
func (a *Analysis) Result() *Result { return Combine(a.cfg, a.days.Parts()) }

// facts is what the finding of facts needs to know.
func (c *Config) facts() episode.Config {
	var contacts []decode.Series
	for _, x := range c.Contacts {
		contacts = append(contacts, x.Series)
	}
	return episode.Config{
		Runs:            c.Runs,
		Buses:           c.Buses,
		SwitchedLive:    c.Plant.Supply == SwitchedLive,
		HotWaterMade:    c.Plant.HotWater != NoHotWater,
		Draws:           drawKind(c.Plant.HotWater),
		MinimumPressure: float64(c.Plant.MinimumPressure.Value),
		HeatPump:        c.Plant.Kind == "heat-pump",
		Zone:            c.Site.zone(),
		Signs:           c.Signs,
		Contacts:        contacts,
	}
}

// Day is the piece of a record in which t lies.
func (c *Config) Day(t time.Time) episode.Piece {
	facts := c.facts()
	return facts.Day(t)
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

// Combine makes the result of the days of a record, in order of time.
func Combine(cfg Config, parts []*Part) *Result {
	var from, to time.Time
	facts := make([]*episode.Part, len(parts))
	for i, p := range parts {
		facts[i] = p.Facts
		if p.First.IsZero() {
			continue
		}
		if from.IsZero() || p.First.Before(from) {
			from = p.First
		}
		if p.Last.After(to) {
			to = p.Last
		}
	}
	started := !from.IsZero()
	for _, r := range cfg.Runs { // a logger that ran and got nothing is part of the record
		if r.From.IsZero() || !r.Live && started {
			continue
		}
		if from.IsZero() || r.From.Before(from) {
			from = r.From
		}
		if r.To.After(to) {
			to = r.To
		}
	}
	res := &Result{Job: cfg.Site.Job, From: from, To: to, Coverage: coverage(&cfg, parts, from, to), Marks: cfg.Marks}
	res.Facts = episode.Join(cfg.facts(), facts, from, to)
	pass := Pass{Facts: res.Facts, Plant: cfg.Plant, Site: cfg.Site, Coverage: res.Coverage, Buses: cfg.Buses,
		Sensors: cfg.Sensors, Marks: cfg.Marks, Codes: cfg.Codes, Signs: cfg.Signs}
	res.judge(cfg.Checks, pass)
	slices.SortStableFunc(res.Findings, func(x, y Finding) int {
		return cmp.Or(cmp.Compare(y.Severity, x.Severity), x.From.Compare(y.From))
	})
	return res
}
