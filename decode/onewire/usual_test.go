package onewire

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// What is taken apart in one look is what a closer look finds: whole files as the driver writes them, and such with a
// byte or two changed or cut off.
func TestUsualIsAsClosely(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pad := rapid.SliceOfN(rapid.Byte(), 9, 9).Draw(t, "pad")
		hex := fmt.Sprintf("% x ", pad)
		b := fmt.Appendf(nil, "%s: crc=%02x YES\n%st=%d\n", hex, pad[8], hex, rapid.IntRange(-55000, 125000).Draw(t, "milli"))
		var s slave
		if !s.usual(b) {
			t.Fatalf("%q is not seen as usual", b)
		}
		for range rapid.IntRange(0, 2).Draw(t, "changes") {
			b[rapid.IntRange(0, len(b)-1).Draw(t, "at")] = rapid.SampledFrom([]byte("\n\r 0aAfFgt=-:NY\x00é")).Draw(t, "byte")
		}
		b = b[:rapid.IntRange(max(0, len(b)-4), len(b)).Draw(t, "length")]
		s = slave{}
		if !s.usual(b) {
			return
		}
		if want, _, err := closely(b); err != nil || s != want {
			t.Fatalf("%q: %+v in one look, %+v (%v) closely", b, s, want, err)
		}
	})
}
