// Package cases is the library of labelled cases: homes of the simulated house, sound and faulty, each with the truth
// of all sixteen kinds of finding. The analysis is scored against it.
//
//	Build ──▶ way ──▶ house.Scenario ──▶ simulation ──▶ Observer ──▶ Measures ──▶ Label of every kind
//	sound     a fault or                                  true state    bounded      present | absent | arguable
//	home      its look-alike                              each second   figures      with its because
//
// A [Build] is a sound home, varied by the seed. A way is what is done to it: a fault by its real cause, or something
// that looks like the fault and is not. A [Case] is a way on a build. [Label] judges a case by [Criteria] from the
// simulation's own state and truth, never from what a logger would record and never by the analysis: a verdict says
// what was so, whether or not the home's sensors can show it ([Verdicts] say that too).
//
// What a way intends is one thing, what came of it another: the tests hold the labels against the intention.
package cases
