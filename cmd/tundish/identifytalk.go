package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	wire "tundish/capture/onewire"
	"tundish/dashboards/findings"
	"tundish/decode"
)

// identifying is the conversation with the person.
type identifying struct {
	as      []decode.Point
	in      io.Reader
	out     *streams
	warming *warming
	total   int
	named   []identified
	left    map[string]bool // probes that are nothing
	asking  string          // the probe that is asked about
}

// errEnough ends the search.
var errEnough = errors.New("enough")

func (i *identifying) run(ctx context.Context, cfg wire.Config) ([]identified, error) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	i.left = map[string]bool{}
	i.say("Warm one probe in the hand until it is told.", "Heating off, or probes off the pipes: hot", "ones burn, and do not show a hand.")
	if len(i.as) > 0 {
		i.say("First: " + i.as[0].String())
	}
	values, ended := make(chan probeValue), make(chan error, 1)
	go func() {
		ended <- watchProbes(ctx, []wire.Config{cfg}, func(v probeValue) error {
			select {
			case values <- v:
				return nil
			case <-ctx.Done():
				return ctx.Err()
			}
		})
	}()
	answers := i.answers()
	quiet := time.NewTimer(identifyPatience)
	defer quiet.Stop()
	defer func() {
		if i.out.screen.terminal() {
			i.out.screen.leave()
		}
	}()
	for {
		var err error
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case err := <-ended:
			return nil, err
		case <-quiet.C:
			return nil, fmt.Errorf("no probe rose by %.1f K in %s: nothing was written; hold the metal tip, for a minute", riseK, identifyPatience)
		case v := <-values:
			err = i.value(v, func() { quiet.Reset(identifyPatience) })
		case a, more := <-answers:
			quiet.Reset(identifyPatience)
			if !more {
				return nil, usagef("nobody answers here: name the probes in the order of warming, --as flow,return; nothing was written")
			}
			err = i.answer(a)
		}
		if errors.Is(err, errEnough) {
			return i.named, nil
		}
		if err != nil {
			return nil, err
		}
	}
}

// answers are the person's lines; none are awaited where --as says all.
func (i *identifying) answers() <-chan string {
	if len(i.as) > 0 {
		return nil
	}
	out := make(chan string)
	go func() {
		defer close(out)
		lines := bufio.NewScanner(i.in)
		for lines.Scan() {
			out <- lines.Text()
		}
	}()
	return out
}

func (i *identifying) say(lines ...string) {
	for _, l := range lines {
		fmt.Fprintln(i.out.live(), findings.Printable(l))
	}
}

func (i *identifying) value(v probeValue, something func()) error {
	if v.note != "" {
		if strings.HasPrefix(v.note, "probe gone") || strings.HasPrefix(v.note, "probe back") {
			i.say(v.probe + ": " + v.note)
		}
		return nil
	}
	if v.err != nil {
		return nil
	}
	rose := i.warming.take(v.probe, v.at, v.c)
	if i.out.screen.terminal() && i.asking == "" {
		i.out.screen.show(i.warming.page(i.named))
	}
	if !rose || i.asking != "" {
		return nil
	}
	something()
	i.say(fmt.Sprintf("%s rises, now %.1f °C", v.probe, v.c))
	if len(i.as) == 0 {
		i.asking = v.probe
		if i.out.screen.terminal() { // what is typed stands below
			i.out.screen.leave()
		}
		i.say("What is it? flow, return, outside, room, …", "Enter: nothing. end: that is all.")
		return nil
	}
	return i.name(v.probe, i.as[len(i.named)])
}

func (i *identifying) answer(text string) error {
	text = strings.TrimSpace(text)
	switch {
	case text == "end":
		return errEnough
	case i.asking == "":
		i.say("No probe has risen yet.")
		return nil
	case text == "":
		i.left[i.asking] = true
		i.next()
		return i.enough()
	}
	p, err := temperaturePoint(text)
	if err == nil && slices.ContainsFunc(i.named, func(n identified) bool { return n.point == p }) {
		err = fmt.Errorf("%s is another probe already", p)
	}
	if err != nil {
		i.say(err.Error())
		return nil
	}
	return i.name(i.asking, p)
}

func (i *identifying) name(probe string, p decode.Point) error {
	i.named = append(i.named, identified{probe, p})
	i.say(fmt.Sprintf("%s is %s", probe, p))
	i.left[probe] = true
	i.next()
	if len(i.as) > 0 && len(i.named) < len(i.as) {
		i.say("Next: " + i.as[len(i.named)].String())
	}
	return i.enough()
}

// next goes on with the probes that are left.
func (i *identifying) next() {
	i.asking = ""
	i.warming.start(i.left)
}

func (i *identifying) enough() error {
	if len(i.as) > 0 && len(i.named) == len(i.as) || len(i.left) >= i.total {
		if len(i.named) < len(i.as) {
			return fmt.Errorf("no probe is left to be %s: nothing was written", i.as[len(i.named)])
		}
		return errEnough
	}
	return nil
}
