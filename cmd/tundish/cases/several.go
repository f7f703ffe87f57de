package cases

import (
	"math/rand/v2"

	"tundish/cmd/tundish/house"
)

// healthy are the builds with nothing done to them.
func healthy() (list []Case) {
	for _, b := range Builds() {
		list = append(list, Case{Name: "sound-" + b.Name, Doc: "nothing wrong: " + b.Doc, Build: b.Name, Days: 3})
	}
	return list
}

// several are homes with more than one thing wrong, each made of ways that stand alone elsewhere in the library.
func several() (list []Case) {
	named := map[string]way{}
	for _, w := range ways() {
		named[w.name] = w
	}
	for _, h := range []struct {
		name, build string
		days        int
		ways        []string
	}{
		{"several-cold-and-cycling", "terrace", 3, []string{"short-cycling-least-output", "lockout-frozen-condensate"}},
		{"several-neglected", "solid-wall", 8, []string{"pressure-loss-weeping-joint", "high-delta-t-sludge", "cylinder-too-cool-set-low"}},
		{"several-flat-vessel-hot-flow", "semi-two-port", 3, []string{"pressure-swing-flat", "not-condensing-fixed-hot"}},
		{"several-pump-and-probe", "bungalow", 3, []string{"low-delta-t-fast-pump", "probe-disagreement-flow-slipped"}},
		{"several-adapter-and-ignition", "trv-bypass", 3, []string{"bus-silence-adapter-dies", "ignition-retries-cold-mornings"}},
		{"several-probes-only", "probes-only", 3, []string{"low-delta-t-fast-pump", "not-condensing-fixed-hot", "sensor-fault-power-on"}},
		{"several-switched-live", "switched-live", 3, []string{"short-cycling-least-output", "lockout-volatile"}},
		{"several-heat-pump", "heat-pump-radiators", 7, []string{"oversized-heat-pump", "cylinder-too-cool-heat-pump"}},
	} {
		c := Case{Name: h.name, Build: h.build, Days: h.days, Causes: map[string][]string{}}
		var changes []func(*house.Scenario, *rand.Rand)
		var needs []func(*house.Scenario) bool
		for i, n := range h.ways {
			w := named[n]
			w.causes(c.Causes)
			c.Intended = append(c.Intended, w.kind)
			c.Intended = append(c.Intended, w.also...)
			changes = append(changes, w.change)
			if w.needs != nil {
				needs = append(needs, w.needs)
			}
			if i == 0 {
				c.Severity, c.Cause, c.Doc = w.severity, w.cause, "several faults: "+w.doc
			} else {
				c.Doc += "; " + w.doc
			}
		}
		c.needs = both(needs...)
		c.change = func(s *house.Scenario, r *rand.Rand) {
			for _, f := range changes {
				f(s, r)
			}
		}
		list = append(list, c)
	}
	return list
}
