package jobsheet_test

import (
	"strings"
	"testing"
	"time"

	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

const pairedSheet = `[job]
name = "x"
[[source]]
name = "radio"
kind = "mqtt"
paired = { room = { offset_k = -0.31, paired_k = 0.12, spread_k = 0.08, paired_on = "2026-01-09" } }
[[source.topic]]
topic = "house/living"
point = "room"
`

// TestPaired: a comparison is kept for temperatures of any source, and can be written into the sheet.
func TestPaired(t *testing.T) {
	s, err := jobsheet.Parse("job.toml", []byte(pairedSheet))
	if err != nil {
		t.Fatal(err)
	}
	m := s.Sources[0].Paired[decode.Room]
	if m.Offset != -0.31 || m.Paired.Value != 0.12 || m.Spread.Value != 0.08 || m.PairedOn.Format(time.DateOnly) != "2026-01-09" {
		t.Errorf("%+v", m)
	}
	list := s.Sensors()
	if len(list) != 1 || list[0].Series.String() != "radio/room" || list[0].Error != 0.7 ||
		list[0].PairedWords() != "paired on 9 January 2026, offset -0.31 K known to ± 0.12 K, spread 0.08 K" {
		t.Errorf("%+v", list)
	}
	edits := []jobsheet.ProbeEdit{{Source: "radio", Probe: "room", Table: "paired", Keys: []jobsheet.Key{{Name: "offset_k", Raw: "0.10"}}}}
	out, err := jobsheet.EditProbes("job.toml", []byte(pairedSheet), edits)
	if err != nil || !strings.Contains(string(out), "room = { offset_k = 0.10, paired_k = 0.12,") {
		t.Errorf("%v:\n%s", err, out)
	}
	bare := strings.Replace(pairedSheet, "paired = { room = { offset_k = -0.31, paired_k = 0.12, spread_k = 0.08, paired_on = \"2026-01-09\" } }\n", "", 1)
	out, err = jobsheet.EditProbes("job.toml", []byte(bare), edits)
	if err != nil || !strings.Contains(string(out), "kind = \"mqtt\"\npaired = { \"room\" = { offset_k = 0.10 } }\n[[source.topic]]") {
		t.Errorf("%v:\n%s", err, out)
	}
}

// TestPairedWrong: each error names the key and its line.
func TestPairedWrong(t *testing.T) {
	for was, want := range map[string]string{
		"{ room = 1 }":                         "job.toml:6: source[0].paired.room: must be a table",
		"{ pressure = { offset_k = 0.1 } }":    "\"pressure\" is no temperature",
		"{ room = { offset_k = 20 } }":         "source[0].paired.room.offset_k",
		"{ room = { point = \"flow\" } }":      "source[0].paired.room.point",
		"3":                                    "must be a table of points",
		"{ rom = { offset_k = 0.1 } }":         "\"rom\" is no point",
		"{ room = { paired_on = \"1 May\" } }": "must be the day of the comparison",
	} {
		text := strings.Replace(pairedSheet, "{ room = { offset_k = -0.31, paired_k = 0.12, spread_k = 0.08, paired_on = \"2026-01-09\" } }", was, 1)
		if _, err := jobsheet.Parse("job.toml", []byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", was, err, want)
		}
	}
	probes := strings.Replace(pairedSheet, "mqtt", "one-wire", 1)
	if _, err := jobsheet.Parse("job.toml", []byte(probes)); err == nil || !strings.Contains(err.Error(), "where its point stands") {
		t.Errorf("%v", err)
	}
}
