package episode

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// A moment is the same time again, and the middles of minutes are counted as they are by floating point.
func TestMoment(t *testing.T) {
	if momentOf(time.Time{}) != 0 || !moment(0).time().IsZero() {
		t.Error("no time is no moment")
	}
	if age := (value{}).age(time.Unix(60, 0)); age < time.Hour {
		t.Errorf("a value that never came is %v old", age)
	}
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(rapid.Int64Range(-1<<32, 1<<33).Draw(t, "s"), rapid.Int64Range(1, 1e9-1).Draw(t, "ns")).UTC()
		d := time.Duration(rapid.Int64Range(-int64(50*time.Hour), int64(50*time.Hour)).Draw(t, "d"))
		if got := momentOf(at).time(); got != at {
			t.Errorf("%v came back as %v", at, got)
		}
		if got := momentOf(at.Add(d)).since(momentOf(at)); got != d {
			t.Errorf("%v apart, told as %v", d, got)
		}
		if got, want := middles(d), int(math.Floor((d-30*time.Second).Minutes()))+1; got != want {
			t.Errorf("%v: %d middles, by floating point %d", d, got, want)
		}
	})
}
