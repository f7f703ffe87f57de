package mbus

import (
	"bufio"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// peer is libmbus (BSD licence), an independent reading of the same telegrams, compiled with testdata/peer.c. The test
// command fetches its source; TUNDISH_LIBMBUS is the folder.
func peer(t *testing.T) func([]byte) []string {
	dir := os.Getenv("TUNDISH_LIBMBUS")
	if dir == "" {
		t.Skip("TUNDISH_LIBMBUS is not set: the folder of libmbus' source, to compare with; ./test sets it")
	}
	files, err := filepath.Glob(filepath.Join(dir, "mbus", "*.c"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s holds no libmbus: %v", dir, err)
	}
	program := filepath.Join(t.TempDir(), "peer")
	args := append([]string{"-O1", "-w", "-I", dir, "-I", filepath.Join(dir, "mbus"), "-o", program, "testdata/peer.c"}, files...)
	cc := exec.CommandContext(t.Context(), "cc", append(args, "-lm")...)
	if out, err := cc.CombinedOutput(); err != nil {
		t.Fatalf("compiling libmbus: %v\n%s", err, out)
	}
	run := exec.CommandContext(t.Context(), program)
	in, err1 := run.StdinPipe()
	out, err2 := run.StdoutPipe()
	if err1 != nil || err2 != nil || run.Start() != nil {
		t.Fatal(err1, err2)
	}
	t.Cleanup(func() { in.Close(); _ = run.Wait() })
	lines := bufio.NewScanner(out)
	return func(b []byte) (all []string) {
		fmt.Fprintf(in, "%X\n", b)
		for lines.Scan() {
			if strings.HasPrefix(lines.Text(), "end") {
				return append(all, lines.Text())
			}
			all = append(all, lines.Text())
		}
		t.Fatalf("libmbus ended at %X", b)
		return nil
	}
}

// theirs is what one of our units is in libmbus' unit: factor.
var theirs = map[string]float64{"kWh": 1e3, "MJ": 1e6, "kW": 1e3, "kJ/h": 1e3, "l/min": 1e-3, "min": 60, "h": 3600, "d": 86400,
	"months": 2629743.83, "years": 31556926} // its own lengths of a month and a year

// otherwise are the quantities that libmbus names in other words.
var otherwise = map[string]Quantity{"fabrication-no": FabricationNumber, "time-point-(date-&-time)": DateTime, "time-point-(date)": Date,
	"duration-since-last-readout": SinceReadOut, "duration-since-last-cumulation": SinceCumulation, "duration-of-tariff": TariffDuration,
	"period-of-tariff": TariffPeriod, "operating-time-battery": BatteryTime, "baudrate": BaudRate, "response-delay-time": ResponseDelay,
	"cold-/-warm-temperature-limit": TemperatureLimit}

// saidAs renders our value as libmbus' line has it, without quantity and unit.
func saidAs(v *Value) (place string, number float64) {
	f, ok := theirs[v.Unit]
	if !ok {
		f = 1
	}
	return fmt.Sprintf("%d|%d|%d|", v.Storage, v.Tariff, v.Subunit), v.Number * f
}

// compare reads a telegram both ways. It gives how many numbers were compared.
func compare(t *testing.T, ask func([]byte) []string, b []byte) (n int) {
	t.Helper()
	said := ask(b)
	var ours []*Value
	tel, _, err := Read(b, func(*Telegram) {}, func(v *Value) { own := *v; ours = append(ours, &own) })
	if err != nil {
		t.Fatalf("%X: %v", b, err)
	}
	last := said[len(said)-1]
	said = said[:len(said)-1]
	if len(tel.Maker) > 0 && len(said) == len(ours)+1 {
		said = said[:len(ours)] // it tells the maker's data as a record
	}
	if len(said) != len(ours) || (last == "end 1") != tel.More {
		t.Fatalf("%X: %d values here, more %v; libmbus %q, %s", b, len(ours), tel.More, said, last)
	}
	for i, v := range ours {
		place, number := saidAs(v)
		parts := strings.Split(said[i], "|")
		if !strings.HasPrefix(said[i], place) || len(parts) != 6 {
			t.Errorf("%X: %s has place %s here, libmbus says %s", b, v.Name(), place, said[i])
			continue
		}
		if name := strings.ReplaceAll(strings.ToLower(parts[3]), " ", "-"); name != v.Quantity.String() && otherwise[name] != v.Quantity {
			t.Errorf("%X: %s here is %q to libmbus", b, v.Name(), parts[3])
		}
		if v.Lack != Present {
			t.Logf("%s is %s here, libmbus says %s", v.Name(), v.Text(), said[i])
			continue
		}
		if text, is := strings.CutPrefix(parts[5], "="); is {
			if v.Quantity != FabricationNumber || text != fmt.Sprint(int(v.Number)) {
				t.Errorf("%s: %v here, libmbus has the text %q", v.Name(), v.Number, text)
			}
			continue
		}
		x, err := strconv.ParseFloat(parts[5], 64)
		// libmbus multiplies by inexact powers of ten, and takes a real's float32 as it is: seven digits.
		limit := 1e-12
		if v.field == fieldReal {
			limit = 1.2e-7
		}
		if err != nil || math.Abs(x-number) > limit*math.Max(math.Abs(x), 1e-30) {
			t.Errorf("%X: %s is %v %s here, libmbus says %s", b, v.Name(), v.Number, v.Unit, said[i])
		}
		n++
	}
	return n
}

// TestAgainstLibmbus reads the golden telegrams and thousands that are drawn at random, with a fixed seed.
func TestAgainstLibmbus(t *testing.T) {
	ask := peer(t)
	n := compare(t, ask, frame(t, heatMeter))
	n += compare(t, ask, frame(t, fixedHeat))
	r := rand.New(rand.NewPCG(13757, 3))
	seen := map[Quantity]int{}
	for range 3000 {
		var body []byte
		for records := 1 + r.IntN(8); records > 0 && len(body) < 150; records-- {
			body = append(body, drawn(r)...)
		}
		if r.IntN(10) == 0 {
			body = append(body, 0x1F, 1, 2, 3)
		}
		b := built(0x08, byte(r.IntN(251)), 0x72, append(frame(t, "78563412 4304 01 04 2A 00 0000"), body...)...)
		n += compare(t, ask, b)
		if _, _, err := Read(b, func(*Telegram) {}, func(v *Value) { seen[v.Quantity]++ }); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d numbers of %d quantities agree", n, len(seen))
	if n < 5000 {
		t.Errorf("only %d numbers were compared", n)
	}
}

// drawn makes a record that both readings know: what libmbus does otherwise is left out (digits that are none, the most
// negative number, VIFEs but multipliers, codes of its table marked reserved).
func drawn(r *rand.Rand) []byte {
	field := []byte{1, 2, 3, 4, 5, 6, 7, 9, 0xA, 0xB, 0xC, 0xE}[r.IntN(12)]
	dif := field | byte(r.IntN(4))<<4 | byte(r.IntN(2))<<6
	var b []byte
	dife := r.IntN(4)
	for i := range dife {
		b = append(b, byte(r.IntN(128)))
		if i < dife-1 {
			b[i] |= 0x80
		}
	}
	if dife > 0 {
		dif |= 0x80
	}
	b = append([]byte{dif}, b...)
	switch r.IntN(4) {
	case 0:
		codes := []byte{0x00, 0x01, 0x10, 0x11, 0x18, 0x19, 0x28, 0x29, 0x58, 0x5A, 0x5D, 0x5F, 0x62, 0x66, 0x76}
		b = append(b, 0xFB, codes[r.IntN(len(codes))])
	case 1:
		codes := []byte{0x3A, 0x1C, 0x1D, 0x24, 0x27, 0x2D, 0x32, 0x35, 0x39, 0x40, 0x49, 0x4F, 0x53, 0x5C, 0x60, 0x61, 0x68, 0x6B, 0x6C, 0x6F}
		b = append(b, 0xFD, codes[r.IntN(len(codes))])
	default:
		vif := byte(r.IntN(0x6C))
		if r.IntN(5) == 0 {
			b = append(b, vif|0x80, []byte{0x70, 0x73, 0x75, 0x76, 0x77, 0x7D}[r.IntN(6)])
		} else {
			b = append(b, vif)
		}
	}
	length := int(fieldLengths[field])
	for i := range length {
		x := byte(r.IntN(256))
		switch {
		case field >= 9:
			x = byte(r.IntN(10))<<4 | byte(r.IntN(10))
			if i == length-1 && r.IntN(4) == 0 {
				x |= 0xF0
			}
		case field == 5 && i == 3:
			x = 0x40 | byte(r.IntN(8)) | byte(r.IntN(2))<<7 // an exponent that seven digits print
		}
		b = append(b, x)
	}
	return b
}
