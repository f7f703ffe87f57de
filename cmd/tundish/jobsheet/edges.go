package jobsheet

import (
	"fmt"
	"maps"
	"slices"

	"tundish/decode/opentherm"
)

// edgesKind is the kind whose adapter tells level changes only:
//
//	[[source]]
//	name = "boiler"
//	kind = "opentherm-edges"
//	port = "/dev/serial/by-id/usb-adapter"
//	baud = 115200                    # a busy bus has 62 lines a frame, two frames a conversation
//	# time = "since-change"          # what the number counts, in µs: since-change, since-any-change or counter
//	# pattern = '^t=(?P<us>\d+) v=(?P<level>[01])$'   where no general rule fits; the group us is a must,
//	#                                  level and channel may be there
//	# same_bus_as = "room-unit"      # where each direction has a port of its own: the source that has the other one
const edgesKind = "opentherm-edges"

// Edges is what a source of level changes has of its own.
type Edges struct {
	Time    opentherm.TimeBase
	Pattern string // RE2 with a group named us
	// SameBus is the source that listens to the other direction of the same bus, and to which all readings belong.
	SameBus string
}

func (e *Edges) key(key string, v any) (err error) {
	switch key {
	case "time":
		bases := opentherm.TimeBases()
		names := slices.SortedFunc(maps.Keys(bases), func(a, b string) int { return int(bases[a]) - int(bases[b]) })
		name, ok := v.(string)
		if !ok || !slices.Contains(names, name) {
			return fmt.Errorf("must be one of %s, not %s", quoted(names), describe(v))
		}
		e.Time = bases[name]
	case "pattern":
		if e.Pattern, err = asText(v); err == nil {
			_, err = opentherm.CompileEdgePattern(e.Pattern)
		}
	case "same_bus_as":
		e.SameBus, err = asText(v)
	}
	return err
}

// sameBus checks what a source says of the bus that it shares, when all sources are known.
func (r *reader) sameBus(path string, s *Source) {
	if s.Edges == nil || s.Edges.SameBus == "" {
		return
	}
	path += ".same_bus_as"
	other, ok := r.sheet.Source(s.Edges.SameBus)
	switch {
	case !ok:
		r.fail(path, "there is no source %q", s.Edges.SameBus)
	case other.Name == s.Name:
		r.fail(path, "is the source itself; it wants the one of the other direction")
	case other.Edges == nil:
		r.fail(path, "source %q is of kind %q; both directions must be of kind %q", other.Name, other.Kind, edgesKind)
	case other.Edges.SameBus != "":
		r.fail(path, "source %q says same_bus_as itself; only one of the two may", other.Name)
	}
}
