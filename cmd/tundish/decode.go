package main

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"tundish/dashboards/findings"
	"tundish/decode/mbus"
	"tundish/decode/opentherm"
)

type decodeCmd struct {
	Frames []string `arg:"" name:"frame" help:"Frames of an OpenTherm bus, 8 hex digits each, or telegrams of an M-Bus, in hex."`
}

func (c decodeCmd) Run(s *streams) error {
	var wrong []error
	for i, word := range wholeTelegram(c.Frames) {
		if i > 0 {
			fmt.Fprintln(s.out)
		}
		if telegram := meterTelegram(word); telegram != nil {
			lines, err := mbus.Explain(telegram)
			for _, line := range lines {
				fmt.Fprintln(s.out, findings.Printable(line))
			}
			if err != nil {
				fmt.Fprintf(s.out, "%s\n  no sound telegram: %v\n", word, err)
				wrong = append(wrong, fmt.Errorf("%s: %w", word, err))
			}
			continue
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

// wholeTelegram joins words that are the bytes of one telegram, two digits each.
func wholeTelegram(words []string) []string {
	for _, w := range words {
		if len(w) != 2 {
			return words
		}
	}
	return []string{strings.Join(words, " ")}
}

// meterTelegram gives the bytes of a word that begins as a telegram of an M-Bus does; nil: it is another thing. Eight
// digits are a frame of OpenTherm, whose length they have.
func meterTelegram(word string) []byte {
	digits := strings.Join(strings.Fields(word), "")
	b, err := hex.DecodeString(digits)
	if err != nil || len(digits) == 8 || len(b) == 0 {
		return nil
	}
	if _, at, err := mbus.Span(b); err != nil && at == 0 {
		return nil
	}
	return b
}
