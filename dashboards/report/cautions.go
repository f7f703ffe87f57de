package report

// cautionSection closes every report. The Gas Safety (Installation and Use) Regulations 1998 are those of Great
// Britain; HSE guidance note GS38 is on test equipment for electrical work.
func cautionSection() section {
	return section{level: 2, id: "cautions", title: "Cautions", blocks: []block{list{items: []item{
		{"Gas.", "Work on gas, flue or combustion, and opening an appliance's sealed case, is for registered people only (Great Britain: Gas Safety (Installation and Use) Regulations 1998; elsewhere the local scheme). This report reads; it allows no such work."},
		{"Smell of gas, carbon monoxide alarm, people feeling ill.", "Open windows, leave, turn the gas off at the meter if that is safe, and call the emergency number from outside. The logger detects neither gas nor carbon monoxide."},
		{"Mains.", "Before any electrical cover is opened: isolate, lock off, and prove dead with a tester proved before and after (British practice: HSE GS38). Low-voltage bus terminals may share a rail with mains: go by the maker's diagram, not by how a wire looks."},
		{"Bus adapters.", "Use only ones with galvanic isolation; do not earth bus lines, and do not join two appliances."},
		{"Hot pipes and hot water.", "Pipes reach 80 to 90 °C, and what a safety valve lets out scalds. Fit probes on cold pipes, clear of flues, sharp edges and air openings."},
		{"Safety devices.", "Never block, bridge or loosen one (limit thermostat, safety valve, condensate trap, flue seal), not even to take a reading."},
		{"Resets.", "Resetting again and again hides a fault and can make it dangerous. After two resets: stop, and call for service."},
		{"Frost.", "With the heating off in frost pipes can burst. A quiet logger is no sign that a building is protected."},
		{"Personal data.", "The times of heating and hot water show when people are at home, asleep or away. Where they can be tied to a household they are personal data (GDPR in Europe, similar laws elsewhere): record only with informed consent of those who live there and knowledge of both landlord and tenant, keep no more than needed, pass on without the address, delete on request."},
		{"Estimates.", "Heat losses, causes and outputs that are worked out from a record are estimates with limits. A design needs EN 12831 or the national method, and a survey on site."},
		{"Local rules come first.", "Where local codes or the practice of licensed trades say otherwise, they hold, not this report."},
	}}}}
}
