// Package scoring measures how well package episode tells what happened: it runs simulated houses, whose truth is
// known, through the real decoders and the real analysis, and holds what was found against what was done. Nothing is
// written on the way; a score is arithmetic on two lists.
//
// # What counts as found
//
// True and found episodes are paired one to one, in order of time. A found firing matches a true one where they
// overlap or touch and both edges lie within the tolerance (see [Listening.Tolerance]); because firings of one record
// follow each other, taking for each true one the earliest found one that fits gives the most pairs there can be.
// Precision is the share of found ones that match, recall the share of true ones, F1 their harmonic mean.
//
// The errors of the edges are not taken from these pairs, since the tolerance would cut them off, but from pairs by
// most overlap: of every true and every found firing that overlap each other more than any other.
//
// # What is set aside
//
// A true firing that nobody could have seen whole counts for nothing, and neither does what was found of it: one that
// touches an end of the record, a stretch without a logger or, where the bus is what is listened to, a stretch in
// which its adapter was dead; each widened by [edgeOfSight] and the tolerance. So is a found firing that matches
// nothing and overlaps such a stretch. Where only probes listen to an appliance with instantaneous hot water, a
// firing during a draw is set aside as unseen and counted as that: the water never passes the pipes.
//
// # The findings
//
// [MakeFindings] and [MakeWeeks] do the same for the sixteen checks: homes of the library of cases, each told of by its
// own bus and probes, and the answers held against the labels of package cases. What an answer is worth is said in one
// place, by the verdicts.
package scoring
