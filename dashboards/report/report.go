// Package report writes the evidence report of one job: as PDF, and as one HTML file that needs neither network nor
// script. Both come from one content (see compose) and from the same chart code, so they cannot say different things.
//
// The same [Input] gives the same bytes: no clock is asked, no map is walked, and the dates inside the PDF are those
// of the record.
//
// Text in the PDF is set in Source Sans 3 (SIL Open Font License 1.1, text in fonts/OFL.txt). A character that the
// typeface does not have is printed as a replacement mark, and the report says so.
package report

import (
	"context"
	"strings"
	"time"

	"tundish/analyse"
	"tundish/decode"
	"tundish/decode/unit"
)

// Input is all that a report is made from. Every field but Result may be left empty; what is empty is left out, or
// said to be not known where its absence matters.
type Input struct {
	Result  *analyse.Result
	Plant   analyse.Plant
	Zone    *time.Location // of all printed times; nil: UTC
	Job     Job
	Sources []Source
	Proof   Proof
	Clock   []string // how well the clock is known, and its steps with their times: a line each
	Marks   []Mark
	Damaged []string // places of the capture that could not be read: a line each, with the time where it is known
	Amended string   // not empty: what of the job sheet was amended after recording
	Program string   // program and version
	Suit    *Suit    // whether plant and house suit each other; nil: nothing is known of it
	// Scan reads the capture again and gives its readings in the order of time. Zero times mean from the start and
	// to the end. It returns emit's error unchanged. Nil: the charts show what happened, without temperatures.
	Scan func(ctx context.Context, from, to time.Time, emit func(decode.Reading) error) error
}

// Job is what the job sheet says for people. Any field may be empty.
type Job struct {
	Name      string
	Engineer  string
	Firm      string
	Client    string
	Address   string
	Appliance string
	Serial    string
	Consent   string // who agreed to the recording
	Notes     string
}

// Source is one source of the record.
type Source struct {
	Name   string
	Kind   string         // "opentherm", "one-wire"
	At     string         // where it was fitted
	Points []string       // what it gave: "flow", "return"
	Counts []decode.Count // what its decoder counted
	Port   string         // how it was connected: "/dev/serial/by-id/usb-adapter, 9600 baud"; may be empty
	Probes []Probe        // the single sensors of the source, where they are known
}

// Probe is one sensor that can be told from all others.
type Probe struct {
	ID     string      // its serial number: "28-0000a71c01f4"; empty: none is known
	Point  string      // what it measured: "flow"
	Offset unit.Kelvin // added to what it said; 0: nothing
	Paired string      // what its comparison with another in the same water left; empty: none is known
}

// Proof is what the seal chain of the capture file says.
type Proof struct {
	File      string // name, without a path
	Blocks    uint64 // sealed blocks
	Records   uint64 // records in them and in the tail
	Tail      uint64 // records at the end that no seal covers yet
	Head      string // hash of the last block, hexadecimal
	Intact    bool   // every block was checked and fits the chain
	Problem   string // what is wrong, where it is not intact
	Recording bool   // the capture was still being written
}

// Mark is a moment that a person marked while recording. Text may be empty.
type Mark struct {
	At   time.Time
	Text string
}

// headDigits is how much of the chain head stands in the foot of each page: enough to tell two captures apart at a
// glance (48 bits), short enough to compare by eye.
const headDigits = 12

// shortHead gives the first digits of the chain head, or "" where there is none.
func (p Proof) shortHead() string {
	head := p.knownHead()
	return head[:min(len(head), headDigits)]
}

// knownHead is the chain head, "" where checking did not come to its end: then it is empty or all zeros.
func (p Proof) knownHead() string {
	if strings.Trim(p.Head, "0") == "" {
		return ""
	}
	return p.Head
}

// zone is the zone of all printed times.
func (in Input) zone() *time.Location {
	if in.Zone == nil {
		return time.UTC
	}
	return in.Zone
}
