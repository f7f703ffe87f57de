package jobsheet

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"tundish/analyse"
	"tundish/decode"
	"tundish/decode/unit"
)

const whole1 = `[job]
name     = "Mill Row 3"
timezone = "Europe/London"
engineer = "A. Fitter"

[site]
outside_design_c    = -3.0
inside_design_c     = 21
design_heat_loss_kw = 5.6
calorific_value_mj_m3 = 39.5

[plant]
kind              = "boiler"
fuel              = "natural-gas"
emitters          = "radiators"
output_max_kw     = 24.0
output_min_kw     = 6.0
water_content_l   = 90.0
design_flow_c     = 70.0
design_return_c   = 50.0
supply            = "switched-live"
ignition_attempts = 5
hot_water         = "cylinder"
minimum_pressure_bar = 0.8

[[source]]
name = "boiler"
kind = "opentherm"
port = "/dev/serial/by-id/usb-adapter"
baud = 9600

[[source]]
name   = "probes"
kind   = "one-wire"
at     = "flow and return, 300 mm below the casing, copper, insulated"
points = { "28-0000a71c01f4" = "flow", "28-0000a71c039b" = { point = "return", offset_k = -0.19 } }
`

func TestWholeSheet(t *testing.T) {
	s, err := Parse("job.toml", []byte(whole1))
	if err != nil {
		t.Fatal(err)
	}
	if s.Job.Name != "Mill Row 3" || s.Job.Zone.String() != "Europe/London" || s.Job.Engineer != "A. Fitter" {
		t.Errorf("job is %+v", s.Job)
	}
	if d, ok := s.Plant.DesignDeltaT(); !ok || d != 20 {
		t.Errorf("design ΔT is %v, %v; want 20 K", d, ok)
	}
	if s.Plant.Supply != analyse.SwitchedLive || s.Plant.HotWater != analyse.CylinderHotWater {
		t.Errorf("plant is %+v", s.Plant)
	}
	if s.Plant.OutsideDesign != analyse.Some(unit.Celsius(-3)) || s.Plant.DesignHeatLoss != analyse.Some(unit.KW(5.6)) {
		t.Errorf("site is %+v", s.Plant)
	}
	if len(s.Sources) != 2 || s.Sources[0].Port == "" || s.Sources[0].Line != 26 {
		t.Fatalf("sources are %+v", s.Sources)
	}
	want := Mapping{Point: decode.Return, Offset: -0.19}
	if got := s.Sources[1].Points["28-0000a71c039b"]; got != want {
		t.Errorf("mapping is %+v, want %+v", got, want)
	}
}

// Each case is a change to the whole sheet and what the error must say: key, file and line.
func TestErrorsNameKeyFileAndLine(t *testing.T) {
	cases := []struct{ name, old, new, want string }{
		{"unknown key", "fuel              =", "fule              =", "job.toml:14: plant.fule: unknown key; did you mean fuel?"},
		{"unknown table", "[site]", "[settings]", "job.toml:6: settings: unknown key; known here: job, site, plant, codes, light, source"},
		{"wrong unit in the key", "output_max_kw     = 24.0", "output_max_w      = 24000", "job.toml:16: plant.output_max_w: unknown key; did you mean output_max_kw?"},
		{"unit as text", "design_flow_c     = 70.0", `design_flow_c     = "70 °C"`, "job.toml:19: plant.design_flow_c: must be a bare number in °C"},
		{"out of range", "output_max_kw     = 24.0", "output_max_kw     = 24000", "job.toml:16: plant.output_max_kw: 24000 is outside 0.5 to 2000 kW"},
		{"not a number at all", "output_max_kw     = 24.0", "output_max_kw     = nan", "job.toml:16: plant.output_max_kw: NaN is outside"},
		{"not a word of the list", `supply            = "switched-live"`, `supply            = "spur"`, `job.toml:21: plant.supply: must be one of "permanent-live", "switched-live"`},
		{"return above flow", "design_return_c   = 50.0", "design_return_c   = 75.0", "job.toml:20: plant.design_return_c: 75.0 °C is not below design_flow_c"},
		{"least above greatest", "output_min_kw     = 6.0", "output_min_kw     = 30.0", "job.toml:17: plant.output_min_kw: 30.0 kW is above output_max_kw"},
		{"time zone", "Europe/London", "Europe/Lundon", "job.toml:3: job.timezone: \"Europe/Lundon\" is no IANA time zone"},
		{"no code", "[site]", "[codes]\nE5 = \"x\"\n[site]", "job.toml:7: codes.E5: must be a code as the bus gives it, a whole number from 1 to 65535"},
		{"code too high", "[site]", "[codes]\n65536 = \"x\"\n[site]", "job.toml:7: codes.65536: must be a code"},
		{"code with a nought before it", "[site]", "[codes]\n\"07\" = \"x\"\n[site]", "job.toml:7: codes.07: must be a code"},
		{"code without words", "[site]", "[codes]\n7 = \"\"\n[site]", "job.toml:7: codes.7: is empty"},
		{"escape in a code's words", "[site]", "[codes]\n7 = \"\\u001b\"\n[site]", "job.toml:7: codes.7: holds the control character U+001B"},
		{"code twice", "[site]", "[codes]\n7 = \"a\"\n\"7\" = \"b\"\n[site]", "job.toml:8: codes.7: stands here a second time"},
		{"codes as a value", "[job]", "codes = 7\n[job]", "job.toml:1: codes: must be a table: [codes]"},
		{"no name", `name     = "Mill Row 3"`, "", "job.toml:1: job: name is missing"},
		{"duplicate source name", `name   = "probes"`, `name   = "boiler"`, `job.toml:33: source[1].name: "boiler" is the name of the source in line 26 already`},
		{"duplicate key", "baud = 9600", "baud = 9600\nbaud = 4800", "job.toml:31: source[0].baud: stands here a second time; the first is in line 30"},
		{"no such kind", `kind = "opentherm"`, `kind = "telegraph"`, "job.toml:28: source[0].kind: must be one of"},
		{"key of another kind", `port = "/dev/serial/by-id/usb-adapter"`, `topic = "x"`, "job.toml:29: source[0].topic: unknown key; known here: name, kind, at, table, paired, port, baud, pattern, raise_lines"},
		{"odd rate", "baud = 9600", "baud = 9601", "job.toml:30: source[0].baud: 9601 is no usual rate"},
		{"no such point", `= "flow", "28`, `= "flou", "28`, `source[1].points.28-0000a71c01f4: "flou" is no point; did you mean flow?`},
		{"no temperature", `= "flow", "28`, `= "pressure", "28`, `"pressure" is no temperature`},
		{"two probes, one point", `point = "return"`, `point = "flow"`, `job.toml:36: source[1].points.28-0000a71c039b: "flow" is measured by 28-0000a71c01f4 already`},
		{"offset", "-0.19", "-19", "source[1].points.28-0000a71c039b.offset_k: -19 is outside -12 to 12 K"},
		{"accuracy", "offset_k = -0.19", "accuracy_k = 0", "source[1].points.28-0000a71c039b.accuracy_k: 0 is outside 0.03 to 12 K"},
		{"pairing", "offset_k = -0.19", "paired_k = \"good\"", "source[1].points.28-0000a71c039b.paired_k: must be a bare number in K"},
		{"key of a probe", "offset_k", "paird_k", "source[1].points.28-0000a71c039b.paird_k: unknown key; did you mean paired_k?"},
		{"no probe", "28-0000a71c01f4", "hall", "source[1].points.hall: is no 1-Wire device"},
		{"no thermometer", `"28-0000a71c01f4" = "flow"`, `"12-0000a71c01f4" = "flow"`, "job.toml:36: source[1].points.12-0000a71c01f4: 12-0000a71c01f4: family 12 is not a thermometer"},
		{"terminal escape", `"Mill Row 3"`, `"Mill\u001b[2J Row"`, "job.toml:2: job.name: holds the control character U+001B"},
		{"second line", `"A. Fitter"`, `"A. Fitter\nB."`, "job.toml:4: job.engineer: holds the control character U+000A"},
		{"eight-bit escape", `"A. Fitter"`, `"A.\u009b2J"`, "job.toml:4: job.engineer: holds the control character U+009B"},
		{"direction turned", `"A. Fitter"`, `"A. \u202eFitter"`, "job.toml:4: job.engineer: holds the control character U+202E"},
		{"escape in notes", `"A. Fitter"`, `"A"` + "\n" + `notes = "one\n\ttwo \u001b[0m"`, "job.toml:5: job.notes: holds the control character U+001B"},
		{"escape in a place", "at     = \"flow", "at     = \"\\u0007flow", "job.toml:35: source[1].at: holds the control character U+0007"},
		{"escape in a key", "[site]", "[site]\n\"a\\u001bb\" = 1", `job.toml:7: "site.a\x1bb": unknown key`},
		{"name with a slash", `name = "boiler"`, `name = "boiler/one"`, "job.toml:27: source[0].name"},
		{"no TOML", "[plant]", "[plant", "job.toml:12: "},
		{"pattern without its group", "baud = 9600", `pattern = "[0-9A-F]{8}"`, `job.toml:30: source[0].pattern: pattern "[0-9A-F]{8}": it has no group named frame`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if !strings.Contains(whole1, c.old) {
				t.Fatalf("the sheet does not hold %q", c.old)
			}
			_, err := Parse("job.toml", []byte(strings.Replace(whole1, c.old, c.new, 1)))
			if err == nil {
				t.Fatal("no error")
			}
			if !strings.Contains(err.Error(), c.want) {
				t.Errorf("error is\n%v\nwant\n%s", err, c.want)
			}
		})
	}
}

// Sources as an array of inline tables have their lines too.
func TestLinesOfInlineTables(t *testing.T) {
	text := "source = [\n  { name = \"boiler\", kind = \"opentherm\", prot = \"/dev/x\" },\n  { name = \"probes\", kind = \"one-wire\",\n" +
		"    points = { \"28-0000a71c01f4\" = \"flou\" } },\n  { kind = \"readings\" },\n]\n[job]\nname = \"x\"\n"
	_, err := Parse("job.toml", []byte(text))
	want := "job.toml:2: source[0].prot: unknown key; did you mean port?\n" +
		"job.toml:4: source[1].points.28-0000a71c01f4: \"flou\" is no point; did you mean flow?\n" +
		"job.toml:5: source[2]: name is missing: every [[source]] needs it"
	if err == nil || err.Error() != want {
		t.Errorf("error is\n%v\nwant\n%s", err, want)
	}
}

// Notes alone may have several lines.
func TestNotesOfSeveralLines(t *testing.T) {
	s, err := Parse("job.toml", []byte("[job]\nname = \"x\"\nnotes = \"one\\n\\ttwo\"\n[[source]]\nname = \"a\"\nkind = \"readings\"\n"))
	if err != nil || s.Job.Notes != "one\n\ttwo" {
		t.Errorf("notes are %+v, error %v", s, err)
	}
}

func TestAllErrorsAtOnce(t *testing.T) {
	text := "[job]\nnmae = \"x\"\n[plant]\noutput_max_kw = -1\nsupply = 3\n[[source]]\nkind = \"opentherm\"\nbuad = 3\n"
	_, err := Parse("job.toml", []byte(text))
	var errs Errors
	if !errors.As(err, &errs) {
		t.Fatalf("error is %v", err)
	}
	wantLines := []int{1, 2, 4, 5, 6, 8} // name missing, nmae, output_max_kw, supply, source name missing, buad
	var got []int
	for _, e := range errs {
		got = append(got, e.Line)
	}
	if len(got) != len(wantLines) {
		t.Fatalf("errors in lines %v, want %v:\n%v", got, wantLines, err)
	}
	for i := range got {
		if got[i] != wantLines[i] {
			t.Errorf("errors in lines %v, want %v", got, wantLines)
			break
		}
	}
}

func TestNoSource(t *testing.T) {
	_, err := Parse("job.toml", []byte("[job]\nname = \"x\"\n"))
	if err == nil || !strings.Contains(err.Error(), "at least one [[source]]") {
		t.Errorf("error is %v", err)
	}
}

func TestLoad(t *testing.T) {
	dir := t.TempDir()
	binary := filepath.Join(dir, "noise")
	if err := os.WriteFile(binary, []byte{0xff, 0, 0x80, 'x'}, 0o600); err != nil {
		t.Fatal(err)
	}
	var errs Errors
	if _, err := Load(binary); !errors.As(err, &errs) {
		t.Errorf("noise gives %v, want Errors", err)
	}
	if _, err := Load(dir); !errors.As(err, &errs) {
		t.Errorf("a folder gives %v, want Errors", err)
	}
	if _, err := Load(filepath.Join(dir, "none")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a missing file gives %v", err)
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(whole1))
	f.Add([]byte("[[source]]\npoints = {a = {b = 1}}\n"))
	f.Add([]byte("a.b.c = 1\n[a]\nb = 2"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := Parse("f", text)
		if (s == nil) == (err == nil) {
			t.Fatalf("sheet %v, error %v", s, err)
		}
	})
}

// TestCodes: a code stands for a fault code and a diagnostic code alike.
func TestCodes(t *testing.T) {
	const source = "[[source]]\nname = \"boiler\"\nkind = \"opentherm\"\n"
	sheet, err := Parse("job.toml", []byte("[job]\nname = \"x\"\n[codes]\n\"133\" = \"no flame seen\"\n7 = \"fan\"\n"+source))
	if err != nil {
		t.Fatal(err)
	}
	if len(sheet.Codes) != 2 || sheet.Codes[133] != "no flame seen" || sheet.Codes[7] != "fan" {
		t.Errorf("codes are %v", sheet.Codes)
	}
	amended, err := Parse("job.toml", []byte("[job]\nname = \"x\"\n[codes]\n\"133\" = \"no gas\"\n7 = \"fan\"\n"+source))
	if err != nil {
		t.Fatal(err)
	}
	if got := Changes(sheet, amended); len(got) != 1 || !strings.Contains(got[0], "codes.133") {
		t.Errorf("changes are %q", got)
	}
}

func TestSourceNames(t *testing.T) {
	for name, ok := range map[string]bool{
		"heat meter 2": true, "küche": true, "BMS.unit-7": true, "プローブ": true, "7": true,
		"BMS/unit-7": false, // a series is SOURCE/POINT
		"a=b":        false, // SOURCE=FILE
		" probes":    false, "probes ": false, "": false, "-x": false, "a\tb": false,
		strings.Repeat("x", 40): true, strings.Repeat("x", 41): false,
	} {
		_, err := Parse("job.toml", []byte("[job]\nname = \"x\"\ntimezone = \"UTC\"\n[[source]]\nname = "+strconv.Quote(name)+"\nkind = \"readings\"\n"))
		if (err == nil) != ok {
			t.Errorf("%q: %v", name, err)
		}
	}
}

// Without a word a probe errs as its chip's data sheet says: ±0.5 K (DS18B20).
func TestSensors(t *testing.T) {
	said := strings.Replace(whole1, "offset_k = -0.19", "offset_k = -0.19, accuracy_k = 0.2, paired_k = 0.1", 1)
	s, err := Parse("job.toml", []byte(said))
	if err != nil {
		t.Fatal(err)
	}
	want := []analyse.Sensor{
		{Series: decode.Series{Source: "probes", Point: decode.Flow}, Error: 0.5},
		{Series: decode.Series{Source: "probes", Point: decode.Return}, Error: 0.2, Paired: analyse.Some[unit.Kelvin](0.1), Offset: -0.19},
	}
	got := s.Sensors()
	if len(got) != len(want) || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("sensors are %v, want %v", got, want)
	}
}
