package main

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// sheet is a starting job sheet of what was found. It guesses nothing: which adapter is on which port is the person's
// to say, and which probe is where is told by --identify.
func (f found) sheet(now time.Time, points []identified) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# A starting job sheet, from what was found on this machine on %s. Look it through.", now.Format("2 January 2006"))
	line("[job]")
	line("name = \"New job\"")
	line("# timezone = \"Europe/London\"")
	line("")
	line("# Every key may be left out; a check that lacks what it needs says so.")
	line("[plant]")
	line("# kind          = \"boiler\"      # boiler | heat-pump")
	line("# fuel          = \"natural-gas\" # natural-gas | lpg | oil | electricity")
	line("# output_max_kw = 24.0")
	line("# output_min_kw = 6.0")
	line("# design_flow_c = 70.0")
	line("# design_return_c = 50.0")
	line("# hot_water     = \"cylinder\"    # none | cylinder | instantaneous")
	used := 0
	for i, p := range f.ports {
		off := "" // the first port is taken for the bus adapter, the others are there to be switched on
		if i > 0 {
			off = "# "
		}
		line("")
		line("# A serial port. The bus adapter is taken to be on it: if it is a meter's, change kind.")
		line("%s[[source]]", off)
		line("%sname = %q", off, numbered("boiler", i))
		line("%skind = \"opentherm\" # or modbus-rtu, m-bus, opentherm-edges", off)
		line("%sport = %s", off, strconv.Quote(p.path))
		line("%sbaud = 9600", off)
		used++
	}
	if len(f.probes) > 0 {
		f.probeSource(line, points)
		used++
	}
	for i, k := range f.brokers {
		if k.reached {
			line("")
			line("# A broker that answered: %s.", k.says)
			line("# [[source]]")
			line("# name   = %q", numbered("radio", i))
			line("# kind   = \"mqtt\"")
			line("# broker = %q", k.address)
			line("# # user_env = \"BROKER_USER\" and password_file = \"/etc/tundish/password\": they never stand here")
			line("# [[source.topic]]")
			line("# topic  = \"house/boiler/flow\" # what your sensors send under")
			line("# point  = \"flow\"")
		}
	}
	if used == 0 {
		line("")
		line("# No port and no probe was found. Values from a file can be imported for this source.")
		line("[[source]]")
		line("name = \"values\"")
		line("kind = \"readings\"")
	}
	return b.String()
}

func (f found) probeSource(line func(string, ...any), points []identified) {
	line("")
	line("# Probes on the kernel's 1-Wire, with what they measured just now:")
	for _, p := range f.probes {
		line("#   %s  %s, %s", p.Device, p.family(), p.now())
	}
	line("[[source]]")
	line("name = \"probes\"")
	line("kind = \"one-wire\"")
	if f.root != "" {
		line("root = %s", strconv.Quote(f.root))
	}
	line("# at = \"where they are fitted, on what, insulated or not\"")
	if len(points) == 0 {
		line("# Which is which: tundish sources --identify JOB.toml")
		return
	}
	parts := make([]string, len(points))
	for i, p := range points {
		parts[i] = fmt.Sprintf("%q = %q", p.probe, p.point)
	}
	line("points = { %s }", strings.Join(parts, ", "))
}

func numbered(name string, i int) string {
	if i == 0 {
		return name
	}
	return fmt.Sprintf("%s-%d", name, i+1)
}
