package house

import (
	"bufio"
	"context"
	"encoding/hex"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"tundish/capture"
)

// Names of the files that [Scenario.WriteFiles] writes.
const (
	FileJob    = "job.toml"
	FileBus    = "bus.log"    // timed lines
	FileProbes = "probes.csv" // readings
)

// fileTime is RFC 3339 with the microseconds of a record.
const fileTime = "2006-01-02T15:04:05.000000Z07:00"

// WriteFiles runs the scenario into files as they come in from elsewhere: a job sheet, the bus's lines as the adapter
// printed them, and the probes' readings, a row a sweep, all with the time that the logger's clock showed. What a
// logger would note of a device that is gone has no place in such files: the lines are missing.
//
// The folder is made if it does not exist. A file that exists is never overwritten: the error names it. On any error,
// the listener's and ctx's too, nothing that was begun is left behind.
func (s Scenario) WriteFiles(ctx context.Context, seed uint64, dir string, l Listener) (truth Truth, err error) {
	out := folder{dir: dir}
	defer func() {
		if e := out.close(); err == nil {
			err = e
		}
		if err != nil {
			out.remove()
		}
	}()
	if err := out.make(); err != nil {
		return truth, err
	}
	job, err := out.create(FileJob)
	if err != nil {
		return truth, err
	}
	if _, err := job.Write(s.fileSheet()); err != nil {
		return truth, err
	}
	var bus *bufio.Writer
	var rows table
	if !s.NoBus {
		if bus, err = out.create(FileBus); err != nil {
			return truth, err
		}
	}
	if !s.NoProbes {
		w, err := out.create(FileProbes)
		if err != nil {
			return truth, err
		}
		rows = newTable(w, &s.Probes)
		rows.header()
	}
	also := l.Record
	l.Record = func(r capture.Record) error {
		var err error
		switch {
		case r.Note != "":
		case r.Source == SourceBus:
			err = timedLine(bus, s.Wall(r.At), r.Payload)
		default:
			err = rows.take(s.Wall(r.At), &r)
		}
		if err != nil || also == nil {
			return err
		}
		return also(r)
	}
	truth, err = s.Simulate(ctx, seed, l)
	if err == nil && !s.NoProbes {
		err = rows.flush()
	}
	return truth, err
}

// timedLine writes a line with its time; what was cut off has its line end from the file.
func timedLine(w *bufio.Writer, wall time.Time, line []byte) error {
	var buf [len(fileTime) + 6]byte
	w.Write(wall.AppendFormat(buf[:0], fileTime))
	w.WriteByte(' ')
	_, err := w.Write(line)
	if n := len(line); err == nil && (n == 0 || line[n-1] != '\n') {
		err = w.WriteByte('\n')
	}
	return err // a bufio.Writer keeps the first
}

// table writes readings, a row a sweep. A readings file holds values as they are meant: its reader adds no offset, so
// the job sheet's offset_k is already in them. Only the power-on value stands as the chip gives it: it is no
// measurement that a calibration could mend.
type table struct {
	w       *bufio.Writer
	points  []string
	columns map[string]int // by ROM
	offset  []float64      // K, by column
	row     []string
	sweep   uint32 // of the row under way; 0: none
	wall    time.Time
}

func newTable(w *bufio.Writer, p *ProbeSpec) table {
	t := table{w: w, columns: map[string]int{}}
	add := func(rom, point string, offset float64) {
		t.columns[rom] = len(t.points)
		t.points, t.offset, t.row = append(t.points, point), append(t.offset, offset), append(t.row, "")
	}
	add(p.FlowROM, "flow", 0)
	add(p.ReturnROM, "return", -p.RetOffK)
	for _, x := range p.extra() {
		add(x.rom, x.point, 0)
	}
	return t
}

func (t *table) header() { t.w.WriteString("time," + strings.Join(t.points, ",") + "\n") }

func (t *table) take(wall time.Time, r *capture.Record) error {
	if r.Sweep != t.sweep {
		if err := t.flush(); err != nil {
			return err
		}
		t.sweep, t.wall = r.Sweep, wall
	}
	c, measured, ok := celsiusOf(r.Payload)
	if !ok {
		return nil
	}
	i := t.columns[r.Channel]
	if measured {
		c += t.offset[i]
	}
	t.row[i] = strconv.FormatFloat(math.Round(c*1e4)/1e4, 'f', -1, 64)
	return nil
}

// flush writes the row under way.
func (t *table) flush() error {
	if t.sweep == 0 {
		return nil
	}
	t.sweep = 0
	var buf [len(fileTime) + 6]byte
	t.w.Write(t.wall.AppendFormat(buf[:0], fileTime))
	for i, cell := range t.row {
		t.w.WriteByte(',')
		t.w.WriteString(cell)
		t.row[i] = ""
	}
	return t.w.WriteByte('\n')
}

// celsiusOf reads the two temperature bytes of a scratchpad whose checksum the kernel found right; not measured is the
// value that a chip shows before its first conversion.
func celsiusOf(text []byte) (c float64, measured, ok bool) {
	var pad [9]byte
	if len(text) < 40 || string(text[36:39]) != "YES" {
		return 0, false, false
	}
	for i := range pad {
		if _, err := hex.Decode(pad[i:i+1], text[3*i:3*i+2]); err != nil {
			return 0, false, false
		}
	}
	return float64(int16(uint16(pad[1])<<8|uint16(pad[0]))) / 16, pad != powerOnPad, true
}

// folder is where files are being written, all or none.
type folder struct {
	dir   string
	made  bool
	files []*os.File
	bufs  []*bufio.Writer
}

func (f *folder) make() error {
	err := os.Mkdir(f.dir, 0o777)
	if f.made = err == nil; errors.Is(err, os.ErrExist) {
		return nil // a file of that name shows itself at once
	}
	return err
}

func (f *folder) create(name string) (*bufio.Writer, error) {
	file, err := os.OpenFile(filepath.Join(f.dir, name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return nil, err
	}
	f.files, f.bufs = append(f.files, file), append(f.bufs, bufio.NewWriterSize(file, 1<<16))
	return f.bufs[len(f.bufs)-1], nil
}

func (f *folder) close() (err error) {
	for i, file := range f.files {
		err = errors.Join(err, f.bufs[i].Flush(), file.Close())
	}
	return err
}

// remove takes away what create and make made.
func (f *folder) remove() {
	for _, file := range f.files {
		os.Remove(file.Name())
	}
	if f.made {
		os.Remove(f.dir)
	}
}
