package main

import (
	"errors"
	"fmt"
	"strings"

	"tundish/decode/opentherm"
)

type decodeCmd struct {
	Frames []string `arg:"" name:"frame" help:"Frames, 8 hex digits each."`
}

func (c decodeCmd) Run(s *streams) error {
	var wrong []error
	for i, word := range c.Frames {
		if i > 0 {
			fmt.Fprintln(s.out)
		}
		f, err := opentherm.ParseFrame(word)
		if err != nil {
			fmt.Fprintf(s.out, "%s\n  no frame: %v\n", word, err)
			wrong = append(wrong, fmt.Errorf("%s: %w", word, err))
			continue
		}
		fmt.Fprintln(s.out, strings.Join(opentherm.Explain(f).Lines(), "\n"))
		if err := f.Check(); err != nil {
			wrong = append(wrong, fmt.Errorf("%s: %w", word, err))
		}
	}
	if len(wrong) > 0 {
		return usageError{errors.Join(wrong...)}
	}
	return nil
}
