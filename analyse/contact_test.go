package analyse

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"tundish/analyse/episode"
	"tundish/decode"
)

var callSeries = decode.Series{Source: "call", Point: decode.HeatDemand}

// heard is what a Standing tells, in short: "+" and "-" with the seconds at which it is said, "·" for what only stands.
type heard struct {
	start  time.Time
	text   []string
	stands []int
}

func (h *heard) tell(r *decode.Reading, said bool) {
	at := r.Time.Sub(h.start)
	if !said {
		h.stands = append(h.stands, int(at.Seconds()))
		return
	}
	h.text = append(h.text, fmt.Sprintf("%s%g", map[float64]string{0: "-", 1: "+"}[r.Value], at.Seconds()))
}

func newHeard(beat time.Duration, length time.Duration) (*Standing, *heard) {
	h := &heard{start: time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)}
	cfg := &Config{Contacts: []Contact{{callSeries, beat}}, Runs: []episode.Run{{ID: 1, From: h.start, To: h.start.Add(length), Live: true}}}
	return NewStanding(cfg, h.tell), h
}

func (h *heard) say(s *Standing, seconds float64, on float64) {
	t := h.start.Add(time.Duration(seconds * float64(time.Second)))
	s.Record(callSeries.Source, 1, t, "")
	s.Take(&decode.Reading{Time: t, Series: callSeries, Value: on, Quality: decode.Good})
}

func TestContactChatters(t *testing.T) {
	s, h := newHeard(0, time.Hour)
	h.say(s, 10, 0)
	for i := range 10 { // ten changes in a second, that end where they began
		h.say(s, 100+float64(i)/10, float64(1-i%2))
	}
	for i := range 9 { // nine, that end with a call
		h.say(s, 200+float64(i)/10, float64(1-i%2))
	}
	h.say(s, 300, 0)
	s.Until(h.start.Add(400 * time.Second))
	if got := strings.Join(h.text, " "); got != "-10 +200 -300" {
		t.Errorf("told %s", got)
	}
}

// What only tells its changes stands for as long as its source is not lost; what repeats itself, until three repeats
// are missing.
func TestContactStands(t *testing.T) {
	const hour = 3600
	last := func(h *heard) int { return h.stands[len(h.stands)-1] }
	t.Run("changes only", func(t *testing.T) {
		s, h := newHeard(0, 48*time.Hour)
		h.say(s, 0, 1)
		h.say(s, 9*hour, 0)
		s.Until(h.start.Add(30 * time.Hour))
		if got := last(h); got != 30*hour-5 {
			t.Errorf("stands until %d s", got)
		}
		if len(h.stands) < 30*hour/5-2 {
			t.Errorf("stood %d times", len(h.stands))
		}
		s.Record(callSeries.Source, 1, h.start.Add(31*time.Hour), episode.LostPrefix+" the broker is gone")
		s.Until(h.start.Add(40 * time.Hour))
		if got := last(h); got != 31*hour-5 {
			t.Errorf("the source was lost after 31 h, stands until %d s", got)
		}
	})
	t.Run("another source is lost", func(t *testing.T) {
		s, h := newHeard(0, 48*time.Hour)
		h.say(s, 0, 1)
		s.Record("probes", 1, h.start.Add(time.Hour), episode.LostPrefix+" unplugged")
		s.Until(h.start.Add(2 * time.Hour))
		if got := last(h); got != 2*hour-5 {
			t.Errorf("stands until %d s", got)
		}
	})
	t.Run("a heartbeat of ten minutes, by the job sheet", func(t *testing.T) {
		s, h := newHeard(10*time.Minute, 48*time.Hour)
		h.say(s, 0, 1)
		s.Until(h.start.Add(5 * time.Hour))
		if got := last(h); got != 1800 {
			t.Errorf("stands until %d s, want three heartbeats", got)
		}
	})
	t.Run("a heartbeat of ten minutes, found", func(t *testing.T) {
		s, h := newHeard(0, 48*time.Hour)
		for i := range 7 {
			h.say(s, float64(600*i), 1)
		}
		s.Until(h.start.Add(5 * time.Hour))
		if got := last(h); got != 3600+1800 {
			t.Errorf("stands until %d s, want three heartbeats", got)
		}
	})
	t.Run("a message that comes twice is no heartbeat", func(t *testing.T) {
		s, h := newHeard(0, 48*time.Hour)
		for i := range 6 {
			h.say(s, float64(hour*i), float64(i%2))
			h.say(s, float64(hour*i)+1, float64(i%2))
		}
		s.Until(h.start.Add(30 * time.Hour))
		if got := last(h); got != 30*hour-5 {
			t.Errorf("stands until %d s", got)
		}
	})
	t.Run("the run ends", func(t *testing.T) {
		s, h := newHeard(0, 2*time.Hour)
		h.say(s, 0, 1)
		s.Until(h.start.Add(5 * time.Hour))
		if got := last(h); got > 2*hour || got < 2*hour-5 {
			t.Errorf("stands until %d s", got)
		}
	})
}

// A copy goes on as the first would have.
func TestContactCopied(t *testing.T) {
	for _, cut := range []float64{0, 100.25, 100.6, 101, 250, 4000} {
		s, h := newHeard(0, 3*time.Hour)
		words := [][2]float64{{3, 0}, {100, 1}, {100.2, 0}, {100.4, 1}, {220, 1}, {230, 1}, {240, 1}, {3000, 0}, {3600, 1}, {7000, 0}}
		end := h.start.Add(2 * time.Hour)
		whole := func() {
			for _, w := range words {
				h.say(s, w[0], w[1])
			}
			s.Until(end)
		}
		whole()
		want := fmt.Sprint(h.text, h.stands)
		s, h = newHeard(0, 3*time.Hour)
		mute := s.from(nil)
		at, copied := h.start.Add(time.Duration(cut*float64(time.Second))), false
		for _, w := range words {
			if !copied && w[0] >= cut {
				c := mute.Copy(at)
				s.Until(at)
				if c.String() != s.Copy(at).String() {
					t.Errorf("cut at %g s: %s, want %s", cut, c, s)
				}
				s, copied = c.from(h.tell), true
			}
			h.say(s, w[0], w[1])
			if !copied {
				h.say(mute, w[0], w[1])
			}
		}
		s.Until(end)
		if got := fmt.Sprint(h.text, h.stands); got != want {
			t.Errorf("cut at %g s:\n%s\nwant\n%s", cut, got, want)
		}
	}
}

// While the machine is suspended nobody looks: a run in parts is as two runs, and what a contact said before is not known
// after it.
func TestContactSuspended(t *testing.T) {
	for _, second := range []uint32{1, 2} { // the same run, asleep meanwhile; another run
		h := &heard{start: time.Date(2026, 1, 12, 0, 0, 0, 0, time.UTC)}
		at := func(s int) time.Time { return h.start.Add(time.Duration(s) * time.Second) }
		s := NewStanding(&Config{Contacts: []Contact{{Series: callSeries}}, Runs: []episode.Run{
			{ID: 1, From: h.start, To: at(1000), Live: true}, {ID: second, From: at(9000), To: at(20000), Live: true},
		}}, h.tell)
		h.say(s, 100, 1)
		s.Record("bus", 1, at(900), "")
		s.Record("bus", second, at(9100), "")
		s.Record("bus", second, at(9900), "")
		if n := len(h.stands); n == 0 || h.stands[n-1] != 995 {
			t.Errorf("second part %d: asleep from 1000 s on, stands at %v", second, h.stands)
		}
		s.Record(callSeries.Source, second, at(10000), "")
		s.Take(&decode.Reading{Time: at(10000), Series: callSeries, Value: 0, Quality: decode.Good})
		s.Record("bus", second, at(10011), "")
		if got := strings.Join(h.text, " "); got != "+100 -10000" {
			t.Errorf("second part %d: told %s", second, got)
		}
		if n := len(h.stands); h.stands[n-1] != 10010 {
			t.Errorf("second part %d: stands at %v", second, h.stands)
		}
	}
}

// A word that came late says what a contact is now where nothing newer is known; not where it repeats itself as a rule.
func TestContactComesLate(t *testing.T) {
	for _, beat := range []time.Duration{0, 10 * time.Minute} {
		s, h := newHeard(beat, 48*time.Hour)
		at := func(s float64) time.Time { return h.start.Add(time.Duration(s * float64(time.Second))) }
		late := func(came, sent, on float64) {
			s.Record(callSeries.Source, 1, at(came), "")
			s.Late(&decode.Reading{Time: at(sent), Series: callSeries, Value: on, Quality: decode.Good}, at(came))
		}
		h.say(s, 100, 1)
		s.Record(callSeries.Source, 1, at(200), episode.LostPrefix+" the broker is gone")
		late(5000, 100, 1)  // the broker had kept it
		late(5001, 50, 0)   // older than what is known
		late(5002, 101, 0)  // newer
		late(5003, 101, 0)  // once more
		h.say(s, 6000, 0)   // in time
		late(6001, 5999, 1) // no more
		s.Record(callSeries.Source, 1, at(6100), "")
		want := "+100 +5000 -5002 -6000"
		if beat > 0 { // of an hour and more ago, where it speaks every ten minutes
			want = "+100 -6000"
		}
		if got := strings.Join(h.text, " "); got != want {
			t.Errorf("heartbeat %v: told %s, want %s", beat, got, want)
		}
	}
}
