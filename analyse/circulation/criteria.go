package circulation

import "tundish/analyse"

func criteria() []analyse.Criterion {
	const own = "own proposal"
	return []analyse.Criterion{
		{Name: "the flow rises fast from", Value: fastRise, Unit: "K/min", Source: "worked out from V·ρ·c: 12 l at 7 kW give 8.5 K/min, 3 l give 34 K/min"},
		{Name: "or as if no more water were warmed than", Value: littleWater, Unit: "l", Source: "worked out from V·ρ·c: 7 kW for 40 s and 10 K is 6.8 l, an exchanger and a bypass"},
		{Name: "but the return is only late where more water was warmed than", Value: circuitWater, Unit: "l", Source: "own proposal, worked out from V·ρ·c: more than an exchanger, its metal and a bypass take"},
		{Name: "told at starts with flow above return by less than", Value: alike, Unit: "K", Source: own},
		{Name: "and the burner is off again within", Value: quickEnd.Minutes(), Unit: "min", Source: own},
		{Name: "flow above return at the least", Value: leastApart, Unit: "K", Source: own},
		{Name: "and times the design ΔT", Value: designApart, Source: "as high-delta-t"},
		{Name: "flow above return where the design ΔT is not known", Value: unknownApart, Unit: "K", Source: "common practice, no source: designs are 20 K at the most as a rule"},
		{Name: "the burner runs at the most this share of the time", Value: burnShare, Source: "own proposal: an exchanger alone takes next to nothing"},
		{Name: "return cold up to", Value: coldReturn, Unit: "°C", Source: own},
		{Name: "or flow above return by", Value: farApart, Unit: "K", Source: "common practice, no source"},
		{Name: "the return did not follow: its rise, of the flow's, below", Value: followShare, Source: own},
		{Name: "the return followed: its rise, of the flow's, from", Value: followsShare, Source: own},
		{Name: "or below, where that is more", Value: least, Unit: "K", Source: "two steps of a coarse bus sensor"},
		{Name: "of the spread, left two minutes after the burner went off", Value: keepsShare, Source: "own proposal; water that moves renews a small exchanger's content within two minutes"},
		{Name: "but the heat was carried off where of the flow's own rise, two minutes later, there is left at most", Value: backShare, Source: "own proposal, of firings that begin with the flow far above the return; an exchanger's content is renewed within a minute"},
		{Name: "which speaks for as many firings nearer to them than", Value: wrongFor.Hours(), Unit: "h", Source: "own proposal: a sensor that reads wrong does so for days"},
		{Name: "such firings in a row", Value: restarts, Unit: "firings", Source: own},
		{Name: "over at least, or ended by an overheat lockout", Value: boutLasts.Minutes(), Unit: "min", Source: "own proposal: a far return follows late"},
		{Name: "firings belong together up to a pause of", Value: boutPause.Minutes(), Unit: "min", Source: "own proposal: water that stands in an exchanger keeps warm for hours"},
		{Name: "flow read too rarely from", Value: wide.Seconds(), Unit: "s", Source: own},
		{Name: "a return that has not moved in a burn of this length is not read on the pipe", Value: longBurn.Minutes(), Unit: "min", Source: "own proposal: 120 l at 12 l/min go round in 10 min"},
		{Name: "cause: pump said to be off, adds to pump", Value: saidOff, Source: own},
		{Name: "cause: it comes and goes, adds to pump and takes from air-lock", Value: comesBack, Source: own},
		{Name: "cause: it came back once, adds to pump", Value: cameBackOnce, Source: own},
		{Name: "cause: the circulation came back where the burner then ran for", Value: recovers.Minutes(), Unit: "min", Source: "own proposal: the time in which a heating's water goes round"},
		{Name: "cause: water let in the day before, adds to air-lock", Value: afterWork, Source: own},
		{Name: "cause: hot-water firings with water moving, take from pump and, of a cylinder, add to closed-valves", Value: hotWaterMoves, Source: own},
		{Name: "cause: hot-water firings without water, take from closed-valves", Value: hotWaterStands, Source: own},
		{Name: "cause: a run with water between two without, its use unknown, is taken for a reheat up to", Value: reheatMost.Hours(), Unit: "h", Source: "worked out from V·ρ·c: 200 l by 45 K with 5 kW"},
		{Name: "cause: sound running just before, adds to closed-valves", Value: warmRooms, Source: own},
		{Name: "but not where it goes on for", Value: roomsCool.Hours(), Unit: "h", Source: "own proposal: rooms have cooled, and thermostatic valves open again"},
		{Name: "cause: it stopped from one firing to the next, after a long sound burn, adds to pump", Value: atOnce, Source: own},
		{Name: "cause: leak, with the pressure below the least", Value: dry, Source: own},
		{Name: "cause: leak, with pressure enough", Value: filled, Source: own},
		{Name: "least pressure where none is stated", Value: emptyBar, Unit: "bar", Source: "common practice, no source"},
		{Name: "cause: pump, to begin with", Value: pumpBase, Source: own},
		{Name: "cause: air-lock, to begin with", Value: airBase, Source: own},
		{Name: "cause: closed-valves, to begin with", Value: valvesBase, Source: own},
		{Name: "cause: leak, where the pressure is not known", Value: leakBase, Source: own},
	}
}
