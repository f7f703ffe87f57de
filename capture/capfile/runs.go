package capfile

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"time"
)

// Run is one run of the logger, or one imported file.
type Run struct {
	Number  uint32
	Kind    RunKind
	Program string
	// Started is the wall clock as it stood at the run's zero, right or wrong.
	Started time.Time
	Sources []string
	// From and To are UTC, computed: the run's zero and the last thing known of it.
	From, To time.Time
	// Observations are all looks at the wall clock, in order.
	Observations []Observation
	// Steps are the jumps of the wall clock among them.
	Steps []Step
	// Sleeps are the times in which the machine was suspended, in order.
	Sleeps []Sleep
	// EndedWhy is the reason given at the run's end; empty for a run that was killed or still goes on.
	EndedWhy string
	// Synced says that UTC rests on at least one synchronised observation. Otherwise it is as right as the
	// logger's clock was at the last look.
	Synced bool
}

// Sheet is one version of a job sheet, as it was when recorded.
type Sheet struct {
	Run  uint32
	Name string
	Text []byte
}

// Mark is what a person noted while recording.
type Mark struct {
	Run  uint32
	At   time.Duration
	Time time.Time // UTC, computed
	Text string
}

// Loss says what was found damaged or missing when recording went on after a kill.
type Loss struct {
	// What says what happened, in words.
	What string
	// Bytes is what stood in the damaged place; nil where nothing did.
	Bytes []byte
}

// journal is what the journal's lines add up to.
type journal struct {
	sheets []Sheet
	runs   map[uint32]*runState
	marks  []Mark
	losses []Loss
}

type runState struct {
	Run
	begun bool  // its start was read
	last  int64 // µs, greatest time known
	clock clock
}

func (j *journal) run(n uint32) *runState {
	if j.runs == nil {
		j.runs = map[uint32]*runState{}
	}
	r := j.runs[n]
	if r == nil {
		r = &runState{Run: Run{Number: n}}
		j.runs[n] = r
	}
	return r
}

// seen notes that run n reached time us.
func (j *journal) seen(n uint32, us int64) {
	r := j.run(n)
	r.last = max(r.last, us)
}

// lines adds a journal block.
func (j *journal) lines(body []byte, count int64) error {
	n := int64(0)
	for line := range bytes.Lines(body) {
		if err := j.line(line); err != nil {
			return err
		}
		n++
	}
	if n != count {
		return fmt.Errorf("%d journal lines, %d were told", n, count)
	}
	return nil
}

func (j *journal) line(line []byte) error {
	e, err := parseEntry(line)
	if err != nil {
		return err
	}
	switch e.Kind {
	case entrySheet:
		text := e.Bytes
		if text == nil {
			text = []byte(e.Text)
		}
		j.sheets = append(j.sheets, Sheet{Run: e.Run, Name: e.Name, Text: text})
	case entryRunStart:
		r := j.run(e.Run)
		r.begun, r.Kind, r.Program, r.Sources = true, e.RunKind, e.Program, e.Sources
		r.Started, err = parseWall(e.Started)
	case entryRunEnd:
		j.run(e.Run).EndedWhy = e.Text
		j.seen(e.Run, e.AtUS)
	case entryClock:
		var wall time.Time
		wall, err = parseWall(e.Wall)
		r := j.run(e.Run)
		r.Observations = append(r.Observations, Observation{At: at(e.AtUS), Wall: wall, Synced: e.Synced, Slept: at(e.SleptUS)})
		j.seen(e.Run, e.AtUS)
	case entryMark:
		j.marks = append(j.marks, Mark{Run: e.Run, At: at(e.AtUS), Text: e.Text})
		j.seen(e.Run, e.AtUS)
	case entryLoss:
		j.losses = append(j.losses, Loss{What: e.Text, Bytes: e.Bytes})
	}
	return err
}

// settle computes all times, once everything was read.
func (j *journal) settle() {
	var recorded []*runState
	for _, r := range j.sorted() {
		r.clock = newClock(r.Started, r.Observations)
		if r.Kind == Record {
			recorded = append(recorded, r)
		}
	}
	follow(recorded)
	for _, r := range j.runs {
		if r.clock.known() {
			r.From, r.To = r.clock.time(0), r.clock.time(at(r.last))
		}
		r.Synced = r.clock.synced
		r.Steps = r.clock.steps(r.Observations)
		if r.clock.known() {
			r.Sleeps = r.clock.pauses()
		}
	}
	for i := range j.marks {
		j.marks[i].Time = j.runs[j.marks[i].Run].clock.time(j.marks[i].At)
	}
}

func (j *journal) sorted() []*runState {
	var all []*runState
	for _, r := range j.runs {
		all = append(all, r)
	}
	slices.SortFunc(all, func(a, b *runState) int { return cmp.Compare(a.Number, b.Number) })
	return all
}
