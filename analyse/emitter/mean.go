package emitter

import (
	"fmt"
	"math"
)

// Mean is how flow and return become one excess over the room.
type Mean uint8

const (
	// ByRule is Arithmetic, but Logarithmic where (return − room) ÷ (flow − room) is below LogBelow. At that border the
	// output has a step of about 1 %; what is solved for takes Logarithmic everywhere, which has none.
	ByRule Mean = iota
	Arithmetic
	Logarithmic
)

// LogBelow is the ratio of the excesses of return and flow below which the arithmetic mean tells too much (practice with EN
// 442, from memory).
const LogBelow = 0.7

func (m Mean) String() string {
	switch m {
	case Arithmetic:
		return "arithmetic mean"
	case Logarithmic:
		return "logarithmic mean"
	}
	return "arithmetic mean, logarithmic where the return's excess is below 0.7 of the flow's"
}

// smooth is the mean for what is solved for.
func (m Mean) smooth() Mean {
	if m == ByRule {
		return Logarithmic
	}
	return m
}

// of is the mean that a condition takes.
func (m Mean) of(c Condition) Mean {
	if m != ByRule {
		return m
	}
	if c.ReturnC-c.RoomC < LogBelow*(c.FlowC-c.RoomC) {
		return Logarithmic
	}
	return Arithmetic
}

// check says what a condition of water in use cannot be.
func (c Condition) check() error {
	for _, x := range []struct {
		what      string
		c         float64
		low, high float64
	}{{"flow", c.FlowC, 0, 120}, {"return", c.ReturnC, 0, 120}, {"room", c.RoomC, lowestInside, highestInside}} {
		if !(x.c >= x.low && x.c <= x.high) {
			return fmt.Errorf("%s temperature is %g °C: it is %g to %g", x.what, x.c, x.low, x.high)
		}
	}
	if c.ReturnC > c.FlowC {
		return fmt.Errorf("return %g °C is hotter than flow %g °C: exchange them", c.ReturnC, c.FlowC)
	}
	return nil
}

// ExcessK is the excess over the room by a mean, K. Where flow or return are not above the room it is 0: an emitter cannot
// cool its water below the room.
func (c Condition) ExcessK(m Mean) (float64, error) {
	if err := c.check(); err != nil {
		return 0, err
	}
	return c.excess(m.of(c)), nil
}

func (c Condition) excess(m Mean) float64 {
	flow, ret := c.FlowC-c.RoomC, c.ReturnC-c.RoomC
	if ret <= 0 {
		return 0
	}
	// Near each other the quotient loses its digits, and both means are the same to 1e-10 of them.
	if x := (flow - ret) / ret; m == Logarithmic && x > 1e-5 {
		return (flow - ret) / math.Log1p(x)
	}
	return (flow + ret) / 2
}
