package jobsheet

import (
	"bytes"
	"strings"
)

// entry is a key of an inline table, as it stands.
type entry struct{ name, key, raw string }

// inline takes an inline table of one line apart: { a = 1, "b" = { c = 2 } }.
func inline(text []byte) ([]entry, error) {
	if len(text) < 2 || text[0] != '{' || text[len(text)-1] != '}' || bytes.ContainsAny(text, "\n\r") {
		return nil, ErrLayout
	}
	var out []entry
	body := text[1 : len(text)-1]
	for at := 0; ; {
		for at < len(body) && strings.IndexByte(" \t,", body[at]) >= 0 {
			at++
		}
		if at == len(body) {
			return out, nil
		}
		from := at
		if body[at] == '"' || body[at] == '\'' {
			at = valueEnd(body, at)
		}
		equals := bytes.IndexByte(body[at:], '=')
		if equals < 0 || body[from] == '#' {
			return nil, ErrLayout
		}
		key := strings.TrimSpace(string(body[from : at+equals]))
		at += equals + 1
		for at < len(body) && (body[at] == ' ' || body[at] == '\t') {
			at++
		}
		end := valueEnd(body, at)
		name := strings.Trim(key, `"'`)
		if strings.ContainsAny(name, `\. `) { // dotted or escaped: not as a probe is written
			return nil, ErrLayout
		}
		out = append(out, entry{name, key, string(body[at:end])})
		at = end
	}
}

func render(table []entry) string {
	if len(table) == 0 {
		return "{}"
	}
	parts := make([]string, len(table))
	for i, e := range table {
		parts[i] = e.key + " = " + e.raw
	}
	return "{ " + strings.Join(parts, ", ") + " }"
}

// valueEnd is where the value that begins at from ends: a text, a table, an array, or a bare word.
func valueEnd(text []byte, from int) int {
	depth := 0
	for i := from; i < len(text); {
		switch c := text[i]; {
		case c == '"' || c == '\'':
			i = textEnd(text, i)
			if depth == 0 {
				return i
			}
			continue
		case c == '{' || c == '[':
			depth++
		case c == '}' || c == ']':
			if depth--; depth == 0 {
				return i + 1
			} else if depth < 0 {
				return i
			}
		case c == '#' && depth > 0:
			i = lineEnd(text, i)
			continue
		case depth == 0 && strings.IndexByte(" \t\r\n,#", c) >= 0:
			return i
		}
		i++
	}
	return len(text)
}

// textEnd is behind a TOML string: basic or literal, of one line or of several.
func textEnd(text []byte, from int) int {
	quote := text[from : from+1]
	if three := bytes.Repeat(quote, 3); bytes.HasPrefix(text[from:], three) {
		quote = three
	}
	for i := from + len(quote); i < len(text); i++ {
		switch {
		case text[i] == '\\' && quote[0] == '"':
			i++
		case bytes.HasPrefix(text[i:], quote):
			i += len(quote)
			for len(quote) == 3 && i < len(text) && text[i] == quote[0] { // quotes at the end belong to the text
				i++
			}
			return i
		}
	}
	return len(text)
}
