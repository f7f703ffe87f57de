package mbus

import (
	"fmt"
	"strconv"
)

// masterWords are what a master's C stands for, FCB aside (MB 5.2).
var masterWords = map[byte]string{0x40: "reset of the link (SND_NKE)", 0x5A: "request for alarms (REQ_UD1)",
	0x5B: "request for data (REQ_UD2)", 0x53: "data to the meter (SND_UD)"}

// Explain says in words what a frame holds, a line each. Where it breaks off, what came before is told, and the error
// says why.
func Explain(b []byte) (lines []string, err error) {
	var values []string
	t, offset, err := Read(b, func(*Telegram) {}, func(v *Value) { values = append(values, "  "+v.explain()) })
	switch {
	case t.Frame.Kind == Ack:
		return []string{"acknowledged"}, nil
	case t.Frame.Kind == 0:
		return nil, fmt.Errorf("byte %d: %w", offset, err)
	case t.Frame.FromMaster():
		const fcb = 0x20
		words, ok := masterWords[t.Frame.C&^fcb]
		if !ok {
			words = fmt.Sprintf("control %02X", t.Frame.C)
		}
		return []string{fmt.Sprintf("from the master to address %d: %s", t.Frame.A, words)}, nil
	case err != nil && len(values) == 0 && !t.Header.Known:
		return []string{fmt.Sprintf("from address %d: CI %02X", t.Frame.A, t.Frame.CI)}, fmt.Errorf("byte %d: %w", offset, err)
	}
	lines = append(lines, fmt.Sprintf("answer of address %d", t.Frame.A)+t.Header.explain(t.Fixed))
	if f := t.Header.Status.Fault(); f != "" {
		lines = append(lines, "  "+f)
	}
	if t.Header.Status.PowerLow() {
		lines = append(lines, "  its power is low")
	}
	if t.Doubt != "" {
		lines = append(lines, "  "+t.Doubt)
	}
	if t.Locked {
		lines = append(lines, "  encrypted or special: not read")
	}
	lines = append(lines, values...)
	if len(t.Maker) > 0 {
		lines = append(lines, fmt.Sprintf("  the maker's own data, %d bytes", len(t.Maker)))
	}
	if t.More {
		lines = append(lines, "  more telegrams follow")
	}
	if err != nil {
		err = fmt.Errorf("byte %d: %w", offset, err)
	}
	return lines, err
}

func (h Header) explain(fixed bool) string {
	switch {
	case !h.Known:
		return ", meter not named"
	case fixed:
		return fmt.Sprintf(": meter %s, %s, access %d", h.IDText(), h.Medium, h.Access)
	}
	return fmt.Sprintf(": meter %s of %s, version %d, %s, access %d", h.IDText(), MakerLetters(h.Maker), h.Version, h.Medium, h.Access)
}

// explain is one record in words.
func (v *Value) explain() string {
	t := v.Name() + ": "
	if v.Lack != Present {
		t += v.Text()
		if v.Lack != NoData {
			t += " (" + v.Lack.String() + ")"
		}
		return t
	}
	t += strconv.FormatFloat(v.Number, 'f', -1, 64)
	if u := v.UnitText(); u != "" {
		t += " " + u
	}
	return t
}
