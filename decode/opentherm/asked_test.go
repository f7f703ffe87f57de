package opentherm_test

import (
	"testing"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/opentherm"
)

// Frames by the layout of the OpenTherm Protocol Specification v2.2 (4.2): id 25 is answered once of twice, id 27 with
// Unknown-DataId (type 7), id 0 always.
func TestAsked(t *testing.T) {
	d, err := opentherm.New(opentherm.Config{Source: "boiler"})
	if err != nil {
		t.Fatal(err)
	}
	for i, line := range []string{"00000300", "C000030A", "80190000", "40193D80", "80190000", "001B0000", "F01B0000", "00000300", "C0000300"} {
		if err := d.Decode(capture.Record{Run: 1, Seq: uint64(i), Source: "boiler", Payload: []byte(line)}, func(decode.Reading) {}); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
	}
	got := d.Asked()
	want := []struct {
		id              uint8
		asked, answered uint64
		point           decode.Point
	}{{0, 2, 2, decode.Flame}, {25, 2, 1, decode.Flow}, {27, 1, 0, decode.Outside}}
	if len(got) != len(want) {
		t.Fatalf("asked are %+v", got)
	}
	for i, w := range want {
		if g := got[i]; g.ID != w.id || g.Asked != w.asked || g.Answered != w.answered || g.Points[0] != w.point {
			t.Errorf("asked %d is %+v, want %+v", i, g, w)
		}
	}
}
