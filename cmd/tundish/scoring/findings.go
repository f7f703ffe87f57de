package scoring

import (
	"context"
	"runtime"
	"slices"
	"sync"

	"tundish/cmd/tundish/cases"
)

// FindingsConfig is what a score of the findings is made of.
type FindingsConfig struct {
	Wiring
	Cases []cases.Case
	Moved bool // the cases are from [Elsewhere]
	Seeds []uint64
	Kinds []string  // told of; empty: all
	Worse []Variant // set-ups beside that of each case
	// Progress is told how many of the homes are judged; may be nil. It is called by one goroutine at a time.
	Progress func(done, total int)
}

// Findings is what was said of all homes, in the order of cases, seeds and kinds.
type Findings struct {
	FindingsConfig
	Told    []Told
	Variant [][]Told // what was said with each of Worse
}

// MakeFindings judges every case with every seed and set-up, on all cores. The outcome does not depend on how many there
// are.
func MakeFindings(ctx context.Context, c FindingsConfig) (*Findings, error) {
	type home struct {
		cases.Case
		seed uint64
	}
	var list []home
	for _, x := range c.Cases {
		for _, seed := range c.Seeds {
			list = append(list, home{x, seed})
		}
	}
	ways := 1 + len(c.Worse)
	told := make([][]Told, ways*len(list)) // by set-up, then by home
	order := longestFirst(len(told), func(i int) int { return list[i%len(list)].Days })
	err := onAllCores(ctx, len(told), c.Progress, func(ctx context.Context, i int) (err error) {
		i = order[i]
		h := list[i%len(list)]
		s := h.Scenario(h.seed)
		if i >= len(list) && !c.Worse[i/len(list)-1].Change(&s) {
			return nil
		}
		told[i], err = c.hear(ctx, h.Case, s, h.seed)
		return err
	})
	if err != nil {
		return nil, err
	}
	f := &Findings{FindingsConfig: c, Told: c.only(slices.Concat(told[:len(list)]...))}
	for v := range c.Worse {
		part := told[(v+1)*len(list):][:len(list)]
		for i := range part {
			if part[i] == nil { // it has nothing that gets worse
				part[i] = slices.Clone(told[i])
			}
			for j := range part[i] {
				part[i][j].Worse = c.Worse[v].Name
			}
		}
		f.Variant = append(f.Variant, c.only(slices.Concat(part...)))
	}
	return f, nil
}

// longestFirst is an order of n pieces of work in which no core is left with the longest at the end.
func longestFirst(n int, long func(int) int) []int {
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return long(b) - long(a) })
	return order
}

// only keeps the kinds that are told of.
func (c *FindingsConfig) only(all []Told) []Told {
	return slices.DeleteFunc(all, func(t Told) bool { return len(c.Kinds) > 0 && !slices.Contains(c.Kinds, t.Label.Kind) })
}

// onAllCores does n pieces of work; the first error ends it.
func onAllCores(ctx context.Context, n int, progress func(done, total int), do func(context.Context, int) error) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	work := make(chan int)
	var mu sync.Mutex
	var wait sync.WaitGroup
	done := 0
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range work {
				if ctx.Err() != nil {
					continue
				}
				if err := do(ctx, i); err != nil {
					cancel(err)
					continue
				}
				mu.Lock()
				done++
				if progress != nil {
					progress(done, n)
				}
				mu.Unlock()
			}
		})
	}
	for i := range n {
		if ctx.Err() == nil {
			work <- i
		}
	}
	close(work)
	wait.Wait()
	return context.Cause(ctx)
}
