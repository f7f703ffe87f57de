package payload_test

import (
	"strings"
	"testing"

	"tundish/decode"
	"tundish/decode/payload"
)

// What a contact said last is what it says, however long the broker kept it; since when is not known. A number kept by
// the broker says nothing of now.
func TestContactKeptByTheBroker(t *testing.T) {
	const kept = " the broker had kept it: what it said last, and since when is not known"
	d, err := payload.New(payload.Config{Source: "radio", Values: []payload.Value{
		{Topic: "call", Point: decode.HeatDemand, OnChange: true, Invert: true, On: []string{"closed"}, Off: []string{"open"}},
		{Topic: "mains", Point: decode.Supply, OnChange: true},
		{Topic: "pump", Point: decode.Pump},
		{Topic: "flow", Point: decode.Flow},
	}})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ channel, payload, want string }{
		{"call#retained", "open", "12:00:00.000 heat-demand=1" + kept},
		{"call", "closed", "12:00:00.000 heat-demand=0"},
		{"mains#waited", "1", "12:00:00.000 supply=1" + kept},
		{"mains#retained", "off", "12:00:00.000 supply=0" + kept},
		{"pump#retained", "on", ""},
		{"flow#retained", "61", ""},
	} {
		got := strings.Join(said(d, messages(c.channel, c.payload)), "|")
		if got != c.want {
			t.Errorf("%s %s:\ngot  %s\nwant %s", c.channel, c.payload, got, c.want)
		}
	}
}
