package fit

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tundish/analyse"
	"tundish/decode"
)

// Rank says how soon something should be done.
type Rank uint8

const (
	Now  Rank = iota + 1 // before leaving: what it would tell is lost otherwise
	Soon                 // worth doing while somebody is there
	Know                 // worth knowing
)

func (r Rank) String() string { return [...]string{"", "now", "soon", "know"}[min(r, 3)] }

// Item is one thing to do or to know.
type Item struct {
	Rank  Rank
	About string // a series, a source or "clock", "disk", "job sheet"
	What  string // what was seen
	How   string // what to do about it; may be empty
}

// State is what can be said of one kind with this set-up.
type State string

const (
	CanTell  State = "can be told"
	TooEarly State = "too early to tell"
	Open     State = "open so far" // the points are there, and the check could not answer
	CannotDo State = "not with this set-up"
	NotMade  State = "not in this version"
)

// Kind is what can be said of one check.
type Kind struct {
	Kind    string
	State   State
	Because string
}

// Source is what came of one source.
type Source struct {
	Name     string
	Bus      bool
	Records  uint64
	Expected []decode.Series   // what the job sheet says that it gives
	Names    map[string]string // of devices, by series
	Tally    map[string]uint64 // of its decoder
	Asked    []Asked           // by the bus's master
}

// Asked is one thing that the bus's master asks for.
type Asked struct {
	Name            string
	Points          []decode.Point
	Asked, Answered uint64
}

// Clock is what is known of the clock of the last run.
type Clock struct {
	Live   bool // a logger's, not a file's
	Synced bool
	Steps  int
}

// Disk is where a capture lies. Free is of its file system, bytes.
type Disk struct {
	Size     int64
	Free     analyse.Opt[uint64]
	Recorded time.Duration // of live runs; 0: nothing is recorded
}

// Input is all that is judged.
type Input struct {
	Result  *analyse.Result
	Checks  []analyse.Check
	Plant   analyse.Plant
	Site    analyse.Site
	Sources []Source
	Clock   Clock
	Disk    Disk
	Watch   *Watch
}

// Summary is the answer.
type Summary struct {
	Job      string
	From, To time.Time
	Items    []Item   // to be done, in the order in which they should be
	Good     []string // what was looked at and is right
	Early    []string // what needs more time, and what would show it
	Kinds    []Kind   // every check, in their order
	// DaysLeft is how long the disk lasts at the present rate; not known where either is not.
	DaysLeft analyse.Opt[float64]
}

// judge gathers a summary.
type judge struct {
	Input
	out Summary
}

// Judge says whether a set-up is fit to be left.
func Judge(in Input) *Summary {
	j := &judge{Input: in}
	j.out.Job, j.out.From, j.out.To = in.Result.Job, in.Result.From, in.Result.To
	j.sources()
	j.contacts()
	j.sensors()
	j.sights()
	j.clock()
	j.disk()
	j.sheet()
	j.kinds()
	slices.SortStableFunc(j.out.Items, func(a, b Item) int { return cmp.Compare(a.Rank, b.Rank) })
	return &j.out
}

func (j *judge) item(r Rank, about, what, how string) {
	j.out.Items = append(j.out.Items, Item{r, about, what, how})
}

func (j *judge) good(format string, args ...any) {
	j.out.Good = append(j.out.Good, fmt.Sprintf(format, args...))
}

func (j *judge) early(format string, args ...any) {
	j.out.Early = append(j.out.Early, fmt.Sprintf(format, args...))
}

func (j *judge) length() time.Duration { return j.Result.To.Sub(j.Result.From) }

// coverage finds what is known of a series; nil: it has no readings.
func (j *judge) coverage(s decode.Series) *analyse.Coverage {
	for i := range j.Result.Coverage {
		if c := &j.Result.Coverage[i]; c.Series == s && c.Readings > 0 {
			return c
		}
	}
	return nil
}

// best is the best coverage of any of the points.
func (j *judge) best(points []decode.Point) (share float64, has bool) {
	for _, c := range j.Result.Coverage {
		if c.Readings > 0 && slices.Contains(points, c.Series.Point) {
			share, has = max(share, c.Share), true
		}
	}
	return share, has
}
