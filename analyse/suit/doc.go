// Package suit sets the load of a house as it was computed beside the load as it was measured, and both beside what the
// plant can give: how many times too large it is, below which outside temperature it can run without stopping, for how
// many hours it must stop and start, whether the heating ran as warm as the emitters need, and which rooms stand in the
// way of cooler water. Start at [Judge].
//
// It knows neither house files nor captures: what it is told stands in small structs, and what it is not told makes an
// answer "not assessable", with what is missing.
package suit
