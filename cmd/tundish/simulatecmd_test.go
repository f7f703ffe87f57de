package main

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// foundLockouts holds the lockouts of a truth file against the episodes of an analysis: found TOLD.json TRUTH.json. The
// analysis may be late by what polling allows.
func foundLockouts(ts *testscript.TestScript, neg bool, args []string) {
	var told struct {
		Episodes []struct {
			Kind, Cause string
			From, To    time.Time
		}
	}
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &told))
	var truth truthJSON
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[1])), &truth))
	if len(truth.Lockouts) == 0 {
		ts.Fatalf("%s has no lockout", args[1])
	}
	for _, l := range truth.Lockouts {
		if !slices.ContainsFunc(told.Episodes, func(e struct {
			Kind, Cause string
			From, To    time.Time
		}) bool {
			return e.Kind == "lockout" && near(e.From, l.From) && near(e.To, l.To)
		}) {
			ts.Fatalf("no lockout from %v to %v is told", l.From, l.To)
		}
	}
}

func TestNearNames(t *testing.T) {
	all := []simCase{{name: "cold-mornings"}, {name: "sound"}, {name: "sound-terrace"}, {name: "noisy-line"}}
	for _, c := range []struct {
		word string
		want []string
	}{
		{"cold-morning", []string{"cold-mornings"}},
		{"Sounds", []string{"sound"}},
		{"sound", []string{"sound", "sound-terrace"}},
		{"terrace", []string{"sound-terrace"}},
		{"nosiy-line", []string{"noisy-line"}},
		{"x", nil},
		{"boiler", nil},
	} {
		if got := nearNames(c.word, all); !slices.Equal(got, c.want) {
			t.Errorf("near %q are %q, want %q", c.word, got, c.want)
		}
	}
}

func TestSeeds(t *testing.T) {
	for text, want := range map[string][]uint64{"9001-9003": {9001, 9002, 9003}, "1,5,7-8": {1, 5, 7, 8}, "4": {4},
		"": nil, "3-1": nil, "-1": nil, "1-": nil, "0-18446744073709551615": nil} {
		got, err := seeds(text)
		if !slices.Equal(got, want) || (err == nil) != (want != nil) {
			t.Errorf("%q are %v, %v; want %v", text, got, err, want)
		}
	}
}
