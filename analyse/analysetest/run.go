// Package analysetest lets a check be tested in a few lines that a heating engineer can read: a script of what the
// points did, and the answer that must come.
//
//	00:00 flame 0  heat-demand 1  flow 40  return 35
//	00:02 flame 1
//	00:03 flow 55
//
// Every value holds until the next line changes it; readings are made from it every step seconds, as a bus that
// polls would give them. "name -" makes the point fall silent, "SOURCE/* -" the
// whole source; "SOURCE/* lost" is the logger's note that the source's device is gone. Times are hours:minutes or hours:minutes:seconds
// since the start, and may pass 24:00. [Repeat] writes what comes again and again.
package analysetest

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
)

// Start is the first moment of every script: a Monday in January.
var Start = time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)

// Case is one system to be judged.
type Case struct {
	Script string
	Plant  analyse.Plant
	Step   time.Duration // polling; 0 = 5 s
	Source string        // "" = boiler
	Live   bool          // a live run instead of an imported file
	Marks  []analyse.Mark
	Codes  map[int]string
	// Sensors are the errors of temperature sensors that the job sheet tells.
	Sensors []analyse.Sensor
	// Contacts are series, "call/heat-demand", that are told when they change and not with every step.
	Contacts []string
}

// At is the moment h:mm or h:mm:ss after Start.
func At(clock string) time.Time { return Start.Add(parseClock(clock)) }

func parseClock(s string) time.Duration {
	var total time.Duration
	units := []time.Duration{time.Hour, time.Minute, time.Second}
	for i, part := range strings.Split(s, ":") {
		n, err := strconv.ParseFloat(part, 64)
		if err != nil || i > 2 {
			panic(fmt.Sprintf("analysetest: %q is no time", s))
		}
		total += time.Duration(n * float64(units[i]))
	}
	return total
}

// Repeat writes a block of script lines n times, each time later by every. In the block, times count from 0:00.
func Repeat(from string, n int, every time.Duration, block string) string {
	var b strings.Builder
	for i := range n {
		at := parseClock(from) + time.Duration(i)*every
		for _, line := range strings.Split(block, "\n") {
			f := strings.Fields(line)
			if len(f) == 0 {
				continue
			}
			t := at + parseClock(f[0])
			fmt.Fprintf(&b, "%d:%d:%g %s\n", int(t.Hours()), int(t.Minutes())%60, (t % time.Minute).Seconds(), strings.Join(f[1:], " "))
		}
	}
	return b.String()
}

// event is one line of a script.
type event struct {
	at  time.Duration
	set []string // name, value pairs
}

func parse(t testing.TB, script string) []event {
	t.Helper()
	var out []event
	for n, line := range strings.Split(script, "\n") {
		f := strings.Fields(line)
		if len(f) == 0 || strings.HasPrefix(f[0], "#") {
			continue
		}
		if len(f)%2 != 1 {
			t.Fatalf("script line %d: %q wants a time and pairs of point and value", n+1, line)
		}
		out = append(out, event{parseClock(f[0]), f[1:]})
	}
	slices.SortStableFunc(out, func(a, b event) int { return int(a.at - b.at) })
	return out
}

// Run judges the case by the checks.
func Run(t testing.TB, c Case, checks ...analyse.Check) *analyse.Result {
	t.Helper()
	events := parse(t, c.Script)
	if len(events) == 0 {
		t.Fatal("an empty script")
	}
	step := c.Step
	if step == 0 {
		step = 5 * time.Second
	}
	source := c.Source
	if source == "" {
		source = "boiler"
	}
	end := events[len(events)-1].at
	var contacts []analyse.Contact
	for _, name := range c.Contacts {
		s, err := decode.ParseSeries(name)
		if err != nil {
			t.Fatal(err)
		}
		contacts = append(contacts, analyse.Contact{Series: s})
	}
	a := analyse.New(analyse.Config{
		Contacts: contacts,
		Site:     analyse.Site{Job: "script", Zone: time.UTC}, Plant: c.Plant, Buses: []string{source}, Checks: checks, Marks: c.Marks, Codes: c.Codes, Sensors: c.Sensors,
		Runs: []episode.Run{{ID: 1, From: Start, To: Start.Add(end), Live: c.Live, Sources: sources(source, events)}},
	})
	now := map[decode.Series]float64{}
	var order []decode.Series
	told := map[decode.Series]float64{} // what contacts said last
	next := 0
	for at := time.Duration(0); at <= end; at += step {
		for ; next < len(events) && events[next].at <= at; next++ {
			for i := 0; i < len(events[next].set); i += 2 {
				name, value := events[next].set[i], events[next].set[i+1]
				if source, all := strings.CutSuffix(name, "/*"); all && value == "lost" {
					a.Record(source, 1, Start.Add(at), episode.LostPrefix+" in the script")
					value = "-"
				}
				order = apply(t, now, order, source, name, value)
			}
		}
		tellAll(a, now, order, told, contacts, Start.Add(at))
	}
	return a.Result()
}

// sources are all that the script names.
func sources(source string, events []event) []string {
	out := []string{source}
	for _, e := range events {
		for i := 0; i < len(e.set); i += 2 {
			if s, _, ok := strings.Cut(e.set[i], "/"); ok && !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
	}
	return out
}

func tellAll(a *analyse.Analysis, now map[decode.Series]float64, order []decode.Series, said map[decode.Series]float64, contacts []analyse.Contact, t time.Time) {
	told := map[string]bool{}
	for _, c := range contacts {
		if _, there := now[c.Series]; !there {
			delete(said, c.Series)
		}
	}
	for _, s := range order {
		v, ok := now[s]
		if !ok {
			continue
		}
		if slices.ContainsFunc(contacts, func(c analyse.Contact) bool { return c.Series == s }) {
			if was, any := said[s]; any && was == v {
				continue
			}
			said[s] = v
		}
		if !told[s.Source] {
			a.Record(s.Source, 1, t, "")
			told[s.Source] = true
		}
		a.Reading(decode.Reading{Time: t, Series: s, Value: v, Quality: decode.Good})
	}
}

// apply sets or silences one point; the name may carry its source: "probes/flow".
func apply(t testing.TB, now map[decode.Series]float64, order []decode.Series, source, name, value string) []decode.Series {
	t.Helper()
	if !strings.Contains(name, "/") {
		name = source + "/" + name
	}
	if value == "-" {
		for _, s := range order {
			if s.String() == name || strings.HasSuffix(name, "/*") && s.Source+"/*" == name {
				delete(now, s)
			}
		}
		return order
	}
	s, err := decode.ParseSeries(name)
	if err != nil {
		t.Fatal(err)
	}
	v, err := strconv.ParseFloat(value, 64)
	if err != nil || !s.Point.Holds(v) {
		t.Fatalf("%s cannot be %q", name, value)
	}
	if !slices.Contains(order, s) {
		order = append(order, s)
	}
	now[s] = v
	return order
}

// Outcome finds the answer of one kind.
func Outcome(t testing.TB, r *analyse.Result, kind string) analyse.Checked {
	t.Helper()
	i := slices.IndexFunc(r.Checked, func(c analyse.Checked) bool { return c.Kind == kind })
	if i < 0 {
		t.Fatalf("%s was not checked", kind)
	}
	return r.Checked[i]
}

// Finding finds one kind's finding, nil where there is none.
func Finding(r *analyse.Result, kind string) *analyse.Finding {
	i := slices.IndexFunc(r.Findings, func(f analyse.Finding) bool { return f.Kind == kind })
	if i < 0 {
		return nil
	}
	return &r.Findings[i]
}
