package main

import (
	"fmt"
	"net"
	"strconv"

	"tundish/capture"
	wires "tundish/capture/modbus"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
	"tundish/decode/modbus"
)

func openModbus(s *jobsheet.Source, clock capture.Clock) (capture.Source, error) {
	m := s.Modbus
	if len(m.Map) == 0 {
		return nil, fmt.Errorf("source %q: registers is missing: recording needs to know what to read", s.Name)
	}
	cfg := wires.Config{Source: s.Name, Unit: m.Unit, Interval: s.Interval, Timeout: m.Timeout}
	switch {
	case s.Kind == "modbus-rtu" && s.Port == "":
		return nil, fmt.Errorf("source %q: port is missing: recording needs port = \"/dev/serial/by-id/…\"", s.Name)
	case s.Kind == "modbus-rtu":
		cfg.Port, cfg.Baud, cfg.Parity, cfg.StopBits = s.Port, s.Baud, wires.Parity(m.Parity), m.StopBits
	case m.Host == "":
		return nil, fmt.Errorf("source %q: host is missing: recording needs host = \"192.0.2.7\"", s.Name)
	default:
		cfg.Host = net.JoinHostPort(m.Host, strconv.Itoa(m.TCPPort))
	}
	wanted := make([]wires.Block, len(m.Map))
	for i, e := range m.Map {
		wanted[i] = wires.Block{Unit: e.Unit, Function: wires.Function(e.Table), First: e.Address, Count: e.Type.Words()}
	}
	cfg.Blocks = wires.Plan(wanted, m.Gap, m.Longest)
	src, err := wires.New(cfg, clock)
	if err != nil {
		return nil, fmt.Errorf("source %q: %w", s.Name, err)
	}
	return src, nil
}

func decodeModbus(s *jobsheet.Source, _ *jobsheet.Sheet) (decode.Decoder, error) {
	return modbus.New(modbus.Config{Source: s.Name, Map: s.Modbus.Map})
}
