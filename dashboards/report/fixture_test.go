package report

import (
	"bytes"
	"context"
	"math"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/decode"
	"tundish/decode/unit"
)

// The invented job "Mill Row 3": no real home, person or appliance. All readings come from formulas.

func londonZone(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatalf("time zone database: %v", err)
	}
	return zone
}

// mill makes the facts of a number of days and the readings that go with them.
type mill struct {
	from  time.Time
	days  int
	facts *episode.Facts
}

func newMill(from time.Time, days int) *mill {
	m := &mill{from: from, days: days, facts: &episode.Facts{From: from, To: from.AddDate(0, 0, days)}}
	for d := range days {
		for _, h := range [][2]int{{6, 9}, {16, 22}} {
			s := episode.Span{From: m.at(d, h[0], 0), To: m.at(d, h[1], 0)}
			m.facts.Demands = append(m.facts.Demands, episode.Demand{Span: s})
			for t := s.From; t.Before(s.To); t = t.Add(7*time.Minute + 30*time.Second) {
				if !m.locked(t) {
					f := episode.Firing{Span: episode.Span{From: t, To: t.Add(75 * time.Second)}, Use: episode.Heating}
					m.facts.Firings = append(m.facts.Firings, f)
				}
			}
		}
		draw := episode.Span{From: m.at(d, 11, 0), To: m.at(d, 11, 22)}
		m.facts.Draws = append(m.facts.Draws, episode.Draw{Span: draw})
		m.facts.Firings = append(m.facts.Firings, episode.Firing{Span: draw, Use: episode.HotWater, UseKnown: true})
	}
	for _, s := range m.lockouts() {
		m.facts.Lockouts = append(m.facts.Lockouts, episode.Lockout{Span: s, Locked: true, Cause: "ignition"})
	}
	m.facts.Silences = []episode.Silence{{Span: m.silence(), Source: "boiler", Reason: episode.SilenceUnexplained}}
	m.facts.Gaps = []episode.Span{m.gap()}
	return m
}

func (m *mill) at(day, hour, minute int) time.Time {
	return m.from.Add(time.Duration(day*24+hour)*time.Hour + time.Duration(minute)*time.Minute)
}

func (m *mill) lockouts() []episode.Span {
	return []episode.Span{
		{From: m.at(0, 16, 20), To: m.at(0, 18, 5)},
		{From: m.at(1, 6, 12).Add(40 * time.Second), To: m.at(1, 8, 40)},
	}
}
func (m *mill) silence() episode.Span { return episode.Span{From: m.at(1, 2, 0), To: m.at(1, 2, 40)} }
func (m *mill) gap() episode.Span     { return episode.Span{From: m.at(1, 12, 0), To: m.at(1, 13, 25)} }

func (m *mill) locked(t time.Time) bool {
	for _, s := range m.lockouts() {
		if s.Contains(t) {
			return true
		}
	}
	return false
}

// flow rises 22 K during a firing of 75 s and falls back with a time constant of 9 min towards a base that is warm
// while heat is asked for.
func (m *mill) flow(t time.Time) float64 {
	h := t.Sub(m.from).Hours()
	base := 22.0
	for _, d := range m.facts.Demands {
		if d.Contains(t) && !m.locked(t) {
			base = 45
		}
	}
	v := base + math.Sin(h*2)
	for _, f := range m.facts.Firings {
		since := t.Sub(f.From).Seconds()
		burn := f.Duration().Seconds()
		switch {
		case since < 0 || since > 3*3600:
		case since <= burn:
			v += 22 * since / burn
		default:
			v += 22 * math.Exp(-(since-burn)/540)
		}
	}
	return min(v, 84)
}

const millStep = 20 * time.Second

// scan gives all readings; the sources are silent where the facts say so.
func (m *mill) scan(ctx context.Context, from, to time.Time, emit func(decode.Reading) error) error {
	end := m.from.AddDate(0, 0, m.days)
	for t := m.from; t.Before(end); t = t.Add(millStep) {
		if m.gap().Contains(t) || !from.IsZero() && t.Before(from) || !to.IsZero() && t.After(to) {
			continue
		}
		flow := m.flow(t)
		values := []struct {
			s decode.Series
			v float64
		}{
			{decode.Series{Source: "probes", Point: decode.Flow}, flow},
			{decode.Series{Source: "probes", Point: decode.Return}, 20 + (flow-20)*0.72},
			{decode.Series{Source: "boiler", Point: decode.Flow}, flow + 1.2},
			{decode.Series{Source: "boiler", Point: decode.FlowSetpoint}, 65},
			{decode.Series{Source: "boiler", Point: decode.Pressure}, 1.1 + (flow-20)*0.006},
			{decode.Series{Source: "weather", Point: decode.Outside}, 3 + 4*math.Sin((t.Sub(m.from).Hours()-9)/24*2*math.Pi)},
		}
		for _, x := range values {
			if x.s.Source == "boiler" && m.silence().Contains(t) {
				continue
			}
			if x.s.Source == "weather" && t.Unix()%600 != 0 {
				continue
			}
			if err := emit(decode.Reading{Time: t, Series: x.s, Value: x.v, Quality: decode.Good}); err != nil {
				return err
			}
		}
	}
	return ctx.Err()
}

const millHead = "3fa9c0d17be24468a1f05d9c2e77b3140c5d6e8f90112233445566778899aabb"

// millRow is the whole input of the invented job.
func millRow(t testing.TB, days int) Input {
	t.Helper()
	m := newMill(time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC), days)
	in := Input{Zone: londonZone(t), Scan: m.scan, Program: "tundish 0.1.0", Result: millResult(m)}
	in.Job = Job{Name: "Mill Row 3", Engineer: "A. Sample", Firm: "Sample Heating", Client: "The tenants of number 3",
		Address: "3 Mill Row, Invented Town", Appliance: "wall-hung gas boiler, 24 kW", Consent: "tenant and landlord, in writing, 9 January 2026"}
	in.Plant = analyse.Plant{Kind: "boiler", Fuel: "natural-gas", Emitters: "radiators", OutputMax: analyse.Some(unit.KW(24)),
		OutputMin: analyse.Some(unit.KW(6)), DesignFlow: analyse.Some(unit.Celsius(70)), DesignReturn: analyse.Some(unit.Celsius(50)),
		Supply: analyse.PermanentLive, IgnitionAttempts: analyse.Some(5), HotWater: analyse.CylinderHotWater, DesignHeatLoss: analyse.Some(unit.KW(5.6))}
	in.Sources = []Source{
		{Name: "boiler", Kind: "opentherm", At: "room-unit terminals", Points: []string{"flow", "flow-setpoint", "pressure", "flame", "heat-demand", "fault"},
			Counts: []decode.Count{{Name: "frames", N: 1204331}, {Name: "parity errors", N: 17}, {Name: "requests without an answer", N: 4}}},
		{Name: "probes", Kind: "one-wire", At: "flow and return, 300 mm below the casing, copper, insulated", Points: []string{"flow", "return"},
			Counts: []decode.Count{{Name: "readings", N: 24480}, {Name: "checksum errors", N: 0}}},
		{Name: "weather", Kind: "mqtt", Points: []string{"outside"}},
	}
	in.Proof = Proof{File: "mill-row-3.capture", Blocks: 412, Records: 1236400, Tail: 212, Head: millHead, Intact: true}
	in.Clock = []string{"Network time at the start, within 0.1 s.", "13 Jan 2026 13:25:10: stepped forward by 2.4 s after the power cut."}
	in.Marks = []Mark{{At: m.at(0, 17, 50), Text: "tenant calls: no heating"}, {At: m.at(1, 8, 40)}}
	return in
}

func millResult(m *mill) *analyse.Result {
	locks := m.lockouts()
	end := m.from.AddDate(0, 0, m.days)
	r := &analyse.Result{Job: "Mill Row 3", From: m.from, To: end, Facts: m.facts}
	cover := func(source string, p decode.Point, share float64, n, doubtful uint64, every time.Duration, lo, hi float64) {
		r.Coverage = append(r.Coverage, analyse.Coverage{Series: decode.Series{Source: source, Point: p}, Share: share, Readings: n, Doubtful: doubtful, Interval: every, Min: lo, Max: hi})
	}
	cover("boiler", decode.Flow, 0.958, 12300, 3, millStep, 21.2, 84)
	cover("boiler", decode.FlowSetpoint, 0.958, 12300, 0, millStep, 65, 65)
	cover("boiler", decode.Pressure, 0.958, 12300, 0, millStep, 1.1, 1.49)
	cover("boiler", decode.Flame, 0.958, 12300, 0, millStep, 0, 1)
	cover("probes", decode.Flow, 0.98, 12430, 0, millStep, 21, 84)
	cover("probes", decode.Return, 0.98, 12430, 0, millStep, 20.7, 66.1)
	cover("weather", decode.Outside, 0.9999, 420, 0, 10*time.Minute, -1, 7)
	r.Findings = []analyse.Finding{
		{Kind: "lockout", Severity: analyse.Act, From: locks[0].From, To: locks[1].To, Cause: "ignition",
			Summary: "The boiler locked out twice because its burner did not light, and gave no heat for 4 h 12 min until somebody reset it.",
			Numbers: []analyse.Number{{Name: "lockouts", Value: 2, Label: "lockouts", Unit: "count"}, {Name: "without_heat_h", Value: 4.2, Label: "time without heat", Unit: "h"}},
			Evidence: []analyse.Evidence{
				{From: locks[0].From, To: locks[0].To, Cause: "ignition", Note: "five attempts without a flame, fault flag “ignition”, reset by hand",
					Before: []string{"16:00:00: heat asked for", "16:15:00 to 16:16:15: last firing that held", "16:17:05 to 16:19:50: five attempts to light, no flame seen in any", "Water pressure 1.25 bar, flow 46 °C, outside 2 °C", "16:20:00: fault"}},
				{From: locks[1].From, To: locks[1].To, Cause: "ignition", Note: "five attempts, flame seen for 1.2 s in one of them; reset by hand",
					Before: []string{"06:00:00: heat asked for", "06:07:30 to 06:08:45: last firing that held", "06:12:40: fault"}},
			},
			Causes: []analyse.Cause{
				{Cause: "ignition", Support: 0.8, Because: "no flame in nine of ten attempts; earlier firings held", Settle: "gas pressure at the appliance while another appliance is burning, measured by a registered person"},
				{Cause: "electrode or lead", Support: 0.35, Because: "one attempt gave a short flame", Settle: "look at electrode gap and lead"},
			}},
		{Kind: "short-cycling", Severity: analyse.Advise, From: m.at(0, 6, 0), To: m.at(m.days-1, 22, 0),
			Summary: "The burner lights about eight times an hour for a little over a minute each time while heat is asked for; that wastes gas and wears the boiler.",
			Numbers: []analyse.Number{{Name: "starts_per_hour_peak", Value: 8, Label: "most starts in an hour", Unit: "1/h"}, {Name: "burn_s_median", Value: 75, Label: "median burn", Unit: "s"}},
			Causes: []analyse.Cause{{Cause: "oversized", Support: 0.8, Because: "at least output (6 kW) the circuit takes about 1.2 kW", Settle: "heat loss of the house, room by room"},
				{Cause: "closed-valves", Support: 0.3, Because: "flow rises 18 K a minute at lighting", Settle: "open all valves and watch one hour"}}},
		{Kind: "bus-silence", Severity: analyse.Note, From: m.silence().From, To: m.silence().To,
			Summary:  "For 40 minutes no line came from the boiler's bus.",
			Evidence: []analyse.Evidence{{From: m.silence().From, To: m.silence().To, Note: "no line; the probes went on"}},
			Causes:   []analyse.Cause{{Cause: "adapter", Support: 0.5, Because: "silence ended by itself"}}},
	}
	for d := range m.days {
		for _, h := range [][2]int{{6, 9}, {16, 22}} {
			r.Findings[1].Evidence = append(r.Findings[1].Evidence, analyse.Evidence{From: m.at(d, h[0], 0), To: m.at(d, h[1], 0), Note: "eight starts an hour, median burn 75 s"})
		}
	}
	r.Checked, r.Criteria = millChecked(), millCriteria()
	return r
}

func millChecked() []analyse.Checked {
	return []analyse.Checked{
		{Kind: "short-cycling", Outcome: analyse.Found},
		{Kind: "low-delta-t", Outcome: analyse.Clear, Because: "settled difference 15.1 K, design 20 K"},
		{Kind: "high-delta-t", Outcome: analyse.Clear, Because: "settled difference 15.1 K, design 20 K"},
		{Kind: "oversized", Outcome: analyse.NotAssessable, Because: "the record has no day cold enough to extrapolate from"},
		{Kind: "lockout", Outcome: analyse.Found},
		{Kind: "ignition-retries", Outcome: analyse.Clear, Because: "no failed attempt before a firing that held"},
		{Kind: "pressure-loss", Outcome: analyse.NotAssessable, Because: "three days are too short to see pressure fall"},
		{Kind: "cylinder-too-cool", Outcome: analyse.NotAssessable, Because: "no cylinder temperature"},
		{Kind: "not-condensing", Outcome: analyse.Clear, Because: "92 % of the heat was made with the return below 54 °C"},
		{Kind: "bus-silence", Outcome: analyse.Found},
	}
}

func millCriteria() []analyse.Criterion {
	return []analyse.Criterion{
		{Kind: "short-cycling", Name: "a burn counts as short below", Value: 180, Unit: "s", Source: "common practice, no source"},
		{Kind: "short-cycling", Name: "starts in an hour, at least", Value: 6, Unit: "1/h", Source: "own proposal"},
		{Kind: "low-delta-t", Name: "settled difference below this share of design", Value: 0.5, Unit: "", Source: "own proposal"},
		{Kind: "not-condensing", Name: "dew point of natural gas flue gas", Value: 54, Unit: "°C", Source: "worked out for an excess-air ratio of 1.25"},
		{Kind: "bus-silence", Name: "silence, at least", Value: 10, Unit: "min", Source: ""},
	}
}

func pdfOf(t testing.TB, in Input) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WritePDF(context.Background(), in, &b); err != nil {
		t.Fatalf("WritePDF: %v", err)
	}
	return b.Bytes()
}

func htmlOf(t testing.TB, in Input) string {
	t.Helper()
	var b bytes.Buffer
	if err := WriteHTML(context.Background(), in, &b); err != nil {
		t.Fatalf("WriteHTML: %v", err)
	}
	return b.String()
}
