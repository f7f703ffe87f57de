// Package house is a physical simulation of one house with its heating. It is the demo and the source of labelled
// cases: it emits what real devices emit (OpenTherm frames as adapter lines, DS18B20 scratchpads as kernel text)
// and keeps the truth apart, so that what the logger concludes can be held against what happened.
//
//	weather ─▶ building ◀─ emitters ◀─ circuit ◀─ boiler ◀─ room unit     each step of one second, circuit in half seconds
//	                                      │           │  ▲      │
//	                                   probes         └──bus────┘
//
// A [Scenario] is all data: plant, building, weather and faults. [Scenario.Simulate] runs it as fast as the machine
// goes and returns the [Truth]; [NewSource] runs it at the pace of the clock, as a source of a recording;
// [Scenario.JobSheet] writes the job sheet that belongs to it. One scenario and one seed give the same bytes every
// time. [House] is the machinery below, for tests and plots.
//
// What is modelled: water by IAPWS-IF97 values; a burner that modulates or only turns on and off, with its ignition
// sequence, PI control, limits and lockouts, or a heat pump; fuel on the gross value and what goes up the flue; a
// circuit of mixed nodes whose flow follows pump and valves, radiators by the EN 442 exponent or a heated floor, a
// building of two nodes, outside weather, a cylinder or instantaneous hot water, a sealed system that leaks and is
// topped up. What is not: natural circulation with the pump off, stratification in the cylinder. Heat is kept in a
// ledger ([Ledger]) that closes.
//
// Every constant carries its unit and its source, "common practice, no source" or "own assumption".
package house
