package scoring

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"time"
)

// What is measured: with the bus, how often the master asks for the status; with probes, how often they are read and
// how slow they are; with both, the usual of each.
var (
	statusEvery = []time.Duration{1 * time.Second, 2 * time.Second, 5 * time.Second, 10 * time.Second}
	sweepEvery  = []time.Duration{1 * time.Second, 5 * time.Second, 10 * time.Second, 60 * time.Second}
	lags        = []time.Duration{10 * time.Second, 20 * time.Second, 30 * time.Second, 60 * time.Second, 120 * time.Second}
)

// usual is the listening for which the finer tables are made: the status every 2 s, and probes on metal, insulated,
// read every 5 s.
var usual = Listening{Status: 2 * time.Second, Sweep: 5 * time.Second, Tau: 20 * time.Second}

// usualBus and usualProbes are its two halves.
var (
	usualBus    = Listening{Status: usual.Status}
	usualProbes = Listening{Sweep: usual.Sweep, Tau: usual.Tau}
)

// listenings are all that each plant is listened to with.
func listenings() []Listening {
	var all []Listening
	for _, every := range statusEvery {
		all = append(all, Listening{Status: every})
	}
	for _, every := range sweepEvery {
		for _, lag := range lags {
			all = append(all, Listening{Sweep: every, Tau: lag})
		}
	}
	return append(all, usual)
}

// Config is what a table is made of.
type Config struct {
	Plants []Plant
	Seeds  []uint64
	Days   int // of each record
	// Progress is told how many of the plants' listenings are measured; may be nil. It is called by one goroutine at a
	// time.
	Progress func(done, total int)
}

// Table is what was measured.
type Table struct {
	Config
	scores map[key]*Score
}

type key struct {
	plant string
	Listening
}

// Make measures all plants with all listenings, on all cores. The outcome does not depend on how many there are.
func Make(ctx context.Context, c Config) (*Table, error) { return makeOf(ctx, c, listenings()) }

func makeOf(ctx context.Context, c Config, with []Listening) (*Table, error) {
	t := &Table{Config: c, scores: map[key]*Score{}}
	type job struct {
		Plant
		Listening
	}
	var list []job
	for _, p := range c.Plants {
		switch {
		case p.group(): // it takes longest, so it goes first
			list = slices.Insert(list, 0, job{p, usualBus})
		default:
			for _, l := range with {
				list = append(list, job{p, l})
			}
		}
	}
	jobs := make(chan job)
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var mu sync.Mutex
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for j := range jobs {
				score, err := Measure(ctx, j.Plant, c.Seeds, c.Days, j.Listening)
				if err != nil {
					cancel(fmt.Errorf("%s: %w", j.Name, err))
					continue
				}
				mu.Lock()
				t.scores[key{j.Name, j.Listening}] = &score
				if c.Progress != nil {
					c.Progress(len(t.scores), len(list))
				}
				mu.Unlock()
			}
		})
	}
	for _, j := range list {
		if ctx.Err() == nil {
			jobs <- j
		}
	}
	close(jobs)
	wait.Wait()
	return t, context.Cause(ctx)
}

// score is what was measured of a plant.
func (t *Table) score(p Plant, l Listening) *Score { return t.scores[key{p.Name, l}] }

// plants are those that are no group.
func (t *Table) plants() []Plant {
	return slices.DeleteFunc(slices.Clone(t.Plants), Plant.group)
}

// pooled is the score of all plants together, groups left out.
func (t *Table) pooled(l Listening) *Score {
	var all Score
	for _, p := range t.plants() {
		all.Add(*t.score(p, l))
	}
	return &all
}
