package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
	"tundish/decode"
)

// contactHouse is a simulated case with its files and what truly happened, from which contacts are made.
type contactHouse struct {
	folder string
	truth  truthJSON
	plant  string // of its job sheet: all before the first source
}

func simulateFor(t *testing.T, name string, seed int) *contactHouse {
	t.Helper()
	h := &contactHouse{folder: filepath.Join(t.TempDir(), name)}
	var out, errs bytes.Buffer
	if code := run(t.Context(), []string{"simulate", name, "--seed", fmt.Sprint(seed), "--into", h.folder}, nil, &out, &errs); code != exitDone {
		t.Fatalf("simulate: %d %s", code, errs.String())
	}
	for file, take := range map[string]func([]byte) error{
		truthFile:     func(b []byte) error { return json.Unmarshal(b, &h.truth) },
		house.FileJob: func(b []byte) error { h.plant, _, _ = strings.Cut(string(b), "[[source]]"); return nil },
	} {
		text, err := os.ReadFile(filepath.Join(h.folder, file))
		if err == nil {
			err = take(text)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return h
}

func (h *contactHouse) path(name string) string { return filepath.Join(h.folder, name) }

func (h *contactHouse) write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(h.path(name), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// thin leaves lines of the bus out.
func (h *contactHouse) thin(t *testing.T, name string, keep func(at time.Time, frame string) bool) {
	t.Helper()
	in, err := os.Open(h.path(house.FileBus))
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	var b strings.Builder
	for lines := bufio.NewScanner(in); lines.Scan(); {
		stamp, frame, ok := strings.Cut(lines.Text(), " ")
		at, err := time.Parse(time.RFC3339Nano, stamp)
		if !ok || err != nil {
			continue
		}
		if keep(at, frame) {
			b.WriteString(lines.Text() + "\n")
		}
	}
	h.write(t, name, b.String())
}

// switched is a contact: its changes, in order.
type switched struct {
	at time.Time
	on bool
}

func switches(first time.Time, spans []spanJSON) []switched {
	out := []switched{{first, false}}
	for _, s := range spans {
		out = append(out, switched{s.From, true})
		if !s.Open {
			out = append(out, switched{s.To, false})
		}
	}
	return out
}

func (h *contactHouse) demands() []switched { return switches(h.truth.From, h.truth.Demands) }

func (h *contactHouse) flames() []switched {
	var spans []spanJSON
	for _, f := range h.truth.Firings {
		spans = append(spans, f.spanJSON)
	}
	return switches(h.truth.From, spans)
}

// chattering is a contact that changes eleven times in a second where it should once.
func chattering(all []switched) (out []switched) {
	for i, s := range all {
		out = append(out, s)
		for k := 1; i > 0 && k <= 10; k++ {
			out = append(out, switched{s.at.Add(time.Duration(k) * 100 * time.Millisecond), s.on == (k%2 == 0)})
		}
	}
	return out
}

// wordLines are the changes as timed lines.
func wordLines(all []switched, on, off string) string {
	var b strings.Builder
	for _, s := range all {
		word := off
		if s.on {
			word = on
		}
		fmt.Fprintf(&b, "%s %s\n", s.at.Format(time.RFC3339Nano), word)
	}
	return b.String()
}

// analyse imports files and analyses them; out is the text that people get.
func (h *contactHouse) analyse(t *testing.T, sources string, files ...string) (r *analyse.Result, out string) {
	t.Helper()
	n := 0
	for ; ; n++ {
		if _, err := os.Stat(h.path(fmt.Sprintf("%d.capture", n))); err != nil {
			break
		}
	}
	capture, job := h.path(fmt.Sprintf("%d.capture", n)), fmt.Sprintf("%d.toml", n)
	h.write(t, job, h.plant+sources)
	args := []string{"import", h.path(job), "-o", capture}
	for _, f := range files {
		source, file, _ := strings.Cut(f, "=")
		args = append(args, source+"="+h.path(file))
	}
	var text, errs bytes.Buffer
	if code := run(t.Context(), args, nil, &text, &errs); code != exitDone {
		t.Fatalf("import: %d %s", code, errs.String())
	}
	text.Reset()
	if code := run(t.Context(), []string{"analyse", capture, "--no-cache"}, nil, &text, &errs); code != exitDone {
		t.Fatalf("analyse: %d %s", code, errs.String())
	}
	c, err := openCapture(capture, "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	if r, _, err = c.analyse(t.Context()); err != nil {
		t.Fatal(err)
	}
	return r, strings.Join(strings.Fields(text.String()), " ")
}

func outcomeOf(t *testing.T, r *analyse.Result, kind string) analyse.Checked {
	t.Helper()
	i := slices.IndexFunc(r.Checked, func(c analyse.Checked) bool { return c.Kind == kind })
	if i < 0 {
		t.Fatalf("%s was not checked", kind)
	}
	return r.Checked[i]
}

const (
	busSource    = "[[source]]\nname = \"boiler\"\nkind = \"opentherm\"\n"
	probesSource = "[[source]]\nname = \"probes\"\nkind = \"readings\"\n"
	callSource   = `
[[source]]
name = "call"
kind = "mqtt"
[[source.topic]]
topic = "house/call"
point = "heat-demand"
on    = ["closed"]
off   = ["open"]
`
)

// withoutStatus is a bus whose status words do not come: no demand, no flame, no fault (data id 0).
func withoutStatus(_ time.Time, frame string) bool { return frame[2:4] != "00" }

// A bus that says nothing of demand and flame, a call by a contact behind a broker and a flame by a contact in another
// logger's table, both told when they change and not otherwise: demands and firings are the true ones, and the fault is
// found. Without the contacts it cannot be.
func TestDemandAndFlameByContact(t *testing.T) {
	h := simulateFor(t, "demand-not-met-contact-open", 3)
	h.thin(t, "thin.log", withoutStatus)
	h.write(t, "call.log", wordLines(h.demands(), "house/call closed", "house/call open"))
	table := "Time;Gas valve\n"
	for _, s := range h.flames() {
		table += fmt.Sprintf("%s;%s\n", s.at.Format(time.RFC3339), map[bool]string{true: "shut", false: "made"}[s.on]) // wired the other way round
	}
	h.write(t, "flame.csv", table)
	flame := `
[[source]]
name = "gas"
kind = "readings"
[source.table]
time = "Time"
[source.table.columns]
"Gas valve" = { point = "flame", on = ["made"], off = ["shut"], invert = true, reports = "changes" }
`
	r, _ := h.analyse(t, busSource+probesSource, "boiler=thin.log", "probes=probes.csv")
	if got := outcomeOf(t, r, "demand-not-met"); got.Outcome != analyse.NotAssessable || len(r.Facts.Demands) != 0 {
		t.Errorf("without contacts: %v, %s, %d demands", got.Outcome, got.Because, len(r.Facts.Demands))
	}
	byShape := len(r.Facts.Firings)
	r, out := h.analyse(t, busSource+probesSource+callSource+flame, "boiler=thin.log", "probes=probes.csv", "call=call.log", "gas=flame.csv")
	if got := outcomeOf(t, r, "demand-not-met"); got.Outcome != analyse.Found || !strings.Contains(out, "Heat was asked for and did not come") {
		t.Errorf("demand-not-met %v, %s; unmet %+v", got.Outcome, got.Because, r.Facts.Unmet)
	}
	if len(r.Facts.Demands) != len(h.truth.Demands) {
		t.Fatalf("%d demands, want %d: %+v", len(r.Facts.Demands), len(h.truth.Demands), r.Facts.Demands)
	}
	for i, d := range h.truth.Demands {
		got := r.Facts.Demands[i]
		if got.From.Sub(d.From).Abs() > time.Second || !d.Open && got.To.Sub(d.To).Abs() > time.Second {
			t.Errorf("demand %v to %v, want %v to %v", got.From, got.To, d.From, d.To)
		}
	}
	worst := time.Duration(0)
	if len(r.Facts.Firings) != len(h.truth.Firings) {
		t.Fatalf("%d firings, want %d", len(r.Facts.Firings), len(h.truth.Firings))
	}
	for i, f := range h.truth.Firings {
		got := r.Facts.Firings[i]
		worst = max(worst, got.From.Sub(f.From).Abs())
		if !got.Open { // the record ends
			worst = max(worst, got.To.Sub(f.To).Abs())
		}
		if got.Basis != episode.ByFlame {
			t.Errorf("firing %v is told by %s", got.From, got.Basis)
		}
	}
	if worst > time.Second {
		t.Errorf("a firing's time is %s wrong", worst)
	}
	for _, c := range r.Coverage {
		if c.OnChange && c.Share < 0.999 {
			t.Errorf("%s covers %.4f", c.Series, c.Share)
		}
	}
	t.Logf("%d firings by the contact (by shape %d), times within %s of the truth", len(r.Facts.Firings), byShape, worst)
}

// A contact on the appliance's live, as a bit of a register that is read every ten seconds: the silence of the bus is no
// mains. Wired the other way round it is not believed, and that is told.
func TestSupplyByRegister(t *testing.T) {
	h := simulateFor(t, "like-lockout-power-cut", 3)
	cut := h.truth.Silences[0]
	poll := func(name string) {
		var b strings.Builder
		for at := h.truth.From; at.Before(h.truth.To); at = at.Add(10 * time.Second) {
			word := 0x0108 // bit 3, and another that is nobody's
			if !at.Before(cut.From) && at.Before(cut.To) {
				word = 0x0100
			}
			fmt.Fprintf(&b, "%s holding 7-7 %04X\n", at.Format(time.RFC3339), word)
		}
		h.write(t, name, b.String())
	}
	poll("mains.log")
	source := func(invert bool) string {
		return busSource + fmt.Sprintf("[[source]]\nname = \"mains\"\nkind = \"modbus-tcp\"\nhost = \"192.0.2.7\"\nregisters = [ { point = \"supply\", table = \"holding\", address = 7, bit = 3, invert = %t } ]\n", invert)
	}
	r, out := h.analyse(t, source(false), "boiler="+house.FileBus, "mains=mains.log")
	got := outcomeOf(t, r, "bus-silence")
	if got.Outcome != analyse.Clear || len(r.Facts.Silences) != 1 || r.Facts.Silences[0].Reason != episode.SilenceNoMains || r.Facts.Silences[0].Because != "the appliance's supply was off" {
		t.Errorf("%v, %s: %+v", got.Outcome, got.Because, r.Facts.Silences)
	}
	if strings.Contains(out, "not believed") {
		t.Errorf("a contradiction is told: %s", out)
	}
	r, out = h.analyse(t, source(true), "boiler="+house.FileBus, "mains=mains.log")
	if !strings.Contains(out, "invert = true") || !strings.Contains(out, "that is not believed") {
		t.Errorf("the contradiction is not told: %s", out)
	}
	if s := r.Facts.Silences[0]; s.Because == "the appliance's supply was off" || strings.Contains(s.Because, "supply was on") {
		t.Errorf("believed: %+v", s)
	}
}

// showing writes what an indicator light shows all through a case: steady while the burner burns, two flashes after an
// attempt that failed, four in a lockout, else one.
func (h *contactHouse) showing(t *testing.T, name string) {
	t.Helper()
	l := &lamplog{t: h.truth.From}
	l.b.WriteString("time,light\n")
	in := func(s spanJSON) bool { return !l.t.Before(s.From) && (s.Open || l.t.Before(s.To)) }
	for l.t.Before(h.truth.To) {
		i := slices.IndexFunc(h.truth.Firings, func(f firingJSON) bool { return in(f.spanJSON) })
		switch {
		case slices.ContainsFunc(h.truth.Lockouts, func(x lockoutJSON) bool { return in(x.spanJSON) }):
			l.flash(4, time.Second)
		case i >= 0:
			l.show(true, h.truth.Firings[i].To.Sub(l.t))
			l.show(false, 2400*time.Millisecond)
		case slices.ContainsFunc(h.truth.Attempts, func(a attemptJSON) bool { return !l.t.Before(a.At) && l.t.Before(a.At.Add(15*time.Second)) }):
			l.flash(2, time.Second)
		default:
			l.flash(1, time.Second)
		}
	}
	h.write(t, name, l.b.String())
}

const lampSource = `
[light]
steady = { words = "burner on", means = "flame" }
1      = "ready"
2      = { words = "tries again to light", means = "retry" }
4      = { words = "no flame after all attempts", means = "lockout", cause = "ignition" }

[[source]]
name = "lamp"
kind = "readings"
`

// A boiler with nothing but a light, two probes on its pipes and a contact that tells the call: lockout, retries and a
// call that nothing answered are found, each in a case where it is, and not in the others.
func TestNothingButALightProbesAndACall(t *testing.T) {
	for _, c := range []struct{ name, kind string }{
		{"lockout-no-gas", "lockout"},
		{"ignition-retries-electrode", "ignition-retries"},
		{"demand-not-met-contact-open", "demand-not-met"},
		{"sound-terrace", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := simulateFor(t, c.name, 3)
			h.showing(t, "lamp.csv")
			h.write(t, "call.log", wordLines(chattering(h.demands()), "house/call closed", "house/call open"))
			r, _ := h.analyse(t, lampSource+probesSource+callSource, "lamp=lamp.csv", "probes=probes.csv", "call=call.log")
			for _, kind := range []string{"lockout", "ignition-retries", "demand-not-met"} {
				got := outcomeOf(t, r, kind)
				if found := got.Outcome == analyse.Found; found != (kind == c.kind) {
					t.Errorf("%s is %v: %s", kind, got.Outcome, got.Because)
				}
			}
			if n := len(r.Facts.Demands); n != len(h.truth.Demands) {
				t.Errorf("%d demands, want %d", n, len(h.truth.Demands))
			}
			if n := len(r.Facts.Lockouts); n != len(h.truth.Lockouts) {
				t.Errorf("%d lockouts, want %d", n, len(h.truth.Lockouts))
			}
			for i := range min(len(r.Facts.Lockouts), len(h.truth.Lockouts)) {
				got, want := r.Facts.Lockouts[i], h.truth.Lockouts[i]
				if got.From.Sub(want.From).Abs() > 15*time.Second || got.To.Sub(want.To).Abs() > 15*time.Second {
					t.Errorf("lockout %v to %v, want %v to %v", got.From, got.To, want.From, want.To)
				}
				called := slices.ContainsFunc(h.truth.Demands, func(d spanJSON) bool { return d.From.Before(want.From) && (d.Open || d.To.After(want.From)) })
				if p := got.Preceding; p.DemandSince.IsZero() == called { // else it was tried for hot water
					t.Errorf("called %t, and told of the call: %v", called, p.DemandSince)
				}
			}
			if !slices.ContainsFunc(r.Coverage, func(x analyse.Coverage) bool {
				return x.Series.Point == decode.HeatDemand && x.OnChange && x.Share > 0.999
			}) {
				t.Errorf("coverage %+v", r.Coverage)
			}
		})
	}
}
