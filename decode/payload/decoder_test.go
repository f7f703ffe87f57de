package payload_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/decodetest"
	"tundish/decode/payload"
	"tundish/decode/unit"
)

var noon = time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)

func path(t testing.TB, text string) payload.Path {
	p, err := payload.ParsePath(text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func between(t testing.TB, from, to string) unit.Scale {
	s, err := unit.Between(from, to)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// config has a value of every sort.
func config(t testing.TB) payload.Config {
	at, ms := path(t, "at"), path(t, "ms")
	return payload.Config{Source: "broker", Values: []payload.Value{
		{Topic: "boiler/flow", Point: decode.Flow},
		{Topic: "boiler/return", Point: decode.Return, To: between(t, "°F", "°C")},
		{Topic: "boiler/demand", Point: decode.HeatDemand},
		{Topic: "boiler/pump", Point: decode.Pump, On: []string{"closed"}, Off: []string{"open"}},
		{Topic: "boiler/all", Path: path(t, "t.room"), Point: decode.Room, Time: &at},
		{Topic: "boiler/all", Path: path(t, "p[1]"), Point: decode.Pressure, Scale: 0.1, Offset: -0.5, To: between(t, "psi", "bar"), Time: &at},
		{Topic: "meter", Path: path(t, "power"), Point: decode.HeatPower, To: between(t, "W", "kW"), Time: &ms, TimeUnit: payload.Millis},
	}}
}

func newDecoder(t testing.TB) *payload.Decoder {
	d, err := payload.New(config(t))
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// messages makes records of channels and payloads, one a second from noon.
func messages(list ...string) (out []capture.Record) {
	for i := 0; i+1 < len(list); i += 2 {
		out = append(out, capture.Record{Seq: uint64(i/2 + 1), Time: noon.Add(time.Duration(i/2) * time.Second), Source: "broker",
			Channel: list[i], Payload: []byte(list[i+1])})
	}
	return out
}

func TestDecoder(t *testing.T) {
	decodetest.TestDecoder(t, func() decode.Decoder { return newDecoder(t) }, messages(
		"boiler/flow", "61.5", "boiler/return", "118.4\r\n", "boiler/demand", "ON", "boiler/pump", "Closed",
		"boiler/all", `{"t": {"room": "20.5"}, "p": [0, 300]}`, "meter", `{"power": 5600}`, "boiler/other", "1",
		"boiler/flow#retained", "62", "", "boiler/flow 62.5\r\n", "boiler/demand", "false"))
}

// said decodes records into lines.
func said(d *payload.Decoder, records []capture.Record) (out []string) {
	for _, rec := range records {
		if err := d.Decode(rec, func(r decode.Reading) {
			line := fmt.Sprintf("%s %s=%.6g", r.Time.Format("15:04:05.000"), r.Series.Point, r.Value)
			if r.Why != "" {
				line += " " + r.Why
			}
			out = append(out, line)
		}); err != nil {
			out = append(out, "error: "+err.Error())
		}
	}
	return out
}

// Expected values: 118.4 °F = 48 °C; 29.5 psi = 2.033954 bar (NIST SP 811: 1 psi = 6894.757 Pa).
func TestValues(t *testing.T) {
	for _, c := range []struct{ name, channel, payload, want string }{
		{"number", "boiler/flow", " 61.5\n", "12:00:00.000 flow=61.5"},
		{"minus nought", "boiler/flow", "-0", "12:00:00.000 flow=0"},
		{"number in quotes", "boiler/flow", `"61.5"`, "12:00:00.000 flow=61.5"},
		{"unit", "boiler/return", "118.4", "12:00:00.000 return=48"},
		{"on", "boiler/demand", "on", "12:00:00.000 heat-demand=1"},
		{"true", "boiler/demand", "True", "12:00:00.000 heat-demand=1"},
		{"off", "boiler/demand", "OFF", "12:00:00.000 heat-demand=0"},
		{"nought", "boiler/demand", "0.0", "12:00:00.000 heat-demand=0"},
		{"own words", "boiler/pump", "open", "12:00:00.000 pump=0"},
		{"two of one message", "boiler/all", `{"p": [1, 300], "t": {"room": 20}, "at": "2026-01-12T11:59:58.5Z"}`,
			"11:59:58.500 room=20|11:59:58.500 pressure=2.03395"},
		{"one left out", "boiler/all", `{"t": {"room": 20}, "at": "2026-01-12t12:59:00+01:00"}`, "11:59:00.000 room=20"},
		{"milliseconds", "meter", `{"power": 5600, "ms": 1768219199250}`, "11:59:59.250 heat-power=5.6"},
		{"sender a second ahead", "meter", `{"power": 5600, "ms": 1768219201000}`, "12:00:00.000 heat-power=5.6"},
		{"sender ahead", "meter", `{"power": 5600, "ms": 1768219260000}`, "12:00:00.000 heat-power=5.6 the sender's clock is ahead of the logger's"},
		{"no time", "meter", `{"power": 5600}`, "12:00:00.000 heat-power=5.6 the sender's time is missing or cannot be read"},
		{"time of 1970", "meter", `{"power": 5600, "ms": 1000}`, "12:00:00.000 heat-power=5.6 the sender's time is missing or cannot be read"},
		{"a line of a file", "", "boiler/flow \t61.5\r\n", "12:00:00.000 flow=61.5"},
		{"a retained line of a file", "", "boiler/flow#retained 61.5\r\n", ""},
		{"retained", "boiler/flow#retained", "61.5", ""},
		{"retained and dated", "meter#retained", `{"power": 5600, "ms": 1768132800000}`, "12:00:00.000 heat-power=5.6"},
		{"waited, who knows for how long", "boiler/flow#waited", "61.5", ""},
		{"no point", "boiler/other", "61.5", ""},
		{"another mark", "boiler/flow#else", "61.5", ""},
		{"empty", "boiler/flow", " ", ""},
		{"not a number", "boiler/flow", "NaN", `error: byte 0: flow of boiler/flow: "NaN": a value is a plain decimal number, or a word that the job sheet knows`},
		{"hexadecimal", "boiler/flow", "0x10", `error: byte 0: flow of boiler/flow: "0x10": a value is a plain decimal number, or a word that the job sheet knows`},
		{"infinite", "boiler/flow", "1e999", `error: byte 0: flow of boiler/flow: "1e999": a value is a plain decimal number, or a word that the job sheet knows`},
		{"impossible", "boiler/flow", "850", `error: byte 0: flow of boiler/flow: flow "850": the point cannot have this value`},
		{"a contact or a valve?", "boiler/demand", "closed", `error: byte 0: heat-demand of boiler/demand: "closed": the word is not one of those for on and off; on = […] and off = […] of the topic name others`},
		{"a word of others", "boiler/pump", "on", `error: byte 0: pump of boiler/pump: "on": the word is not one of those for on and off; on = […] and off = […] of the topic name others`},
		{"an object", "meter", `{"power": {}}`, "error: byte 0: heat-power of meter power: a value is a plain decimal number, or a word that the job sheet knows"},
		{"null", "meter", `{"power": null}`, "error: byte 0: heat-power of meter power: a value is a plain decimal number, or a word that the job sheet knows"},
		{"cut", "meter", `{"power": 56`, "error: byte 12: heat-power of meter power: the message is no sound JSON"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := strings.Join(said(newDecoder(t), messages(c.channel, c.payload)), "|"); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// TestWaited: after a short outage what waited is doubtful, after a long one it says nothing; a message that is sent
// again says nothing where its equal came.
func TestWaited(t *testing.T) {
	records := messages("boiler/flow", "60", "", "", "", "", "boiler/flow#resent", "60", "boiler/flow#waited", "61", "boiler/flow#resent", "62",
		"boiler/flow", "63", "", "", "boiler/flow#waited", "64", "boiler/flow#waited", "65", "boiler/flow", "66")
	for i, note := range map[int]string{1: "lost: refused", 2: "lost: unreachable", 7: "lost: refused"} {
		records[i].Note = note
	}
	for i := range records {
		if i > 7 {
			records[i].Time = records[i].Time.Add(payload.WaitedMost)
		}
	}
	d := newDecoder(t)
	want := []string{"12:00:00.000 flow=60", "12:00:04.000 flow=61 waited at the broker for up to a minute",
		"12:00:05.000 flow=62 waited at the broker for up to a minute", "12:00:06.000 flow=63", "12:01:10.000 flow=66"}
	if diff := cmp.Diff(want, said(d, records)); diff != "" {
		t.Error(diff)
	}
	got := map[string]uint64{}
	for _, c := range d.Tally() {
		if c.N > 0 {
			got[c.Name] = c.N
		}
	}
	if diff := cmp.Diff(map[string]uint64{"messages": 8, "readings": 5, "doubtful readings": 2, "messages sent again that had come already": 1,
		"values of unknown age: they waited at the broker": 2, "notes passed over": 3}, got); diff != "" {
		t.Error(diff)
	}
}

func TestNothingIsAllocated(t *testing.T) {
	d := newDecoder(t)
	records := messages("boiler/flow", "61.5", "boiler/demand", "ON", "meter", `{"power": 5600, "ms": 1768219199250}`,
		"boiler/all", `{"p": [1, 300], "t": {"room": 20}, "at": "2026-01-12T11:59:58.5Z"}`)
	emit := func(decode.Reading) {}
	if n := testing.AllocsPerRun(100, func() {
		for _, rec := range records {
			if err := d.Decode(rec, emit); err != nil {
				t.Fatal(err)
			}
		}
	}); n > 0 {
		t.Errorf("%v allocations", n)
	}
}

func TestNew(t *testing.T) {
	for name, values := range map[string][]payload.Value{
		"wildcard":  {{Topic: "boiler/+", Point: decode.Flow}},
		"hash":      {{Topic: "boiler/#", Point: decode.Flow}},
		"no topic":  {{Point: decode.Flow}},
		"no point":  {{Topic: "a"}},
		"two a one": {{Topic: "a", Point: decode.Flow}, {Topic: "b", Point: decode.Flow}},
	} {
		if _, err := payload.New(payload.Config{Source: "broker", Values: values}); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	if _, err := payload.New(payload.Config{}); err == nil {
		t.Error("a source without a name is taken")
	}
}

func FuzzDecode(f *testing.F) {
	for _, s := range []string{"61.5", "ON", `{"t": {"room": 20.5}, "p": [0, 300], "at": "2026-01-12T11:59:58Z"}`, `{"power": 1e400, "ms": -1}`,
		"NaN", "boiler/flow 61.5\r\n", "\xff", "", `"`, `""`, `"a`, "[[[[", "1e-400"} {
		for i := range 8 {
			f.Add(s, uint8(i))
		}
	}
	channels := []string{"boiler/flow", "boiler/return#waited", "boiler/demand", "boiler/pump#resent", "boiler/all", "meter", "meter#retained", ""}
	d := newDecoder(f)
	f.Fuzz(func(t *testing.T, text string, channel uint8) {
		rec := messages(channels[int(channel)%len(channels)], text)[0]
		_ = d.Decode(rec, func(r decode.Reading) {
			if err := decodetest.Check(r); err != nil || math.IsInf(r.Value, 0) || r.Time.After(rec.Time) || r.Time.Year() < 2000 {
				t.Fatalf("%v: %+v", err, r)
			}
		})
	})
}

func Example() {
	flow, _ := payload.ParsePath("t.flow")
	d, err := payload.New(payload.Config{Source: "broker", Values: []payload.Value{{Topic: "house/boiler", Path: flow, Point: decode.Flow}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	rec := capture.Record{Seq: 1, Time: time.Date(2026, 1, 12, 6, 30, 0, 0, time.UTC), Channel: "house/boiler", Payload: []byte(`{"t": {"flow": 61.5}}`)}
	err = d.Decode(rec, func(r decode.Reading) { fmt.Println(r.Series, r.Value, r.Series.Point.Unit(), r.Quality) })
	fmt.Println(err)
	// Output:
	// broker/flow 61.5 °C good
	// <nil>
}
