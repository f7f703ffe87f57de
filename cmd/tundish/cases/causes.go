package cases

// wordsFor are the causes that may stand first for what a way does to a home, in the vocabulary of the findings and
// chosen by what was done, not by what is said of it. Where flow, return and bus are the same with either of two causes,
// both count: a pump that is set low and a valve that is nearly shut are one thing at the boiler, and so are a fast pump
// and an open bypass of a fixed share. Ways that stand here under no word have none in the vocabulary.
func wordsFor(way string) []string { return causeWords[way] }

var causeWords = map[string][]string{
	"low-delta-t-fast-pump":      {"pump-too-fast"},
	"low-delta-t-brisk-pump":     {"pump-too-fast"},
	"low-delta-t-slight":         {"pump-too-fast"},
	"low-delta-t-heat-pump":      {"pump-too-fast"},
	"low-delta-t-bypass-open":    {"bypass-open", "pump-too-fast"},
	"low-delta-t-bypass-set-low": {"bypass-open", "pump-too-fast"}, // the pump is too strong besides, and the bypass passes always

	"high-delta-t-choked":       {"restriction", "pump-too-slow"},
	"high-delta-t-slow-pump":    {"pump-too-slow", "restriction"},
	"high-delta-t-sludge":       {"restriction", "pump-too-slow"},
	"high-delta-t-sludge-grows": {"restriction"},
	"high-delta-t-failing-pump": {"pump-too-slow", "restriction"},
	"high-delta-t-slight":       {"pump-too-slow", "restriction"},

	"no-circulation-air-lock":      {"air-lock", "pump"},
	"no-circulation-sticking-pump": {"pump"},
	"no-circulation-valve-shut":    {"closed-valves"},
	"no-circulation-pump-dying":    {"pump"},
	"no-circulation-overheats":     {"air-lock", "pump"},
	"no-circulation-one-morning":   {"pump", "air-lock"},

	"ignition-retries-cold-mornings": {"gas-supply", "frozen-condensate"},
	"ignition-retries-electrode":     {"electrode"},
	"ignition-retries-short-flames":  {"frozen-condensate"},
	"ignition-retries-lpg":           {"gas-supply", "frozen-condensate"},

	"demand-not-met-contact-open":     {"interlock"},
	"demand-not-met-loose-contact":    {"interlock"},
	"demand-not-met-half-hour":        {"interlock"},
	"demand-not-met-sensor-reads-hot": {"sensor-reads-high"},
	"demand-not-met-set-down":         {"output-limited", "output-too-small"},
	"demand-not-met-small-heat-pump":  {"output-too-small"},
	"demand-not-met-long-anti-cycle":  {"anti-cycle-time"},

	"flow-overshoot-sensor-off-pipe":   {"sensor-placement", "control"}, // its control goes off 13 K late besides
	"flow-overshoot-reads-low":         {"sensor-placement"},
	"flow-overshoot-wide-differential": {"control"},
	"flow-overshoot-starts-at-full":    {"control"},
	"flow-overshoot-least-output":      {"control"},

	"not-condensing-fixed-hot":   {"weather-compensation-missing", "set-point-too-high", "emitters-undersized"},
	"not-condensing-fixed":       {"weather-compensation-missing", "set-point-too-high"},
	"not-condensing-lpg":         {"weather-compensation-missing", "set-point-too-high", "emitters-undersized"},
	"not-condensing-bypass":      {"bypass-open", "weather-compensation-missing"},
	"not-condensing-steep-curve": {"set-point-too-high", "weather-compensation-missing"},
	"not-condensing-slight":      {"weather-compensation-missing", "set-point-too-high", "emitters-undersized"},

	"pressure-loss-weeping-joint": {"leak"},
	"pressure-loss-slow":          {"leak"},
	"pressure-loss-hot":           {"leak"},
	"pressure-loss-topped-up":     {"leak"},
	"pressure-loss-fast":          {"leak"},
	"pressure-loss-gas-escapes":   {"expansion-vessel"},

	"pressure-swing-flat":          {"expansion-vessel"},
	"pressure-swing-low-charge":    {"expansion-vessel"},
	"pressure-swing-small-vessel":  {"vessel-too-small", "expansion-vessel"},
	"pressure-swing-slight":        {"vessel-too-small", "expansion-vessel"},
	"pressure-swing-losing-charge": {"expansion-vessel"},

	"cylinder-too-cool-set-low":     {"set-point-too-low"},
	"cylinder-too-cool-slight":      {"set-point-too-low"},
	"cylinder-too-cool-heat-pump":   {"set-point-too-low"},
	"cylinder-too-cool-flow-low":    {"flow-too-cool"},
	"cylinder-too-cool-hours-short": {"reheat-cut-short"},
	"cylinder-too-cool-scaled-coil": {"poor-recovery", "reheat-cut-short"},

	"probe-disagreement-flow-slipped":   {"probe-off-pipe", "poor-contact"},
	"probe-disagreement-return-slipped": {"probe-off-pipe", "poor-contact"},
	"probe-disagreement-bare-clip":      {"poor-contact"},
	"probe-disagreement-own-drifted":    {"sensor-offset"},
	"probe-disagreement-probe-drifts":   {"sensor-drift"},
	"probe-disagreement-slight":         {"sensor-offset"},

	"sensor-fault-jumping-flow":   {"loose-connector", "intermittent-thermistor"},
	"sensor-fault-jumping-return": {"loose-connector", "intermittent-thermistor"},
	"sensor-fault-few-jumps":      {"loose-connector", "intermittent-thermistor"},
	"sensor-fault-stuck-return":   {"stuck-converter", "repeated-value"},
	"sensor-fault-probe-stuck":    {"stuck-converter", "repeated-value", "probe-failing"},
	"sensor-fault-power-on":       {"probe-supply"},
	"sensor-fault-open":           {"open-circuit"},
	"sensor-fault-short":          {"short-circuit"},

	"bus-silence-unplugged": {"adapter"},
}
