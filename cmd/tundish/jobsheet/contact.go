package jobsheet

import (
	"errors"
	"fmt"
	"time"

	"tundish/decode"
)

// Contact is a 0/1 point of a source that is told when it changes: what it said last stands until its source is lost.
type Contact struct {
	Point     decode.Point
	Heartbeat time.Duration // it repeats itself so often; 0: not said
}

const (
	reportsChanges   = "changes"   // each change, and perhaps now and then that nothing has changed
	reportsRegularly = "regularly" // again and again, at much the same interval
)

// Contacts are the source's points that are told when they change. What a broker sends of a 0/1 point is taken so,
// where the sheet says nothing else: its sensors speak when they have something to say. A light is not among them: its
// flashes are followed as they come.
func (s *Source) Contacts() []Contact {
	switch {
	case s.Table != nil && len(s.Table.Contacts) > 0:
		return s.Table.Contacts
	case s.MQTT != nil:
		return s.MQTT.Contacts
	}
	return nil
}

// contactOf reads the keys reports and heartbeat_s of a point; ok: it is told when it changes. usual is what holds where
// the sheet does not say.
func contactOf(p decode.Point, t map[string]any, usual string) (c Contact, ok bool, err error) {
	reports := usual
	if v, given := t["reports"]; given {
		if reports, err = asReports(v); err != nil {
			return c, false, err
		}
		if p == decode.Light {
			return c, false, errors.New("reports: a light is followed as it comes; it must tell each change, and repeat itself once a minute")
		}
	}
	c.Point = p
	if v, given := t["heartbeat_s"]; given {
		if c.Heartbeat, err = asHeartbeat(v); err != nil {
			return c, false, err
		}
		if reports != reportsChanges {
			return c, false, errors.New("heartbeat_s goes with reports = \"changes\"; what reports regularly needs none")
		}
	}
	return c, reports == reportsChanges && p != decode.Light, nil
}

func asReports(v any) (string, error) {
	var word string
	err := asWord(v, &word, reportsChanges, reportsRegularly)
	return word, err
}

// asHeartbeat takes how often a contact says that it is still there, in seconds. The bounds are own proposals.
func asHeartbeat(v any) (time.Duration, error) {
	n, err := asWhole(v, 5, 86400)
	return time.Duration(n) * time.Second, err
}

func asBool(v any) (bool, error) {
	on, ok := v.(bool)
	if !ok {
		return false, fmt.Errorf("must be true or false, not %s", describe(v))
	}
	return on, nil
}
