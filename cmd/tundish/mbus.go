package main

import (
	"fmt"

	"tundish/capture"
	meters "tundish/capture/mbus"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
	"tundish/decode/mbus"
)

func openMBus(s *jobsheet.Source, clock capture.Clock) (capture.Source, error) {
	if s.Port == "" {
		return nil, fmt.Errorf("source %q: port is missing: recording needs port = \"/dev/serial/by-id/…\"", s.Name)
	}
	cfg := meters.Config{Source: s.Name, Port: s.Port, Baud: s.Baud, Interval: s.Interval}
	for _, m := range s.MBus.Meters {
		one := meters.Meter{Name: m.Name, Address: byte(max(m.Address, 0))}
		if m.ID != "" {
			maker, ok := mbus.MakerCode(m.Manufacturer)
			if !ok {
				maker = 0xFFFF
			}
			// −1 is FF, any.
			secondary, err := meters.ParseSecondary(m.ID, maker, byte(m.Version), byte(m.Medium))
			if err != nil {
				return nil, fmt.Errorf("source %q: %w", s.Name, err)
			}
			one.Secondary = secondary
		}
		cfg.Meters = append(cfg.Meters, one)
	}
	return meters.New(cfg, clock), nil
}

func decodeMBus(s *jobsheet.Source, _ *jobsheet.Sheet) (decode.Decoder, error) {
	cfg := mbus.Config{Source: s.Name}
	for _, m := range s.MBus.Meters {
		medium := mbus.MediumUnknown
		if m.Medium >= 0 {
			medium = mbus.Medium(m.Medium)
		}
		cfg.Meters = append(cfg.Meters, mbus.Meter{Name: m.Name, Address: m.Address, ID: m.ID, Medium: medium, ByMedium: m.ByMedium, Points: m.Points})
	}
	return mbus.New(cfg)
}
