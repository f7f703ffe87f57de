package capfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// RunKind says how a run's records came into the capture.
type RunKind string

// The kinds of run.
const (
	// Record is a run of the logger on a system. Such runs follow each other in time.
	Record RunKind = "record"
	// Import is one imported file. Such runs may overlap.
	Import RunKind = "import"
	// Simulated is a run on the simulated house.
	Simulated RunKind = "simulated"
	// Note is a mark that was made when no logger ran: a run without records that begins at the mark. Such runs lie
	// anywhere in time.
	Note RunKind = "note"
)

func (k RunKind) valid() bool { return slices.Contains([]RunKind{Record, Import, Simulated, Note}, k) }

// RunInfo says what is known when a run starts.
type RunInfo struct {
	Kind RunKind
	// Program names the program and its version.
	Program string
	// Started is the wall clock at the run's monotonic zero, right or wrong; it is used only where the run has no
	// observation.
	Started time.Time
	// Sources are the names of the sources that the run listens to.
	Sources []string
}

// Observation is one look at the wall clock.
type Observation struct {
	// At is the run's monotonic time of the look.
	At time.Duration
	// Wall is what the wall clock said.
	Wall time.Time
	// Synced says that the wall clock was then synchronised with a time server, or is right by other means.
	Synced bool
	// Slept is how long the machine was suspended since the run's zero, while the monotonic clock stood still; 0 too
	// where the system does not tell.
	Slept time.Duration
}

// Kinds of journal entry.
const (
	entrySheet    = "sheet"
	entryRunStart = "run-start"
	entryRunEnd   = "run-end"
	entryClock    = "clock"
	entryMark     = "mark"
	entryLoss     = "loss"
)

// entry is one journal line. Unknown kinds are passed over on reading.
type entry struct {
	Kind    string   `json:"kind"`
	Run     uint32   `json:"run,omitempty"`
	RunKind RunKind  `json:"run_kind,omitempty"`
	Program string   `json:"program,omitempty"`
	Started string   `json:"started,omitempty"` // RFC 3339, UTC
	Sources []string `json:"sources,omitempty"`
	AtUS    int64    `json:"at_us,omitempty"`
	Wall    string   `json:"wall,omitempty"` // RFC 3339, UTC
	Synced  bool     `json:"synced,omitempty"`
	SleptUS int64    `json:"slept_us,omitempty"`
	Name    string   `json:"name,omitempty"`
	Text    string   `json:"text,omitempty"`
	Bytes   []byte   `json:"base64,omitempty"` // a sheet that is no UTF-8; a damaged tail row
}

// line is the entry as it stands in the file, with its line end. Text that is no UTF-8 gets U+FFFD in the wrong
// places.
func (e entry) line() ([]byte, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	err := enc.Encode(e)
	return buf.Bytes(), err
}

func parseEntry(line []byte) (entry, error) {
	var e entry
	if err := json.Unmarshal(line, &e); err != nil {
		return e, fmt.Errorf("journal line: %w", err)
	}
	if e.AtUS < 0 || e.AtUS > maxMicros {
		return e, fmt.Errorf("journal line: time in run %d µs out of range", e.AtUS)
	}
	if e.SleptUS < 0 || e.SleptUS > maxMicros-e.AtUS {
		return e, fmt.Errorf("journal line: %d µs of suspension out of range", e.SleptUS)
	}
	return e, nil
}

// Wall times outside these years would not fit into the arithmetic of clock.go.
const (
	firstYear = 1970
	lastYear  = 2150
)

func wallText(t time.Time) (string, error) {
	if y := t.UTC().Year(); y < firstYear || y > lastYear {
		return "", fmt.Errorf("wall clock %v: must be from %d to %d", t, firstYear, lastYear)
	}
	return t.UTC().Format(time.RFC3339Nano), nil
}

func parseWall(s string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err == nil {
		_, err = wallText(t)
	}
	return t.UTC(), err
}

func checkSource(name string) error {
	switch {
	case name == "":
		return errors.New("record without a source")
	case len(name) > MaxSource:
		return fmt.Errorf("source name of %d bytes, at most %d are kept: %w", len(name), MaxSource, ErrTooLarge)
	case !utf8.ValidString(name) || strings.ContainsRune(name, 0):
		return fmt.Errorf("source name %q: must be UTF-8 without NUL", name)
	}
	return nil
}

func checkText(what, text string) error {
	if len(text) > MaxText {
		return fmt.Errorf("%s of %d bytes, at most %d are kept: %w", what, len(text), MaxText, ErrTooLarge)
	}
	return nil
}

func startEntry(run uint32, info RunInfo) (entry, error) {
	if !info.Kind.valid() {
		return entry{}, fmt.Errorf("run kind %q: must be %s, %s, %s or %s", info.Kind, Record, Import, Simulated, Note)
	}
	for _, s := range info.Sources {
		if err := checkSource(s); err != nil {
			return entry{}, err
		}
	}
	started, err := wallText(info.Started)
	if err == nil {
		err = checkText("program name", info.Program)
	}
	return entry{Kind: entryRunStart, Run: run, RunKind: info.Kind, Program: info.Program, Started: started,
		Sources: info.Sources}, err
}

func sheetEntry(run uint32, name string, text []byte) (entry, error) {
	e := entry{Kind: entrySheet, Run: run, Name: name}
	if len(text) > MaxPayload {
		return e, fmt.Errorf("job sheet of %d bytes, at most %d are kept: %w", len(text), MaxPayload, ErrTooLarge)
	}
	if utf8.Valid(text) {
		e.Text = string(text)
	} else {
		e.Bytes = text
	}
	return e, checkText("job sheet name", name)
}

func observationEntry(run uint32, o Observation) (entry, error) {
	wall, err := wallText(o.Wall)
	if err == nil {
		err = checkAt(o.At)
	}
	if err == nil {
		err = checkAt(o.Slept)
	}
	if err == nil {
		err = checkAt(o.At + o.Slept)
	}
	return entry{Kind: entryClock, Run: run, AtUS: micros(o.At), Wall: wall, Synced: o.Synced, SleptUS: micros(o.Slept)}, err
}
