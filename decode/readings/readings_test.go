package readings_test

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tundish/capture"
	"tundish/decode"
	"tundish/decode/decodetest"
	"tundish/decode/readings"
)

var noon = time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)

func newDecoder(t testing.TB) *readings.Decoder {
	t.Helper()
	d, err := readings.New(readings.Config{Source: "probes"})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func cell(seq uint64, p decode.Point, text string) capture.Record {
	return capture.Record{Seq: seq, Time: noon.Add(time.Duration(seq) * time.Second), Source: "probes",
		Channel: readings.Channel(p), Payload: []byte(text)}
}

func TestCells(t *testing.T) {
	tests := []struct {
		name  string
		point decode.Point
		text  string
		want  float64
		err   error // nil: a reading
	}{
		{"plain", decode.Flow, "61.5", 61.5, nil},
		{"white space around", decode.Flow, " \t61.5\r\n", 61.5, nil},
		{"negative", decode.Outside, "-5.25", -5.25, nil},
		{"a true zero", decode.Outside, "0", 0, nil},
		{"exponent", decode.GasVolume, "1.25e3", 1250, nil},
		{"flame", decode.Flame, "1", 1, nil},
		{"half a flame", decode.Flame, "0.5", 0, readings.ErrImpossible},
		{"broken code", decode.FaultCode, "28.5", 0, readings.ErrImpossible},
		{"too hot for water", decode.Flow, "451", 0, readings.ErrImpossible},
		{"decimal comma", decode.Flow, "61,5", 0, readings.ErrNumber},
		{"hexadecimal", decode.Flow, "0x1p4", 0, readings.ErrNumber},
		{"underscore", decode.Flow, "1_0", 0, readings.ErrNumber},
		{"not a number", decode.Flow, "NaN", 0, readings.ErrNumber},
		{"infinity", decode.Flow, "Inf", 0, readings.ErrNumber},
		{"infinity in full", decode.Flow, "-infinity", 0, readings.ErrNumber},
		{"past the greatest number", decode.Flow, "1e999", 0, readings.ErrNumber},
		{"two numbers", decode.Flow, "61.5 61.6", 0, readings.ErrNumber},
		{"with its unit", decode.Flow, "61.5 °C", 0, readings.ErrNumber},
		{"sign only", decode.Flow, "-", 0, readings.ErrNumber},
		{"a word", decode.Flow, "none", 0, readings.ErrNumber},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []decode.Reading
			err := newDecoder(t).Decode(cell(1, tt.point, tt.text), func(r decode.Reading) { got = append(got, r) })
			if !errors.Is(err, tt.err) {
				t.Fatalf("error %v, want %v", err, tt.err)
			}
			if tt.err != nil {
				if _, ok := errors.AsType[*decode.Error](err); !ok || len(got) != 0 {
					t.Fatalf("%d readings, error of type %T", len(got), err)
				}
				return
			}
			want := decode.Reading{Seq: 1, Time: noon.Add(time.Second), Quality: decode.Good,
				Series: decode.Series{Source: "probes", Point: tt.point}, Value: tt.want}
			if len(got) != 1 || got[0] != want {
				t.Errorf("readings %v, want %v", got, want)
			}
		})
	}
}

func TestEmptyCellAndUnknownColumn(t *testing.T) {
	d := newDecoder(t)
	none := func(r decode.Reading) { t.Errorf("unexpected %s = %v", r.Series, r.Value) }
	for _, text := range []string{"", " ", "\r\n"} {
		if err := d.Decode(cell(1, decode.Flow, text), none); err != nil {
			t.Errorf("empty cell %q: %v", text, err)
		}
	}
	for _, channel := range []string{"readings/supply-temperature", "readings/", "flow", "readings/Flow"} {
		rec := cell(2, decode.Flow, "61.5")
		rec.Channel = channel
		if err := d.Decode(rec, none); !errors.Is(err, readings.ErrPoint) {
			t.Errorf("channel %q: error %v, want ErrPoint", channel, err)
		}
	}
	want := map[string]uint64{"cells": 7, "empty cells": 3, "cells of columns that are no point": 4}
	for _, c := range d.Tally() {
		if c.N != want[c.Name] {
			t.Errorf("tally: %d %s, want %d", c.N, c.Name, want[c.Name])
		}
	}
}

func TestChannel(t *testing.T) {
	for _, p := range decode.Points() {
		if c := readings.Channel(p); !readings.IsReadings(c) || c != "readings/"+p.String() {
			t.Errorf("%s: channel %q", p, c)
		}
	}
	for _, c := range []string{"", "28-0000a71c01f4", "reading/flow", "flow"} {
		if readings.IsReadings(c) {
			t.Errorf("%q is taken for a channel of readings", c)
		}
	}
}

func TestNewWithoutSource(t *testing.T) {
	if _, err := readings.New(readings.Config{}); err == nil {
		t.Error("a source without a name is accepted")
	}
}

func TestConformance(t *testing.T) {
	records := []capture.Record{cell(1, decode.Flow, "61.5"), cell(2, decode.Return, "48.25\n"), cell(3, decode.Flame, "1"),
		cell(4, decode.Outside, "-5.25"), cell(5, decode.Pressure, "n/a")}
	decodetest.TestDecoder(t, func() decode.Decoder { return newDecoder(t) }, records)
}

// What is printed is read back, whichever way it is printed.
func TestPrintedNumbersComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Float64().Draw(t, "value")
		form := rapid.SampledFrom([]byte("fegEG")).Draw(t, "form")
		got, err := readings.Parse(strconv.FormatFloat(want, form, -1, 64))
		if err != nil || got != want {
			t.Fatalf("%v comes back as %v, %v", want, got, err)
		}
	})
}

func FuzzDecode(f *testing.F) {
	for _, s := range []string{"61.5", "-5.25", " 0 \n", "1e3", "0x1p-2", "NaN", "1_000", "61,5", ".", "e"} {
		f.Add("readings/flow", []byte(s))
		f.Add("readings/flame", []byte(s))
	}
	f.Fuzz(func(t *testing.T, channel string, payload []byte) {
		rec := capture.Record{Seq: 7, Time: noon, Source: "probes", Channel: channel, Payload: payload}
		n := 0
		err := newDecoder(t).Decode(rec, func(r decode.Reading) {
			n++
			if e := decodetest.Check(r); e != nil || math.IsNaN(r.Value) {
				t.Errorf("%q: %v", payload, e)
			}
		})
		if n > 1 || n == 1 && err != nil {
			t.Errorf("%q: %d readings, error %v", payload, n, err)
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	d := newDecoder(b)
	rec := cell(1, decode.Flow, "61.5")
	emit := func(decode.Reading) {}
	b.ReportAllocs()
	for b.Loop() {
		if err := d.Decode(rec, emit); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleDecoder() {
	d, err := readings.New(readings.Config{Source: "probes"})
	if err != nil {
		fmt.Println(err)
		return
	}
	rec := capture.Record{Seq: 1, Channel: readings.Channel(decode.Return), Payload: []byte("48.25")}
	err = d.Decode(rec, func(r decode.Reading) { fmt.Println(r.Series, r.Value, r.Series.Point.Unit(), r.Quality) })
	fmt.Println(err)
	// Output:
	// probes/return 48.25 °C good
	// <nil>
}

// A cell that is no measurement is no reading, and says of which series it is and what stood there.
func TestSensorFault(t *testing.T) {
	d, err := readings.New(readings.Config{Source: "file"})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		text  string
		fault decode.SensorFault
		value float64
	}{
		{"-127", decode.Impossible, -127}, {"850", decode.Impossible, 850}, {"-999", decode.Impossible, -999}, {"9999", decode.Impossible, 9999},
		{"nan", decode.NoAnswer, 0}, {"NaN", decode.NoAnswer, 0}, {"--", decode.NoAnswer, 0}, {"1e999", decode.NoAnswer, 0},
	} {
		err := d.Decode(capture.Record{Source: "file", Channel: readings.Channel(decode.Flow), Payload: []byte(tt.text)}, func(r decode.Reading) { t.Errorf("%q is a reading: %v", tt.text, r) })
		e, ok := errors.AsType[*decode.Error](err)
		if want := (decode.Series{Source: "file", Point: decode.Flow}); !ok || e.Series != want || e.Fault != tt.fault || e.Value != tt.value {
			t.Errorf("%q: %+v", tt.text, e)
		}
	}
}
