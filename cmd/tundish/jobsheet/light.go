package jobsheet

import (
	"fmt"
	"slices"
	"strconv"

	"tundish/analyse/episode"
	"tundish/decode/light"
)

// The [light] table says what the appliance's indicator light means, as the maker's instructions say:
//
//	[light]
//	off      = { words = "no supply", means = "no-mains" }
//	steady   = { words = "burner on", means = "flame" }
//	rapid    = "a reset is taken"
//	2        = { words = "tries again to light", means = "retry" }
//	4        = { words = "no flame after five attempts", means = "lockout", cause = "ignition" }

// signWords are the keys that are no count.
var signWords = map[string]light.Sign{"off": light.Off, "steady": light.Steady, "flashing": light.Flashing, "rapid": light.Rapid}

// lockoutCauses are the words for why an appliance locks out.
var lockoutCauses = []string{episode.CauseIgnition, episode.CauseFlameLoss, episode.CauseOverheat, episode.CauseLowPressure, episode.CauseSensor,
	episode.CauseAirPressure, episode.CauseUnknown}

// signs reads the [light] table.
func (r *reader) signs(v any) {
	if v == nil {
		return
	}
	t, ok := v.(map[string]any)
	if !ok {
		r.fail("light", "must be a table: [light]")
		return
	}
	for _, key := range sortedKeys(t) {
		path := "light." + key
		sign, known := signWords[key]
		if n, err := strconv.Atoi(key); err == nil && n >= 1 && n <= light.MostFlashes && strconv.Itoa(n) == key {
			sign, known = light.Sign(n), true
		}
		if !known {
			r.fail(path, "is no sign of a light: a number of flashes from 1 to %d, off, steady, flashing or rapid", light.MostFlashes)
			continue
		}
		e, err := r.sign(path, t[key])
		if err != nil {
			r.fail(path, "%v", err)
			continue
		}
		if r.sheet.Light == nil {
			r.sheet.Light = light.Table{}
		}
		r.sheet.Light[sign] = e
	}
}

func (r *reader) sign(path string, v any) (e light.Entry, err error) {
	t, ok := v.(map[string]any)
	if !ok {
		e.Words, err = asText(v)
		if err != nil {
			return e, fmt.Errorf("must be words in quotes, or { words = \"…\", means = \"…\" }, not %s", describe(v))
		}
		return e, shortEnough(e.Words)
	}
	for _, key := range sortedKeys(t) {
		text, err := asText(t[key])
		if err != nil {
			return e, fmt.Errorf("%s: %w", key, err)
		}
		switch key {
		case "words":
			e.Words = text
		case "means":
			e.Means = light.Means(text)
			if !slices.Contains(light.AllMeans(), e.Means) {
				return e, fmt.Errorf("means must be one of %v, not %q", light.AllMeans(), text)
			}
		case "cause":
			e.Cause = text
			if !slices.Contains(lockoutCauses, text) {
				return e, fmt.Errorf("cause must be one of %s, not %q", quoted(lockoutCauses), text)
			}
		default:
			r.unknown(path+"."+key, key, []string{"words", "means", "cause"})
		}
	}
	if e.Cause != "" && e.Means != light.Lockout {
		return e, fmt.Errorf("a cause is of a lockout: means = \"lockout\"")
	}
	return e, shortEnough(e.Words)
}

func shortEnough(words string) error {
	if len([]rune(words)) > longestCode {
		return fmt.Errorf("words are longer than %d characters", longestCode)
	}
	return nil
}
