package main

import (
	"path/filepath"
	"slices"
	"testing"
	"time"

	"tundish/analyse"
	"tundish/analyse/episode"
	"tundish/cmd/tundish/house"
)

// judged is what must come out of each simulated house, by its cause: what was done to it, not what the analysis is
// known to say of it.
var judged = map[string]struct {
	found  []string // kinds that must be found
	absent []string // kinds that must not be found
	cause  string   // of the first kind found
}{
	"cold-mornings":  {[]string{"lockout", "short-cycling"}, []string{"low-delta-t", "high-delta-t", "bus-silence"}, "ignition"},
	"sound":          {nil, []string{"lockout", "short-cycling", "low-delta-t", "high-delta-t", "bus-silence"}, ""},
	"low-flow":       {[]string{"high-delta-t"}, []string{"lockout", "low-delta-t", "bus-silence"}, ""},
	"fast-pump":      {[]string{"low-delta-t"}, []string{"lockout", "high-delta-t", "bus-silence"}, ""},
	"silent-adapter": {[]string{"bus-silence"}, []string{"lockout", "low-delta-t", "high-delta-t"}, ""},
	"switched-live":  {nil, []string{"lockout", "bus-silence", "low-delta-t", "high-delta-t"}, ""},
	"retries":        {nil, []string{"lockout", "bus-silence"}, ""},
	"flame-loss":     {nil, []string{"bus-silence"}, ""},
	"noisy-line":     {nil, []string{"lockout", "bus-silence", "low-delta-t", "high-delta-t"}, ""},
}

// judgedDays is how much of a scenario is needed to see what it is there for, where that is less than all of it.
var judgedDays = map[string]int{"sound": 1, "low-flow": 1, "fast-pump": 1, "silent-adapter": 2, "switched-live": 1, "retries": 1, "noisy-line": 1}

func TestScenarios(t *testing.T) {
	for _, scenario := range house.Scenarios() {
		if _, known := judged[scenario.Name]; !known {
			t.Errorf("scenario %q is judged by nothing here", scenario.Name)
		}
		if days := judgedDays[scenario.Name]; days > 0 {
			scenario.Days = days
		}
		t.Run(scenario.Name, func(t *testing.T) {
			t.Parallel()
			judge(t, scenario, 1)
		})
	}
	t.Run("another winter", func(t *testing.T) { // of the house that everybody sees
		t.Parallel()
		scenario, _ := house.Find(demoScenario)
		scenario.Days = 2
		judge(t, scenario, 2)
	})
}

// judge runs a scenario and holds the analysis to what was done to the house.
func judge(t *testing.T, scenario house.Scenario, seed uint64) {
	path := filepath.Join(t.TempDir(), "job.capture")
	truth, err := simulate(t.Context(), path, scenario, seed, nil)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer kept.close()
	r, _, err := kept.analyse(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	want := judged[scenario.Name]
	findsWhatIsThere(t, r, want.found, want.absent)
	if want.cause != "" && (len(r.Findings) == 0 || r.Findings[0].Cause != want.cause) {
		t.Errorf("findings are %+v, want the cause %q first", r.Findings, want.cause)
	}
	factsMatch(t, scenario.Start, truth, r.Facts)
}

func findsWhatIsThere(t *testing.T, r *analyse.Result, found, absent []string) {
	t.Helper()
	for _, c := range r.Checked {
		if slices.Contains(found, c.Kind) && c.Outcome != analyse.Found {
			t.Errorf("%s is %v: %s", c.Kind, c.Outcome, c.Because)
		}
		if slices.Contains(absent, c.Kind) && c.Outcome == analyse.Found {
			t.Errorf("%s is found: %s", c.Kind, c.Because)
		}
	}
}

// pollSlack is how late an event may be seen: the status is asked for every second conversation, and a reply may be
// lost.
const pollSlack = 8 * time.Second

// factsMatch holds the episodes against what truly happened.
func factsMatch(t *testing.T, start time.Time, truth house.Truth, facts *episode.Facts) {
	t.Helper()
	silent := func(from, to time.Duration) bool {
		for _, s := range truth.Silences {
			if from < s.To+time.Minute && to > s.From-time.Minute {
				return true
			}
		}
		return false
	}
	matched, there := 0, 0
	for _, f := range truth.Firings {
		if silent(f.From, f.To) || f.Duration() < 12*time.Second || f.To+time.Minute > truth.Ended {
			continue
		}
		there++
		if slices.ContainsFunc(facts.Firings, func(g episode.Firing) bool {
			return near(g.From, start.Add(f.From)) && near(g.To, start.Add(f.To)) && g.Use == f.Use
		}) {
			matched++
		} else {
			t.Logf("no firing for %v–%v, %s", start.Add(f.From), start.Add(f.To), f.Use)
		}
	}
	if matched < there*99/100 {
		t.Errorf("%d of %d firings were found, within %v", matched, there, pollSlack)
	}
	whole := 0
	for _, g := range facts.Firings {
		if !g.Cut && !g.Open {
			whole++
		}
	}
	if whole > len(truth.Firings) {
		t.Errorf("%d whole firings were found, %d happened", whole, len(truth.Firings))
	}
	for _, l := range truth.Lockouts {
		if !slices.ContainsFunc(facts.Lockouts, func(g episode.Lockout) bool {
			return g.Locked && near(g.From, start.Add(l.From)) && g.Cause == l.Cause && (l.Open || near(g.To, start.Add(l.To)) && g.Reset == l.Reset)
		}) {
			t.Errorf("no lockout for %+v in %+v", l, facts.Lockouts)
		}
	}
	if len(facts.Lockouts) != len(truth.Lockouts) {
		t.Errorf("%d lockouts were found, %d happened", len(facts.Lockouts), len(truth.Lockouts))
	}
}

func near(a, b time.Time) bool { return a.Sub(b).Abs() <= pollSlack }
