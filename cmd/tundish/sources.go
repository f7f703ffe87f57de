package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	wire "tundish/capture/onewire"
	"tundish/dashboards/findings"
	"tundish/decode/onewire"
)

type sourcesCmd struct {
	Job      string   `arg:"" optional:"" placeholder:"JOB.toml" help:"With --identify: the job sheet that gets the points."`
	Out      string   `short:"o" placeholder:"JOB.toml" help:"Write a starting job sheet; it overwrites nothing."`
	Broker   []string `placeholder:"HOST" help:"Also ask this MQTT broker: HOST, HOST:PORT, mqtts://HOST for TLS."`
	Root     string   `placeholder:"DIR" help:"The kernel's folder of 1-Wire devices (default: /sys/bus/w1/devices, or the job sheet's)."`
	Identify bool     `help:"Tell 1-Wire probes apart: warm one after the other in the hand."`
	As       []string `placeholder:"POINT" help:"What the probes are, in the order of warming: flow,return. Else it is asked."`
	Source   string   `placeholder:"NAME" help:"The job sheet's one-wire source, where it has several."`

	Serial string        `hidden:"" help:"The folder of stable serial port names."`
	Every  time.Duration `hidden:"" help:"From reading to reading."`
}

// found is what there is to record from.
type found struct {
	ports   []serialPort
	root    string // of the probes; empty: the default
	probes  []foundProbe
	noWire  error // why there are no probes
	brokers []broker
}

type foundProbe struct {
	wire.Found
	c   float64
	err error // why there is no temperature
}

func (c sourcesCmd) Run(ctx context.Context, s *streams) error {
	switch {
	case c.Identify:
		return c.identify(ctx, s)
	case c.Job != "":
		return usagef("%s: a job sheet is named with --identify; a new one is written with -o %s", c.Job, c.Job)
	case len(c.As) > 0:
		return usagef("--as goes with --identify")
	}
	if err := c.free(); err != nil {
		return err
	}
	f, err := c.look(ctx)
	if err != nil {
		return err
	}
	for _, line := range f.lines() {
		fmt.Fprintln(s.out, findings.Printable(line))
	}
	if c.Out == "" {
		return nil
	}
	return c.writeSheet(s, f, nil)
}

// free says whether the sheet to write can be written, before anybody waits.
func (c sourcesCmd) free() error {
	if c.Out == "" {
		return nil
	}
	if err := checkFolder(c.Out); err != nil {
		return err
	}
	if _, err := os.Lstat(c.Out); err == nil {
		return usagef("%s: exists already and is left as it is; name another file", c.Out)
	}
	return nil
}

// writeSheet writes a starting sheet under a name that is free. points are the probes that were told apart.
func (c sourcesCmd) writeSheet(s *streams, f found, points []identified) error {
	file, err := os.OpenFile(c.Out, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = file.WriteString(f.sheet(time.Now(), points))
	if err = errors.Join(err, file.Sync(), file.Close()); err != nil {
		return errors.Join(err, os.Remove(c.Out))
	}
	_, err = fmt.Fprintf(s.out, "%s: written; look it through before you record\n", findings.Printable(c.Out))
	return err
}

func (c sourcesCmd) look(ctx context.Context) (found, error) {
	f := found{root: c.Root}
	f.ports = serialPorts(c.Serial)
	f.probes, f.noWire = lookProbes(ctx, c.Root)
	var err error
	if f.brokers, err = lookBrokers(ctx, c.Broker); err != nil {
		return f, usageError{err}
	}
	return f, ctx.Err()
}

// probePatience is how long a list of probes waits for their temperatures. Own choice: a bus of eight that convert one
// after the other needs six seconds.
const probePatience = 8 * time.Second

// lookProbes lists the probes with what they measure now.
func lookProbes(ctx context.Context, root string) ([]foundProbe, error) {
	list, err := wire.List(root, time.Second)
	if err != nil || len(list) == 0 {
		return nil, err
	}
	out := make([]foundProbe, len(list))
	at := map[string]int{}
	for i, d := range list {
		out[i] = foundProbe{Found: d, err: errors.New("no answer")}
		at[d.Device] = i
	}
	ctx, stop := context.WithTimeout(ctx, probePatience)
	defer stop()
	missing := len(list)
	err = watchProbes(ctx, []wire.Config{{Root: root}}, func(v probeValue) error {
		i, ok := at[v.probe]
		if !ok {
			return nil
		}
		delete(at, v.probe) // its first word counts
		if v.note != "" && !strings.HasPrefix(v.note, "probe gone") {
			at[v.probe] = i
			return nil
		}
		out[i].c, out[i].err = v.c, v.err
		if v.note != "" {
			out[i].err = errors.New(v.note)
		}
		if missing--; missing == 0 {
			stop()
		}
		return nil
	})
	if missing == 0 {
		err = nil
	}
	return out, err
}

// lines are the list for a person, in lines that a phone-wide terminal holds where names let it.
func (f found) lines() []string {
	out := []string{"Serial ports"}
	for _, p := range f.ports {
		out = append(out, "  "+p.path)
		if p.is != "" {
			out = append(out, "    is "+p.is)
		}
	}
	if len(f.ports) == 0 {
		out = append(out, "  none; is the adapter plugged in?")
	}
	out = append(out, "1-Wire probes")
	for _, p := range f.probes {
		out = append(out, fmt.Sprintf("  %s  %s  %s", p.Device, p.family(), p.now()))
		if about := p.about(); about != "" {
			out = append(out, "    "+about)
		}
		if b := p.Settings.Bits; b > 0 && b < 12 {
			out = append(out, "    coarse: 12 bits show 0.0625 K; tundish sets nothing")
		}
	}
	switch {
	case f.noWire != nil:
		out = append(out, "  "+f.noWire.Error())
	case len(f.probes) == 0:
		out = append(out, "  none; is the cable plugged in, and the", "  pull-up in place?")
	}
	out = append(out, "MQTT brokers")
	for _, b := range f.brokers {
		out = append(out, "  "+b.address+": "+b.says)
	}
	return append(out, "  Only this machine and --broker are asked: a", "  network that is not ours is not searched.")
}

func (p foundProbe) family() string {
	f, err := onewire.FamilyOf(p.Device)
	if err != nil {
		return "unknown"
	}
	return f.String()
}

func (p foundProbe) now() string {
	if p.err != nil {
		return p.err.Error()
	}
	return fmt.Sprintf("%.1f °C", p.c)
}

func (p foundProbe) about() string {
	words := []string{}
	if p.Master != "" {
		words = append(words, p.Master)
	}
	if s := p.Settings.String(); s != "" {
		words = append(words, s)
	}
	if p.Bulk {
		words = append(words, "all at once")
	}
	return strings.Join(words, ", ")
}
