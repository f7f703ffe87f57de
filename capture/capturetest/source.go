// Package capturetest has the conformance suite that every [capture.Source] of a device passes. Only tests import
// it.
package capturetest

import (
	"testing"
	"time"

	"tundish/capture"
)

// Rig is a source with a device behind it that the test holds in its hand.
type Rig struct {
	// Source is the source under test, Clock the clock that it was made with, Name its name in the job sheet.
	Source capture.Source
	Clock  capture.Clock
	Name   string
	// Device is what an error about the lost device must mention: a path.
	Device string
	// Good gives the i-th sound delivery, different for each i. Garbage is what the device may send when it is
	// noisy; each must come through as one delivery.
	Good    func(i int) []byte
	Garbage [][]byte
	// Feed has the device deliver bytes; it returns when the device has them, which may be before the source has.
	Feed func(t testing.TB, payload []byte)
	// Repeats says that the device goes on delivering what it was fed last (a polled one). Then a slow consumer
	// may miss what was overwritten; otherwise it must get everything, in order.
	Repeats bool
	// Lose takes the device away; Restore puts it back under the same stable path.
	Lose, Restore func(t testing.TB)
	// MaxPayload is the longest payload the source ever emits, in bytes.
	MaxPayload int
}

// Patience is how long a check waits for what must come. Own choice: far above any pace of a sound source, so that
// a loaded machine does not fail it.
const Patience = 20 * time.Second

// Prompt is the longest that Capture may take to return once it should. Own choice: what a person at the keyboard
// still takes for at once, with room for a loaded machine.
const Prompt = 2 * time.Second

// TestSource runs the suite. newRig is called once a check and cleans up through t.
func TestSource(t *testing.T, newRig func(t *testing.T) Rig) {
	for _, c := range []struct {
		name string
		run  func(*testing.T, Rig)
	}{
		{"delivers and stamps", delivers},
		{"garbage passes verbatim", garbage},
		{"cancel returns promptly", cancels},
		{"cancelled before the start", cancelledBefore},
		{"cancel with a blocked consumer", cancelsBlocked},
		{"emit error comes back unchanged", emitError},
		{"lost and back", lostAndBack},
		{"slow consumer", slowConsumer},
		{"payload may be overwritten", overwritten},
		{"memory stays bounded", bounded},
	} {
		t.Run(c.name, func(t *testing.T) { c.run(t, newRig(t)) })
	}
}
