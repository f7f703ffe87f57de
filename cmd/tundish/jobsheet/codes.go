package jobsheet

import (
	"fmt"
	"strconv"
)

// highestCode is the greatest code that a bus can give (OpenTherm Protocol Specification v2.2, 5.3.1: id 115 is a u16).
const highestCode = 65535

// longestCode is the most characters of the words for a code. Own proposal: they stand in one line.
const longestCode = 200

// codes reads the [codes] table: "133" = "words from the maker's instructions".
func (r *reader) codes(v any) {
	if v == nil {
		return
	}
	t, ok := v.(map[string]any)
	if !ok {
		r.fail("codes", "must be a table: [codes]")
		return
	}
	for _, key := range sortedKeys(t) {
		path := "codes." + key
		n, err := strconv.Atoi(key)
		if err != nil || n < 1 || n > highestCode || strconv.Itoa(n) != key {
			r.fail(path, "must be a code as the bus gives it, a whole number from 1 to %d in quotes: \"133\" = \"…\"", highestCode)
			continue
		}
		words, err := asText(t[key])
		if err == nil && len([]rune(words)) > longestCode {
			err = fmt.Errorf("is longer than %d characters", longestCode)
		}
		if err != nil {
			r.fail(path, "%v", err)
			continue
		}
		if r.sheet.Codes == nil {
			r.sheet.Codes = map[int]string{}
		}
		r.sheet.Codes[n] = words
	}
}
