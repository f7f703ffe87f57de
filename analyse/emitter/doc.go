// Package emitter tells what radiators and heated floors give, which flow temperature a house needs of them, and what
// the pipes to them carry.
//
//	output  = K · (excess of the water over the room)ⁿ              radiators EN 442, floors EN 1264
//	excess  = arithmetic mean, or logarithmic mean where the return is far cooler than the flow (see Mean)
//
// Start at System: rooms with their need and their emitters, and pipes. What a person leaves out is filled by a named
// default, and Assumptions tells it with its source.
//
// Left out: one-pipe loops, heat from bare pipes, valves and balancing, and how the heat spreads in a room.
package emitter

import "tundish/analyse/assume"

// Assumption is a figure that nobody gave, or a limit that a result was held against.
type Assumption = assume.Assumption
