package main

import (
	"bufio"
	"context"
	"fmt"
	"math"
	"net"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"tundish/capture"
	"tundish/cmd/tundish/jobsheet"
	"tundish/decode"
)

// encoder writes values with pymodbus' own payload builder: type, order of words and bytes, value, registers.
const encoder = `
from pymodbus.payload import BinaryPayloadBuilder
from pymodbus.constants import Endian
orders = {"big": Endian.Big, "little": Endian.Little}
for w in orders:
    for b in orders:
        for name, add, value in [("u16", "16bit_uint", 54321), ("i16", "16bit_int", -12345), ("u32", "32bit_uint", 3000000001),
                ("i32", "32bit_int", -123456789), ("u64", "64bit_uint", 98765432109), ("i64", "64bit_int", -98765432109),
                ("f32", "32bit_float", 21.5), ("f64", "64bit_float", -1234.56789)]:
            p = BinaryPayloadBuilder(byteorder=orders[b], wordorder=orders[w])
            getattr(p, "add_" + add)(value)
            print(name, w, b, value, b"".join(p.build()).hex())
`

// TestModbusAgainstAnotherEncoder takes the whole way from job sheet to reading: registers that pymodbus encoded, in
// its server, read over TCP and decoded by the map.
func TestModbusAgainstAnotherEncoder(t *testing.T) {
	const python = "/usr/bin/python3" // Debian's, which has python3-pymodbus
	out, err := exec.CommandContext(t.Context(), python, "-c", encoder).Output()
	if err != nil {
		t.Fatalf("%v: is Debian's python3-pymodbus installed?", err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	port := l.Addr().(*net.TCPAddr).Port
	l.Close()
	peer := exec.CommandContext(t.Context(), python, "../../capture/modbus/testdata/peer.py", "tcp", fmt.Sprint(port))
	peer.Stderr = os.Stderr
	in, err := peer.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	says, err := peer.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := peer.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = peer.Process.Kill(); _ = peer.Wait() })
	lines := bufio.NewScanner(says)
	await := func(word string) {
		for lines.Scan() {
			if lines.Text() == word {
				return
			}
		}
		t.Fatalf("the server ended before it said %q", word)
	}
	await("ready")
	n := 0
	for row := range strings.Lines(string(out)) {
		var typ, words, order, registers string
		var want float64
		if _, err := fmt.Sscan(row, &typ, &words, &order, &want, &registers); err != nil {
			t.Fatal(err)
		}
		n++
		fmt.Fprintf(in, "set holding 40 %s\n", registers)
		await("ok")
		sheet := fmt.Sprintf("[job]\nname = \"x\"\n[[source]]\nname = \"meter\"\nkind = \"modbus-tcp\"\nhost = \"127.0.0.1\"\nport = %d\nword_order = %q\nbyte_order = %q\n"+
			"registers = [ { point = \"heat-energy\", register = 40041, type = %q } ]\n", port, words, order, typ)
		s, err := jobsheet.Parse("job.toml", []byte(sheet))
		if err != nil {
			t.Fatal(err)
		}
		src, err := openModbus(&s.Sources[0], capture.StartClock())
		if err != nil {
			t.Fatal(err)
		}
		dec, err := decodeModbus(&s.Sources[0], s)
		if err != nil {
			t.Fatal(err)
		}
		got := math.NaN()
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
		err = src.Capture(ctx, func(r capture.Record) error {
			r.Seq, r.Time = 1, time.Date(2026, 1, 12, 12, 0, 0, 0, time.UTC)
			cancel()
			return dec.Decode(r, func(r decode.Reading) { got = r.Value })
		})
		cancel()
		if err != nil || got != want {
			t.Errorf("%s: %v, %v", strings.TrimSpace(row), got, err)
		}
	}
	if n != 32 {
		t.Errorf("%d values were tried, want 32", n)
	}
}
