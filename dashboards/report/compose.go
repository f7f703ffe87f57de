package report

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"tundish/analyse"
)

// composer turns an input into a document.
type composer struct {
	in    Input
	res   *analyse.Result
	clock clock
	plots plotter
}

var errNoResult = errors.New("report: no result of an analysis to write about")

// compose lays out everything a report says, in the order in which it is read. Charts are still empty.
func compose(in Input) (*document, error) {
	if in.Result == nil {
		return nil, errNoResult
	}
	c := &composer{in: in, res: in.Result, clock: newClock(in.Result.From, in.Result.To, in.zone())}
	c.plots = plotter{in: in, zone: in.zone()}
	d := &document{title: c.jobName(), place: cleanText(c.in.Job.Address), subtitle: c.period(), author: c.author(), lang: "en-GB", foot: c.jobName(), head: c.shortHead()}
	if a := cleanText(in.Amended); a != "" {
		d.warning = "Job sheet amended after recording: " + a
	}
	if c.simulated() {
		d.warning = strings.TrimPrefix(d.warning+". "+simulatedWarning, ". ")
	}
	d.sections = append(d.sections, c.verdict(), c.who())
	d.sections = append(d.sections, c.findings()...)
	d.sections = append(d.sections, c.suits()...)
	d.sections = append(d.sections, c.wholeRecord(), c.clear(), c.notAssessable())
	d.sections = append(d.sections, c.measured()...)
	d.sections = append(d.sections, c.seal(), cautionSection())
	d.sections = append(d.sections, c.criteria()...)
	return d, nil
}

func (c *composer) jobName() string {
	for _, n := range []string{c.in.Job.Name, c.res.Job} {
		if n = cleanText(n); n != "" {
			return n
		}
	}
	return "Job without a name"
}

func (c *composer) author() string {
	var parts []string
	for _, s := range []string{c.in.Job.Engineer, c.in.Job.Firm} {
		if s = cleanText(s); s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, ", ")
}

func (c *composer) shortHead() string {
	if h := cleanText(c.in.Proof.shortHead()); h != "" {
		return "chain head " + h
	}
	return "chain head not known"
}

// period is the line below the title: from, to, how long, by which clock.
func (c *composer) period() string {
	if c.res.From.IsZero() || c.res.To.IsZero() {
		return "Period of the record: not known"
	}
	return fmt.Sprintf("%s to %s (%s). Local time, %s.", c.clock.full(c.res.From), c.clock.full(c.res.To),
		lengthWords(c.res.To.Sub(c.res.From)), c.zoneWords())
}

// lengthWords is how long the record is.
func lengthWords(d time.Duration) string {
	if d <= 0 {
		return "a single moment"
	}
	return spanWords(d)
}

// zoneWords names the zone and the clock or clocks in force: "Europe/London (GMT, then BST)".
func (c *composer) zoneWords() string {
	zone := c.in.zone()
	name, _ := c.res.From.In(zone).Zone()
	names := []string{name}
	for _, ch := range clockChanges(c.res.From, c.res.To, zone) {
		n, _ := ch.at.Zone()
		names = append(names, n)
	}
	const most = 3
	if len(names) > most {
		names = append(names[:most], "…")
	}
	if zone == time.UTC {
		return "time zone UTC"
	}
	return "time zone " + zone.String() + " (" + strings.Join(names, ", then ") + ")"
}

// who says who, where, when, and what was connected.
func (c *composer) who() section {
	j := c.in.Job
	var p pairs
	var missing []string
	p.add("Job", c.jobName())
	for _, x := range []struct{ label, value string }{
		{"client", j.Client}, {"address", j.Address}, {"engineer", j.Engineer}, {"firm", j.Firm}, {"appliance", j.Appliance},
		{"serial number", j.Serial}, {"consent to the recording", j.Consent},
	} {
		if cleanText(x.value) == "" {
			missing = append(missing, x.label)
		}
		p.add(capital(x.label), x.value)
	}
	p.add("Notes", j.Notes)
	if !c.res.From.IsZero() && !c.res.To.IsZero() {
		p.add("Recorded from", c.clock.full(c.res.From))
		p.add("Recorded to", c.clock.full(c.res.To))
	}
	s := section{level: 2, id: "job", title: "Job, place and what was connected", blocks: []block{p}}
	if len(c.in.Sources) == 0 {
		s.blocks = append(s.blocks, para{text: "Which devices were connected is not known."})
	} else {
		s.blocks = append(s.blocks, para{text: "Connected for the recording:"})
		l := list{}
		for _, src := range c.in.Sources {
			l.items = append(l.items, item{cleanText(src.Name) + ":", sourceWords(src)})
		}
		s.blocks = append(s.blocks, l)
	}
	return c.plant(s, missing)
}

func sourceWords(s Source) string {
	parts := []string{sourceKind(s.Kind), givesWords(s.Points), cleanText(s.At)}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), "; ")
}

// plant prints what the job sheet states of the plant, and names what it does not: of the plant, and what of the
// job was found missing before.
func (c *composer) plant(s section, missing []string) section {
	var p pairs
	put := func(label, value string, known bool) {
		if known && cleanText(value) != "" {
			p.add(capital(label), value)
			return
		}
		missing = append(missing, label)
	}
	pl := c.in.Plant
	put("kind of plant", strings.ReplaceAll(pl.Kind, "-", " "), true)
	put("fuel", strings.ReplaceAll(pl.Fuel, "-", " "), true)
	put("emitters", strings.ReplaceAll(pl.Emitters, "-", " "), true)
	put("greatest output", pl.OutputMax.Value.String(), pl.OutputMax.Known)
	put("least output", pl.OutputMin.Value.String(), pl.OutputMin.Known)
	put("water content", pl.Water.Value.String(), pl.Water.Known)
	put("design flow", pl.DesignFlow.Value.String(), pl.DesignFlow.Known)
	put("design return", pl.DesignReturn.Value.String(), pl.DesignReturn.Known)
	put("mains supply", supplyWords(pl.Supply), true)
	put("ignition attempts before lockout", fmt.Sprint(pl.IgnitionAttempts.Value), pl.IgnitionAttempts.Known)
	put("hot water", hotWaterWords(pl.HotWater), true)
	put("least water pressure", pl.MinimumPressure.Value.String(), pl.MinimumPressure.Known)
	put("design outside temperature", pl.OutsideDesign.Value.String(), pl.OutsideDesign.Known)
	put("design inside temperature", pl.InsideDesign.Value.String(), pl.InsideDesign.Known)
	put("design heat loss", pl.DesignHeatLoss.Value.String(), pl.DesignHeatLoss.Known)
	if len(p) > 0 {
		s.blocks = append(s.blocks, para{text: "The plant, as the job sheet states it:"}, p)
	}
	if len(missing) > 0 {
		s.blocks = append(s.blocks, para{aside, "Not stated on the job sheet: " + strings.Join(missing, ", ") + "."})
	}
	return s
}

func supplyWords(s analyse.Supply) string {
	switch s {
	case analyse.PermanentLive:
		return "permanent live"
	case analyse.SwitchedLive:
		return "switched live: the appliance is without mains when no heat is asked for"
	}
	return ""
}

func hotWaterWords(h analyse.HotWaterKind) string {
	switch h {
	case analyse.NoHotWater:
		return "none"
	case analyse.CylinderHotWater:
		return "cylinder"
	case analyse.InstantaneousHotWater:
		return "instantaneous"
	}
	return ""
}
