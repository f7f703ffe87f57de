// Package building computes what a house loses at its design outside temperature, room by room, in the simplified
// structure of EN 12831:
//
//	room     = Σ (U·A + ψ·l + ΔU·A)·(inside − other side)  +  c·q·(inside − outside)
//	building = the rooms without what they give each other, and with infiltration counted once
//
// U is told, or computed of layers (EN ISO 6946, [Build.UValue]), or of a slab on the ground (EN ISO 13370, [Ground]). The
// other side is outside, the ground, a stated temperature, another room, or an unheated space by its factor b_u or its own
// balance ([Space]). Degree-days are in [DailyDegreeDays], [Hitchin] and [HourlyDegreeDays].
//
// Start at [House] and [Compute]. [House.Check] says what is wrong with a house, each with its place. Whatever nobody gave
// and a default filled is an [Assumption] of the result, with its source.
//
// Units stand in names: W, K, m, m², m³, °C, h. Left out: ventilated air layers, basements and suspended floors of EN ISO
// 13370, linear losses of windows (EN ISO 10077 beyond [WindowU]), solar and inner gains, and moisture. It is an estimate
// for an engineer to check; a formal design follows the national method.
package building

import "tundish/analyse/assume"

// Assumption is a figure that nobody gave, or a rule that was followed, in a result.
type Assumption = assume.Assumption
