package scoring

import (
	"os"
	"runtime"
	"strings"
	"testing"
	"time"
)

// statedError is the table that the repository holds.
const statedError = "../../../analyse/episode/ERRORS.md"

// The table in the repository is the one that the command makes: its head, and one of its rows made again.
func TestStatedErrorIsCurrent(t *testing.T) {
	t.Parallel()
	kept, err := os.ReadFile(statedError)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"* Made by: `tundish score episodes --seeds 9001-9003 --days 2`\n", "* Seeds: 9001, 9002, 9003. "} {
		if !strings.Contains(string(kept), want) {
			t.Errorf("%s does not say %q", statedError, want)
		}
	}
	for _, p := range Plants() {
		if !strings.Contains(string(kept), "* **"+p.Name+"**: "+p.Doc+".\n") {
			t.Errorf("%s does not tell of the plant %q as it is now", statedError, p.Name)
		}
	}
	if runtime.GOARCH != "amd64" {
		t.Skip("the table is made on amd64: fused multiply-add rounds otherwise")
	}
	plant := named(t, "underfloor")
	table, err := makeOf(t.Context(), Config{Plants: []Plant{plant}, Seeds: []uint64{9001, 9002, 9003}, Days: 2}, []Listening{usualProbes})
	if err != nil {
		t.Fatal(err)
	}
	var rows strings.Builder
	table.detailRow(&rows, plant, usualProbes)
	if !strings.Contains(string(kept), rows.String()) {
		t.Errorf("%s is not what is measured now:\n%smake it again: tundish score episodes -o analyse/episode/ERRORS.md", statedError, &rows)
	}
}

func named(t *testing.T, name string) Plant {
	t.Helper()
	for _, p := range Plants() {
		if p.Name == name {
			return p
		}
	}
	t.Fatalf("no plant %q", name)
	return Plant{}
}

// Every cell of every table is filled, whatever the facts lack.
func TestMarkdownIsWhole(t *testing.T) {
	t.Parallel()
	plant := named(t, "heat pump")
	table, err := makeOf(t.Context(), Config{Plants: []Plant{plant}, Seeds: []uint64{1}, Days: 1}, []Listening{usualBus, usualProbes})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range listenings() { // the shape is what is looked at, not the figures
		from := usualBus
		if !l.Bus() {
			from = usualProbes
		}
		table.scores[key{plant.Name, l}] = table.score(plant, from)
	}
	text := table.Markdown("`x`")
	cells := 0
	for line := range strings.Lines(text) {
		if !strings.HasPrefix(line, "|") {
			cells = 0
			continue
		}
		if n := strings.Count(line, "|"); cells == 0 {
			cells = n
		} else if n != cells {
			t.Errorf("%d cells where the head has %d: %s", n-1, cells-1, line)
		}
		if strings.Contains(line, "NaN") || strings.Contains(line, "%!") || strings.Contains(line, "|  |") {
			t.Errorf("a cell is not filled: %s", line)
		}
	}
	if strings.Contains(text, "%!") {
		t.Error("the text has a hole")
	}
}

// What is simulated and how it is listened to are two things: the probes' lag does not move the house.
func TestListeningMovesNothing(t *testing.T) {
	t.Parallel()
	s := named(t, "heat pump").Scenario
	s.Days = 1
	a, errA := Listen(t.Context(), s, 3, Listening{Sweep: time.Second, Tau: 10 * time.Second})
	b, errB := Listen(t.Context(), s, 3, Listening{Status: 10 * time.Second})
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	if len(a.Truth.Firings) == 0 || len(a.Truth.Firings) != len(b.Truth.Firings) {
		t.Fatalf("%d and %d firings", len(a.Truth.Firings), len(b.Truth.Firings))
	}
	for i, f := range a.Truth.Firings {
		if f != b.Truth.Firings[i] {
			t.Errorf("firing %d is %+v by probes and %+v by the bus", i, f, b.Truth.Firings[i])
		}
	}
	if len(a.Facts.Listened) != 0 || len(b.Facts.Listened) != 1 {
		t.Errorf("listened to %q and %q", a.Facts.Listened, b.Facts.Listened)
	}
}
