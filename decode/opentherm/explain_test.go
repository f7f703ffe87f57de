package opentherm

import (
	"fmt"
	"strings"
	"testing"
)

func explained(t *testing.T, f Frame) string {
	t.Helper()
	x := Explain(f)
	if x.Err != nil {
		t.Fatal(x.Err)
	}
	return x.String()
}

// Where sources disagree both readings are shown.
func TestBothReadings(t *testing.T) {
	tests := []struct {
		name string
		f    Frame
		says []string
	}{
		{"id 30 as s16", NewFrame(ReadAck, 30, 0x003C), []string{"60 °C (s16) is the more plausible", "0.234375 °C (f8.8)", "003C"}},
		{"id 30 as f8.8", NewFrame(ReadAck, 30, 0x3C80), []string{"60.5 °C (f8.8) is the more plausible", "15488 °C (s16)"}},
		{"id 30, 250 °C", NewFrame(ReadAck, 30, 250), []string{"250 °C (s16) is the more plausible"}},
		{"id 30, −10 °C", NewFrame(ReadAck, 30, 0xFFF6), []string{"−10 °C (s16) is the more plausible"}},
		{"id 30, −10 °C as f8.8", NewFrame(ReadAck, 30, 0xF600), []string{"−10 °C (f8.8) is the more plausible"}},
		{"id 30, nothing fits", NewFrame(ReadAck, 30, 0x8000), []string{"neither −32768 °C (s16) nor −128 °C (f8.8) is plausible"}},
		{"id 33 up to 500", NewFrame(ReadAck, 33, 500), []string{"flue temperature: 500 °C"}},
		{"id 71", NewFrame(WriteData, 71, 0x0032), []string{"ventilation level asked for: 50 %", "f8.8: 0.1953125 %"}},
		{"id 77", NewFrame(ReadAck, 77, 0x3200), []string{"ventilation level: 0 %", "f8.8: 50 %", "HB is not used by this id, yet it is 32"}},
		{"id 87", NewFrame(ReadAck, 87, 0x5000), []string{"nominal ventilation: 80 %", "f8.8: 80 %"}},
		{"id 100 in LB", NewFrame(ReadAck, 100, 0x0001), []string{
			"flags in LB: a manual change may overrule, a programmed change may not overrule", "the other reading, flags in HB"}},
		{"id 100 in HB", NewFrame(ReadAck, 100, 0x0200), []string{
			"flags in HB, which is not 0: a manual change may not overrule, a programmed change may overrule"}},
		{"id 125", NewFrame(ReadAck, 125, 0x0202), []string{"2.0078125 (f8.8)", "2.2", "raw word 0202"}},
		{"id 9 none", NewFrame(ReadAck, 9, 0), []string{"none imposed", "0 may be a value"}},
		{"id 50", NewFrame(ReadAck, 50, 0x2805), []string{"highest allowed: 40", "low trust"}},
		{"id 58", NewFrame(ReadAck, 58, 0x0180), []string{"heat-curve ratio: 1.5", "low trust"}},
		{"id 126", NewFrame(WriteData, 126, 0x0102), []string{"type: 1", "version: 2", "names the version first"}},
		{"id 70", NewFrame(ReadAck, 70, 0x0162), []string{"ventilation enabled", "diagnostic event, by one library, diagnostic event, from memory"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text := explained(t, tt.f)
			for _, s := range tt.says {
				if !strings.Contains(text, s) {
					t.Errorf("lacks %q:\n%s", s, text)
				}
			}
		})
	}
}

func TestRemarks(t *testing.T) {
	tests := []struct {
		name string
		f    Frame
		says string
	}{
		{"pressure out of range", NewFrame(ReadAck, 18, 0x0600), "6 bar is outside the specified range, 0 to 5 bar"},
		{"flow out of range", NewFrame(ReadAck, 25, 0x8000), "−128 °C is outside the specified range, −40 to 127 °C"},
		{"hour 30", NewFrame(ReadAck, 20, 0x1E00), "hour 30 is outside"},
		{"minute 75", NewFrame(ReadAck, 20, 0x004B), "minute 75 is outside"},
		{"day not known", NewFrame(ReadAck, 20, 0x0C00), "day not known 12:00"},
		{"month 13", NewFrame(ReadAck, 21, 0x0D01), "month: 13 is outside the specified range, 1 to 12"},
		{"reserved status bit", NewFrame(ReadAck, 0, 0x8000), "bit 7 set (reserved or not known)"},
		{"request with a value", NewFrame(ReadData, 25, 0x1234), "usually carries 0000, this one 1234"},
		{"index request", NewFrame(ReadData, 13, 0x0200), "asks for entry 2"},
		{"unassigned", NewFrame(ReadAck, 92, 0x1234), "raw word 1234, meaning not known"},
		{"maker's", NewFrame(ReadAck, 200, 0x1234), "maker's test and diagnostics"},
		{"kept free", NewFrame(ReadAck, 51, 0x1234), "kept free for further remote parameters"},
		{"mandatory id refused", NewFrame(UnknownDataID, 25, 0), "mandatory for the appliance"},
		{"write to a sensor", NewFrame(WriteData, 25, 0x3D80), "meant to read this id"},
		{"read of a set-point", NewFrame(ReadData, 1, 0), "meant to write this id"},
		{"spare bits", Frame(0x40193D80 | 0x03000000), "spare bits are 0011"},
		{"fan", NewFrame(ReadAck, 35, 0x3C3B), "set-point: 60 Hz"},
		{"brand character", NewFrame(ReadAck, 93, 0x0041), "character 0: 'A'"},
		{"brand character not printable", NewFrame(ReadAck, 93, 0x0007), "07, not a printable"},
		{"radio sensor", NewFrame(WriteData, 98, 0x1234), "raw: HB 12"},
		{"operating mode", NewFrame(ReadAck, 99, 0x1234), "hot water, raw: LB 34"},
		{"solar status", NewFrame(ReadAck, 101, 0x0217), "solar unit: fault, solar mode 3, solar status 1"},
		{"water filling", NewFrame(WriteData, 4, 0x0200), "fill the heating water"},
		{"later command", NewFrame(WriteData, 4, 0x0500), "service or test request"},
		{"output not stated", NewFrame(ReadAck, 15, 0), "taken as not stated"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if text := explained(t, tt.f); !strings.Contains(text, tt.says) {
				t.Errorf("lacks %q:\n%s", tt.says, text)
			}
		})
	}
}

func ExampleExplain() {
	for _, hex := range []string{"C000030A", "40193D80", "C0193D80", "40193D8"} {
		f, err := ParseFrame(hex)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(Explain(f))
	}
	// Output:
	// C000030A: Read-Ack from the appliance (slave), data id 0: status
	//   controller: heating enabled, hot water enabled
	//   appliance: heating active, flame on
	//   raw word 030A (HB 03, LB 0A); class 1, control and status; source: OpenTherm v2.2, 5.3.1
	// 40193D80: Read-Ack from the appliance (slave), data id 25: flow temperature at the boiler
	//   flow temperature at the boiler: 61.5 °C
	//   raw word 3D80 (HB 3D, LB 80); class 4, sensors and information; source: OpenTherm v2.2, 5.3.4
	// C0193D80: rejected: odd parity: the count of ones in the 32 bits must be even
	//   taken as it stands it would be Read-Ack of data id 25 (flow temperature at the boiler), word 3D80: not to be trusted
	// frame "40193D8" has 7 characters: a frame is 8 hexadecimal digits
}
