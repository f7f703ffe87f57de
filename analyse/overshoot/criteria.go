package overshoot

import (
	"time"

	"tundish/analyse"
)

// The criteria. No standard sets a limit on how far a boiler's flow may pass its set-point; burner thermostats go off
// 2 to 6 K above it (common practice, no source).
const (
	overK      = 8.0              // K past the set-point that count
	mostShare  = 0.5              // of the starts must pass by so much
	leastBurns = 4                // heating starts that can be judged, before anything is said
	leastClear = 3                // of them, where none overshoots at all, before it is clear
	leastBurn  = 20 * time.Second // a shorter one says nothing of control
	heatsBy    = 2.0              // K: a firing that warms the flow by less did not bring it where it is
	evenStarts = 0.75             // share of the starts that must overshoot where their use is not known
	apartK     = 4.0              // K: two sensors of the same flow that peak so far apart do not agree
	readEvery  = 30 * time.Second // a flow read less often can miss the peak of a short burn
	standingK  = 40.0             // K of flow over return at the end of a burn: the water hardly moves (common practice, no source)
	shortBurn  = 5 * time.Minute  // by then a burner whose water stands has come to its set-point. Own proposal
	stillShare = 0.15             // of the flow's rise over the return: a return that rose by less did not answer. Own proposal
	stillK     = 2.0              // K of the return's rise that are nothing: two steps of a coarse bus sensor
	manyStarts = 4.0              // starts an hour of firing and pause from which the overshoot is also wear
)

// criteria is the table of them.
func criteria() []analyse.Criterion {
	return []analyse.Criterion{
		{Name: "the flow passes the highest set-point in force by", Value: overK, Unit: "K", Source: "own proposal; burner thermostats go off 2 to 6 K above (common practice, no source)"},
		{Name: "in more than this share of the heating starts", Value: mostShare, Source: "own proposal: most starts"},
		{Name: "heating starts needed", Value: leastBurns, Unit: "starts", Source: "own proposal"},
		{Name: "or, where none of them overshoots at all", Value: leastClear, Unit: "starts", Source: "own proposal: if most did, three in a row that do not would come one time in eight or less"},
		{Name: "a start burns for at least", Value: leastBurn.Seconds(), Unit: "s", Source: "own proposal"},
		{Name: "a start warms the flow by at least", Value: heatsBy, Unit: "K", Source: "own proposal"},
		{Name: "and in this share, evenly, where the record does not say what the starts were for", Value: evenStarts, Source: "own proposal"},
		{Name: "two sensors of the flow do not agree from", Value: apartK, Unit: "K", Source: "own proposal: ±0.5 K (DS18B20 datasheet), 0.7 K of a thermistor and 2 K of contact on a dry strap (common practice, no source)"},
		{Name: "of the two that one is wrong whose flow stands off its return at lighting, after a rest of", Value: restFor.Hours(), Unit: "h", Source: "own proposal: the water has taken on the warmth of the room by then"},
		{Name: "while the other pair agrees within", Value: restEven, Unit: "K", Source: "own proposal: two probes of ±0.5 K (DS18B20 datasheet), and some warmth left"},
		{Name: "starts after such a rest, at least", Value: leastRests, Unit: "starts", Source: "own proposal"},
		{Name: "or that flow is wrong which stands no further above its return while the burner burns than this share of the other pair's difference", Value: lowOwn, Source: "own proposal"},
		{Name: "sensor-placement: the flow climbs after the burner stopped by", Value: lateK, Unit: "K", Source: "own proposal"},
		{Name: "closed-valves: the flow climbs in a minute by", Value: quickRise, Unit: "K", Source: "12 l of water warmed by 7 kW climb by 8.5 K/min (P/(V·ρ·c))"},
		{Name: "closed-valves: flow less return at the end of the burn from", Value: wideDelta, Unit: "K", Source: "common practice, no source: 25 to 30 K"},
		{Name: "nothing is said where the flow was read less often than every", Value: readEvery.Seconds(), Unit: "s", Source: "own proposal: at 3 K/min it climbs 1.5 K in that time"},
		{Name: "and by its readings passes the set-point by more than", Value: usualK, Unit: "K", Source: "burner thermostats go off up to that (common practice, no source)"},
		{Name: "control: half of the starts overshoot alike within", Value: evenK, Unit: "K", Source: "own proposal"},
		{Name: "oversized: the burner is at its least output up to", Value: lowFire, Unit: "%", Source: "own proposal"},
		{Name: "nothing is said where in most starts the water hardly moves: flow less return at the end of the burn from", Value: standingK, Unit: "K", Source: "common practice, no source"},
		{Name: "or a burn shorter than", Value: shortBurn.Minutes(), Unit: "min", Source: "own proposal"},
		{Name: "whose flow climbs in a minute by", Value: quickRise, Unit: "K", Source: "12 l of water warmed by 7 kW climb by 8.5 K/min (P/(V·ρ·c))"},
		{Name: "while the return rises by no more than this share of it", Value: stillShare, Source: "own proposal"},
		{Name: "or by no more than", Value: stillK, Unit: "K", Source: "two steps of a coarse bus sensor"},
		{Name: "water carried the heat away, and does not stand, where the flow fell soon after the burner stopped by", Value: carriesK, Unit: "K", Source: "own proposal"},
		{Name: "and by this share of its height over the return", Value: carriesShare, Source: "own proposal"},
		{Name: "told by the flow at the next lighting, where that came within", Value: relitWithin.Minutes(), Unit: "min", Source: "own proposal"},
		{Name: "two sensors of the flow that agree in settled water are both believed, and the higher peak counts: firings in which they were settled together, at least", Value: leastPairs, Unit: "firings", Source: "own proposal"},
		{Name: "nothing is said near the border by a sensor alone that follows late: median excess from", Value: usualK, Unit: "K", Source: "burner thermostats go off up to 6 K above (common practice, no source)"},
		{Name: "where two minutes after the burner stopped it shows, of its height over the return, from", Value: lateLeast, Source: "own proposal; a sound sensor in moving water keeps under 0.1"},
		{Name: "up to", Value: lateMost, Source: "own proposal: with more the water stands"},
		{Name: "read from flow over return at the end of the burn of at least", Value: lateDelta, Unit: "K", Source: "own proposal"},
		{Name: "flow read at least every", Value: readEvery.Seconds(), Unit: "s", Source: "own proposal"},
	}
}
