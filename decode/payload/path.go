package payload

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// PathMost is the most steps of a path. Own proposal.
const PathMost = 16

// Path leads to a value in JSON. The zero Path leads to the whole of a message.
type Path struct {
	text  string
	steps []step
}

// step is into an object by name, or into an array by index.
type step struct {
	name  string
	index int // -1: by name
}

func (p Path) String() string { return p.text }

// ParsePath reads a path: t.flow, sensors[0].temp, ["outside temp"].value.
func ParsePath(text string) (Path, error) {
	p := Path{text: text}
	rest := text
	for first := true; rest != "" || first; first = false {
		var s step
		var err error
		switch {
		case strings.HasPrefix(rest, "["):
			s, rest, err = bracket(rest)
		case !first && !strings.HasPrefix(rest, "."):
			err = fmt.Errorf("%q: a dot or a bracket belongs before %q", text, rest)
		default:
			if !first {
				rest = rest[1:]
			}
			s.index = -1
			end := strings.IndexAny(rest, ".[")
			if end < 0 {
				end = len(rest)
			}
			s.name, rest = rest[:end], rest[end:]
			if s.name == "" || strings.ContainsAny(s.name, `"]`) {
				err = fmt.Errorf("%q: a name is missing or holds a quote or a bracket; such a name is written [\"…\"]", text)
			}
		}
		if err != nil {
			return Path{}, err
		}
		if p.steps = append(p.steps, s); len(p.steps) > PathMost {
			return Path{}, fmt.Errorf("%q has more than %d steps", text, PathMost)
		}
	}
	return p, nil
}

// bracket takes [2] or ["name"] off the front.
func bracket(text string) (step, string, error) {
	if strings.HasPrefix(text, `["`) {
		for i := 2; i < len(text); i++ {
			switch {
			case text[i] == '\\':
				i++
			case text[i] == '"':
				name := ""
				if !strings.HasPrefix(text[i+1:], "]") || json.Unmarshal([]byte(text[1:i+1]), &name) != nil {
					return step{}, "", fmt.Errorf("%q is no name in brackets", text)
				}
				return step{name, -1}, text[i+2:], nil
			}
		}
		return step{}, "", fmt.Errorf("%q: the quote does not end", text)
	}
	inner, rest, ok := strings.Cut(text[1:], "]")
	n, err := strconv.ParseUint(inner, 10, 20)
	if !ok || err != nil || strconv.FormatUint(n, 10) != inner {
		return step{}, "", fmt.Errorf("%q: brackets hold an index from 0, or a name in quotes", text)
	}
	return step{index: int(n)}, rest, nil
}

// The ways in which a path can fail; they are the causes of a [*decode.Error].
var (
	ErrJSON  = errors.New("the message is no sound JSON")
	ErrDeep  = fmt.Errorf("JSON deeper than %d", DepthMost)
	ErrNone  = errors.New("the message has nothing at this path")
	ErrTwice = errors.New("a name on the path stands twice")
)
