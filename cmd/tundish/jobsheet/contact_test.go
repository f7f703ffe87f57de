package jobsheet

import (
	"strings"
	"testing"
	"time"

	"tundish/decode"
)

const contactSheet = `[job]
name = "Contacts"
[[source]]
name = "radio"
kind = "mqtt"
[[source.topic]]
topic = "call"
point = "heat-demand"
invert = true
heartbeat_s = 600
[[source.topic]]
topic = "mains"
point = "supply"
[[source.topic]]
topic = "pump"
point = "pump"
reports = "regularly"
[[source.topic]]
topic = "lamp"
point = "light"
[[source.topic]]
topic = "flow"
point = "flow"
[[source]]
name = "loft"
kind = "readings"
[source.table]
time = "Time"
[source.table.columns]
"Valve" = { point = "flame", invert = true, reports = "changes" }
"Pump" = { point = "pump" }
"Flow" = "flow"
`

func TestContacts(t *testing.T) {
	s, err := Parse("job.toml", []byte(contactSheet))
	if err != nil {
		t.Fatal(err)
	}
	// What a broker sends of a contact is told when it changes, unless the sheet says otherwise; a light is followed as it
	// comes. A column is sampled, unless the sheet says otherwise.
	radio, loft := s.Sources[0].Contacts(), s.Sources[1].Contacts()
	if len(radio) != 2 || radio[0] != (Contact{decode.HeatDemand, 10 * time.Minute}) || radio[1] != (Contact{decode.Supply, 0}) {
		t.Errorf("radio: %+v", radio)
	}
	if len(loft) != 1 || loft[0] != (Contact{decode.Flame, 0}) {
		t.Errorf("loft: %+v", loft)
	}
	for _, v := range s.Sources[0].MQTT.Values {
		if want := v.Point == decode.HeatDemand || v.Point == decode.Supply; v.OnChange != want || v.Invert != (v.Point == decode.HeatDemand) {
			t.Errorf("%+v", v)
		}
	}
	if c := s.Sources[1].Table.Columns; !c["Valve"].Invert || c["Pump"].Invert {
		t.Errorf("%+v", c)
	}
	for _, c := range []struct{ name, old, new, want string }{
		{"no such way", `"regularly"`, `"sometimes"`, `job.toml:17: source[0].topic[2].reports: must be one of`},
		{"a heartbeat of what reports regularly", `"regularly"`, "\"regularly\"\nheartbeat_s = 60", "heartbeat_s goes with reports"},
		{"a heartbeat of none", "= 600", "= 0", "source[0].topic[0].heartbeat_s:"},
		{"a light that reports changes", "point = \"light\"", "point = \"light\"\nreports = \"changes\"", "a light is followed as it comes"},
		{"a temperature turned round", "point = \"flow\"\n", "point = \"flow\"\ninvert = true\n", "are for what is 0 or 1"},
		{"a column of temperature turned round", `"Flow" = "flow"`, `"Flow" = { point = "flow", invert = true }`, "are for what is 0 or 1"},
		{"a column that reports regularly, with a heartbeat", `{ point = "pump" }`, `{ point = "pump", heartbeat_s = 60 }`, "heartbeat_s goes with reports"},
		{"no truth", "invert = true\nheartbeat", "invert = 1\nheartbeat", "must be true or false"},
		{"without a point", "point = \"supply\"\n", "reports = \"changes\"\n", "is of no use without a point"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if !strings.Contains(contactSheet, c.old) {
				t.Fatalf("the sheet does not hold %q", c.old)
			}
			if _, err := Parse("job.toml", []byte(strings.Replace(contactSheet, c.old, c.new, 1))); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error is\n%v\nwant\n%s", err, c.want)
			}
		})
	}
}
