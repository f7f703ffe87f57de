package main

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/dashboards/findings"
)

// supplyEvery is how long a contact says that the appliance has mains, or that it has not, in these tests. Only its changes
// are told, at the sender's time; the bus contradicts it, so that each of its words shows.
const supplyEvery = 20 * time.Minute

// withSupply adds such a contact to the sensors behind the broker, as if it had always been reached.
func (h *radioHouse) withSupply(list []capture.Record, end time.Duration) []capture.Record {
	for i := 0; ; i++ {
		at := time.Duration(i)*supplyEvery + radioAhead
		if at >= end {
			break
		}
		list = append(list, capture.Record{Source: radio, At: at, Channel: "house/supply",
			Payload: fmt.Appendf(nil, `{"v": %d, "at": %d}`, i%2, h.start.Add(at).UnixMilli())})
	}
	slices.SortStableFunc(list, func(a, b capture.Record) int { return cmp.Compare(a.At, b.At) })
	return list
}

// The words of a contact that waited at the broker for hours stand where they were said, over the borders of days and of
// chunks of days, for any number of workers.
func TestLateContactIsAsInTime(t *testing.T) {
	t.Parallel()
	const days, hour = 6, time.Hour
	h := newRadioHouse(t, time.Minute)
	h.sheet = append(h.sheet, "[[source.topic]]\ntopic = \"house/supply\"\npoint = \"supply\"\npath = \"v\"\ntime = \"at\"\ntime_unit = \"ms\"\n"...)
	intime := filepath.Join(t.TempDir(), "intime.capture")
	list := h.withSupply(h.records(days), days*24*hour)
	h.write(t, intime, list)
	want, disputes := saidBy(t, intime, 2)
	if disputes < 1 {
		t.Fatalf("the bus contradicts the contact %d times", disputes)
	}
	// Each begins just before the contact speaks, since what it said before is not known once the broker is lost.
	for _, o := range []outage{{30*hour - time.Millisecond, 33 * hour}, {94*hour - time.Millisecond, 97 * hour}, {14*hour - time.Millisecond, 86 * hour}} {
		var away []capture.Record
		n := time.Duration(0)
		for _, rec := range list {
			if rec.Source == radio && rec.At >= o.from && rec.At < o.to {
				n++
				rec.At, rec.Channel = o.to+n*10*time.Microsecond, rec.Channel+capture.Waited
			}
			away = append(away, rec)
		}
		away = append(away, capture.Record{Source: radio, At: o.from, Note: "lost: broker unreachable"},
			capture.Record{Source: radio, At: o.to, Note: "back after a while"})
		slices.SortStableFunc(away, func(a, b capture.Record) int { return cmp.Compare(a.At, b.At) })
		late := filepath.Join(t.TempDir(), "late.capture")
		h.write(t, late, away)
		for _, workers := range []int{1, 3} {
			if got, _ := saidBy(t, late, workers); got != want {
				t.Errorf("%v to %v, %d workers: %s", o.from, o.to, workers, difference(want, got))
			}
		}
	}
}

// saidBy is what people read of a capture, and when the bus said otherwise than a contact, and how often.
func saidBy(t testing.TB, path string, workers int) (string, int) {
	t.Helper()
	c, err := openCapture(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	r, _, err := c.analyseOn(t.Context(), workers)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, d := range r.Facts.Disputes {
		fmt.Fprintf(&b, "%+v\n", d)
	}
	if err := findings.WriteJSON(&b, r, findings.Options{Episodes: true}); err != nil {
		t.Fatal(err)
	}
	return b.String(), len(r.Facts.Disputes)
}
