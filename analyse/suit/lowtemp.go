package suit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// LowTemperature is whether every room reaches its temperature at design with a flow of FlowC at most.
type LowTemperature struct {
	FlowC    float64
	Ready    bool
	Limiting []RoomLimit // rooms that need more, the worst first
	NotKnown []string    // rooms of which it cannot be said
}

// RoomLimit is a room that stands in the way.
type RoomLimit struct {
	Name string
	// NeedsFlowC is the flow that it needs, °C; 0: it reaches its temperature at none that water can have.
	NeedsFlowC float64
}

func (r *Result) lowTemperature() Told[LowTemperature] {
	if len(r.Input.Rooms) == 0 {
		return missing[LowTemperature]("rooms and their emitters are not known: they belong in the house file")
	}
	l := LowTemperature{FlowC: r.Input.LowFlowC}
	if l.FlowC == 0 {
		l.FlowC = LowFlowUsual
		r.assume("flow temperature that counts as low", LowFlowUsual, "°C", lowFlowUsualSource)
	}
	judged := 0
	for _, m := range r.Input.Rooms {
		if m.NeedW > 0 && m.EmitterKnown {
			judged++
		}
		switch {
		case m.NeedW <= 0:
		case !m.EmitterKnown:
			l.NotKnown = append(l.NotKnown, m.Name)
		case m.LowestFlowC <= 0 || m.LowestFlowC > l.FlowC:
			l.Limiting = append(l.Limiting, RoomLimit{m.Name, m.LowestFlowC})
		}
	}
	slices.SortStableFunc(l.Limiting, func(a, b RoomLimit) int {
		if (a.NeedsFlowC == 0) != (b.NeedsFlowC == 0) {
			if a.NeedsFlowC == 0 {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.NeedsFlowC, a.NeedsFlowC)
	})
	l.Ready = len(l.Limiting) == 0 && len(l.NotKnown) == 0
	if judged == 0 && len(l.NotKnown) > 0 {
		return missing[LowTemperature]("the house file says of no room that needs heat which emitters it has")
	}
	return told(l)
}

// Words says it in a sentence, with the limiting rooms named.
func (l LowTemperature) Words() string {
	open := ""
	if len(l.NotKnown) > 0 {
		open = " Not known, for want of their emitters: " + strings.Join(l.NotKnown, ", ") + "."
	}
	switch {
	case l.Ready:
		return fmt.Sprintf("Ready for low temperature by computation: every room reaches its temperature at design with a flow of %.0f °C.", l.FlowC)
	case len(l.Limiting) == 0:
		return fmt.Sprintf("Every room whose emitters are known reaches its temperature at design with a flow of %.0f °C.%s Whether the house is ready for low temperature is open.", l.FlowC, open)
	}
	var rooms []string
	for _, m := range l.Limiting {
		if m.NeedsFlowC == 0 {
			rooms = append(rooms, m.Name+" (does not reach at any flow temperature)")
			continue
		}
		rooms = append(rooms, fmt.Sprintf("%s (needs %.0f °C)", m.Name, math.Ceil(m.NeedsFlowC-0.05)))
	}
	return fmt.Sprintf("Not ready for low temperature by computation: with a flow of %.0f °C the following do not reach their temperature at design: %s.%s", l.FlowC, strings.Join(rooms, ", "), open)
}
