package main

import (
	"fmt"
	"maps"
	"slices"

	"tundish/analyse"
	"tundish/analyse/bus"
	"tundish/analyse/circulation"
	"tundish/analyse/condensing"
	"tundish/analyse/cycling"
	"tundish/analyse/cylinder"
	"tundish/analyse/deltat"
	"tundish/analyse/demand"
	"tundish/analyse/ignition"
	"tundish/analyse/lockout"
	"tundish/analyse/overshoot"
	"tundish/analyse/pressure"
	"tundish/analyse/sensors"
	"tundish/analyse/sizing"
	"tundish/capture"
	wire "tundish/capture/onewire"
	serial "tundish/capture/serialline"
	"tundish/cmd/tundish/house"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
	"tundish/decode/onewire"
	"tundish/decode/opentherm"
	"tundish/decode/readings"
)

// checks are all kinds of verdict, in the order in which they are told. A new check is one line here.
func checks() []analyse.Check {
	return []analyse.Check{
		cycling.Short(),
		deltat.Low(),
		deltat.High(),
		sizing.Oversized(),
		lockout.Check(),
		ignition.Retries(),
		demand.Check(),
		circulation.Check(),
		condensing.Check(),
		overshoot.Check(),
		pressure.Loss(),
		pressure.Swing(),
		sensors.Disagreement(),
		sensors.Fault(),
		cylinder.Check(),
		bus.Silence(),
	}
}

// kind is one way of getting data: how its records are taken and how they are decoded.
type kind struct {
	// bus: its silence means something.
	bus bool
	// lines: a file of timed lines can be imported for it.
	lines  bool
	source func(*jobsheet.Source, capture.Clock) (capture.Source, error)
	decode func(*jobsheet.Source, *jobsheet.Sheet) (decode.Decoder, error)
}

// kinds are the source kinds that this version can record from. A new one is one folder under capture, one under
// decode, and one entry here.
func kinds() map[string]kind {
	return map[string]kind{
		"opentherm":       {bus: true, lines: true, source: openSerial, decode: decodeBus},
		"opentherm-edges": {bus: true, lines: true, source: openSerial, decode: decodeEdges},
		"one-wire":        {lines: true, source: openWire, decode: decodeProbes},
		"mqtt":            {lines: true, source: openMQTT, decode: decodeMQTT},
		"modbus-tcp":      {lines: true, source: openModbus, decode: decodeModbus},
		"modbus-rtu":      {lines: true, source: openModbus, decode: decodeModbus},
		"m-bus":           {lines: true, source: openMBus, decode: decodeMBus},
		"simulated":       {source: openHouse},
	}
}

// kindOf finds the kind of a source; a simulated one is of the kind that it imitates.
func kindOf(s *jobsheet.Source) kind {
	k := kinds()[s.Kind]
	if s.Kind == "simulated" {
		of := "one-wire"
		if s.Part == house.PartBus {
			of = "opentherm"
		}
		like := kinds()[of]
		like.source = k.source
		return like
	}
	if s.Edges != nil && s.Edges.SameBus != "" {
		k.bus = false // the bus is the other source; this one has half of it
	}
	return k
}

func openSerial(s *jobsheet.Source, clock capture.Clock) (capture.Source, error) {
	if s.Port == "" {
		return nil, fmt.Errorf("source %q: port is missing: recording needs port = \"/dev/serial/by-id/…\"", s.Name)
	}
	return serial.New(serial.Config{Source: s.Name, Port: s.Port, Baud: s.Baud, RaiseLines: s.RaiseLines}, clock), nil
}

func openWire(s *jobsheet.Source, clock capture.Clock) (capture.Source, error) {
	if len(s.Points) == 0 {
		return nil, fmt.Errorf("source %q: points is missing: recording needs to know which probe measures what", s.Name)
	}
	return wire.New(wire.Config{Source: s.Name, Root: s.Root, Channels: probeNames(s), Interval: s.Interval}, clock), nil
}

func openHouse(s *jobsheet.Source, clock capture.Clock) (capture.Source, error) {
	src, err := house.NewSource(house.Config{Scenario: s.Scenario, Seed: s.Seed, Part: s.Part, Source: s.Name}, clock)
	if err != nil {
		return nil, fmt.Errorf("source %q: %w", s.Name, err)
	}
	return src, nil
}

func decodeBus(s *jobsheet.Source, plant *jobsheet.Sheet) (decode.Decoder, error) {
	return opentherm.New(busConfig(s, plant))
}

func busConfig(s *jobsheet.Source, plant *jobsheet.Sheet) opentherm.Config {
	hot := decode.HotWater
	if plant.Plant.HotWater == analyse.CylinderHotWater {
		hot = decode.Cylinder
	}
	return opentherm.Config{Source: s.Name, Pattern: s.Pattern, HotWater: hot}
}

func decodeEdges(s *jobsheet.Source, plant *jobsheet.Sheet) (decode.Decoder, error) {
	c := busConfig(s, plant)
	c.Pattern = s.Edges.Pattern
	return opentherm.NewEdges(opentherm.EdgeConfig{Config: c, Time: s.Edges.Time})
}

// joinBuses has two sources that listen to one direction each of a bus give what they hear to one decoder.
func (all decoders) joinBuses(sheet *jobsheet.Sheet) {
	for _, s := range sheet.Sources {
		if s.Edges == nil || s.Edges.SameBus == "" {
			continue
		}
		half, ok := all[s.Name].own.(*opentherm.EdgeDecoder)
		if other, also := all[s.Edges.SameBus].own.(*opentherm.EdgeDecoder); ok && also {
			half.Join(other)
		}
	}
}

func decodeProbes(s *jobsheet.Source, _ *jobsheet.Sheet) (decode.Decoder, error) {
	points := map[string]onewire.Mapping{}
	for probe, m := range s.Points {
		points[probe] = onewire.Mapping{Point: m.Point, OffsetK: float64(m.Offset)}
	}
	return onewire.New(onewire.Config{Source: s.Name, Points: points})
}

func probeNames(s *jobsheet.Source) []string { return slices.Sorted(maps.Keys(s.Points)) }

// columns are those of a source's file that another logger has made.
func columns(s *jobsheet.Source) map[string]readings.Column {
	if s.Table == nil {
		return nil
	}
	return s.Table.Columns
}
