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
// What is modelled: water by IAPWS-IF97 values, a modulating burner with its ignition sequence and PI control, a
// circuit of mixed nodes, emitters by the EN 442 exponent, a building of two nodes, outside weather, a cylinder or
// instantaneous hot water, an expansion vessel. What is not: flue gas and efficiency (heat given to the water is the
// unit of account), thermostatic valves, natural circulation with the pump off, stratification in the cylinder.
// Heat is kept in a ledger ([Ledger]) that closes.
//
// Every constant carries its unit and its source, "common practice, no source" or "own assumption".
package house
