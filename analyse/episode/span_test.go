package episode

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Any two moments, zero times among them, lie as far apart as the standard library says.
func TestSinceIsSub(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		draw := func(name string) time.Time {
			if rapid.Bool().Draw(rt, name+" is zero") {
				return time.Time{}
			}
			return time.Unix(rapid.Int64Range(-1<<36, 1<<36).Draw(rt, name), rapid.Int64Range(0, 999999999).Draw(rt, name+" ns")).UTC()
		}
		a, b := draw("a"), draw("b")
		if got, want := since(a, b), a.Sub(b); got != want {
			rt.Fatalf("%v to %v: %v, want %v", b, a, got, want)
		}
	})
}
