// Package fit says whether a set-up is fit to be left: which checks it can feed, which sensors look wrongly fitted,
// and what to do about it while somebody is still there. It judges the set-up and not the heating; a sound answer here
// says nothing of the boiler.
//
// Start at [Judge]; a [Watch] sees the readings.
package fit

import "time"

// The criteria. Where no source is named they are own proposals: wide enough that a sound set-up with poor contact,
// slow probes or small differences is let pass.
const (
	// stale is the age from which a value is not of now.
	stale = 2 * time.Minute
	// settleAfter is how long a burner must have been on for the pipes to show it: the warm-up of the exchanger and
	// the probes' lag, some tens of seconds each (from memory).
	settleAfter = 3 * time.Minute
	// leastMinutes of firing must have been seen, and mostOf them must agree.
	leastMinutes = 15.0
	mostOf       = 0.8

	// Without a flame signal, water that warms by warmBy K in warmOver minutes shows a burner.
	warmOver = 3
	warmBy   = 2.0 // K

	// reversedBy is what the return must be above the flow, K: two digital probes of ±0.5 K each differ by 1 K at
	// worst (DS18B20 datasheet), and as much for their contact.
	reversedBy = 2.0
	// crossBy is the difference of the appliance's own flow and return from which the pipes can be told apart, K.
	crossBy = 4.0

	// A bare clip in air reads 8–20 % of the pipe's excess over the air too low (common practice, no source); poorShare
	// is the end of that, and beyond looseShare it hardly touches.
	poorShare  = 0.2
	looseShare = 0.3
	roomAir    = 20.0 // °C, highest air temperature taken beside the pipes

	// A sensor is cold where it rose by no more than coldShare of what the other pipe rose, and that rose by hotBy K.
	coldShare = 0.1
	hotBy     = 15.0

	// A sensor is stuck that gave one value for stuckFor while another of the same pipe moved by stuckSame K, or one
	// of the other pipe by stuckOther: on thermostatic valves a return may stand within its steps for hours while the
	// flow moves by 10 K and more.
	stuckFor      = time.Hour
	stuckReadings = 20
	stuckSame     = 8.0
	stuckOther    = 20.0

	// tooSlow is the shortest burn that must be told, so that a burn of 5 min, the usual limit of a short one (trade
	// training article on condensing plant), is told with some certainty: half of it.
	tooSlow = 150 * time.Second
	// quickEnough is the interval of readings that more frequent ones would not better.
	quickEnough = 15 * time.Second
	fairPart    = 20 // a twentieth of the record
	// fullDay is the record from which weather, people and programme have shown themselves once.
	fullDay = 24 * time.Hour
	// enoughShare of the record must be covered for a check to call anything clear; as in the checks themselves.
	enoughShare = 0.8
	// doubtfulShare is the share of doubtful readings that is worth a word.
	doubtfulShare = 0.1

	// Shares of a bus's traffic. Parity errors are line noise or a wrong threshold.
	parityShare     = 0.01
	framelessShare  = 0.5
	unansweredShare = 0.1
	leastRequests   = 60 // before any share is judged: a minute of the bus
	askedOften      = 3  // from which an id that was never answered counts

	// leastChanges are level changes of which a frame should have come: those of a minute of the bus, 62 a frame at the most,
	// two frames a second and fewer.
	leastChanges = 60 * 2 * 62

	// leastRate is the record from which the growth of the file is known.
	leastRate = time.Hour
	// soonFull and fullLater are the days of room below which it is told as urgent, and as to be known.
	soonFull  = 14.0
	fullLater = 60.0
)
