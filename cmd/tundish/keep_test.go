package main

import (
	"crypto/sha256"
	"log/slog"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tundish/analyse"
	"tundish/decode"
)

// filler gives every field of a value something of its own.
type filler struct {
	t *testing.T
	n int
}

func (f *filler) fill(v reflect.Value, path string) {
	f.n++
	if v.Type() == reflect.TypeFor[time.Time]() {
		v.Set(reflect.ValueOf(time.Unix(1_700_000_000+int64(f.n), int64(f.n)*1_000_003%1_000_000_000).UTC()))
		return
	}
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		v.SetInt(int64(f.n%120 + 1))
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		v.SetUint(uint64(f.n%120 + 1))
	case reflect.Float32, reflect.Float64:
		v.SetFloat(float64(f.n) / 7)
	case reflect.String:
		v.SetString("°" + string(rune('a'+f.n%26)))
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		f.fill(v.Elem(), path)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		f.fill(v.Index(0), path+"[0]")
		f.fill(v.Index(1), path+"[1]")
	case reflect.Array:
		for i := range v.Len() {
			f.fill(v.Index(i), path)
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		key, value := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
		f.fill(key, path)
		f.fill(value, path)
		v.SetMapIndex(key, value)
	case reflect.Struct:
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if !field.IsExported() && !field.Anonymous {
				f.t.Fatalf("%s.%s is not exported: it would be lost when a day is kept", path, field.Name)
			}
			f.fill(v.Field(i), path+"."+field.Name)
		}
	default:
		f.t.Fatalf("%s: a %s cannot be kept", path, v.Kind())
	}
}

// Nothing of a part is lost on the way into a file and back: every field, of all that it holds.
func TestKeptPartsAreWhole(t *testing.T) {
	var kept keptChunk
	f := &filler{t: t}
	f.fill(reflect.ValueOf(&kept).Elem(), "chunk")
	if f.n < 500 {
		t.Fatalf("only %d fields were filled", f.n)
	}
	there(t, &kept)
}

// What is nothing stays nothing, and is not taken for empty; what is no usual number stays what it is.
func TestKeptPartsKeepNothing(t *testing.T) {
	nought, none := 0.0, math.NaN()
	kept := keptChunk{Parts: []*analyse.Part{{}}, Unread: map[string]uint64{}}
	f := &filler{t: t}
	f.fill(reflect.ValueOf(&kept.Parts).Elem(), "parts")
	kept.Parts[0].Facts.Lockouts[0].Preceding.Flow = nil
	kept.Parts[0].Facts.Lockouts[0].Preceding.Outside = &nought
	kept.Parts[0].Facts.Lockouts[1].Preceding.Outside = &none
	kept.Parts[0].Facts.Firings = kept.Parts[0].Facts.Firings[:0]
	kept.Parts[0].Facts.Sights = nil
	kept.Parts[0].First = time.Time{}
	kept.Parts[0].Series[0].Min = math.Inf(1)
	kept.Parts[0].Series[0].Max = math.Copysign(0, -1)
	there(t, &kept)
}

// there sends a chunk through a file and compares.
func there(t *testing.T, kept *keptChunk) {
	t.Helper()
	text, err := packChunk(kept, sha256.Sum256(nil))
	if err != nil {
		t.Fatal(err)
	}
	back, err := unpackChunk(text, sha256.Sum256(nil))
	if err != nil {
		t.Fatal(err)
	}
	bits := cmp.Comparer(func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) })
	all := cmp.Exporter(func(reflect.Type) bool { return true })
	times := cmp.Comparer(func(a, b time.Time) bool { return a == b })
	if d := cmp.Diff(kept, back, bits, all, times); d != "" {
		t.Errorf("kept and read again (-kept +read):\n%s", d)
	}
}

// What was used longest ago goes first.
func TestTrim(t *testing.T) {
	k := keeperOf(t, t.TempDir(), "one")
	now := time.Now()
	for i := range 6 {
		p := k.path([sha256.Size]byte{byte(i)})
		if err := os.WriteFile(p, make([]byte, 1000), 0o600); err != nil {
			t.Fatal(err)
		}
		used := now.Add(time.Duration(i-9) * time.Hour)
		if err := os.Chtimes(p, used, used); err != nil {
			t.Fatal(err)
		}
	}
	letter := filepath.Join(k.folder, "letter.txt")
	if err := os.WriteFile(letter, make([]byte, 9000), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := k.trim(2500); err != nil {
		t.Fatal(err)
	}
	for i := range 6 {
		if _, err := os.Stat(k.path([sha256.Size]byte{byte(i)})); (err == nil) != (i >= 4) {
			t.Errorf("file %d: %v", i, err)
		}
	}
	if _, err := os.Stat(letter); err != nil {
		t.Errorf("what is none of ours is gone: %v", err)
	}
}

// Where nothing can be kept the analysis goes on.
func TestNowhereToKeep(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	log := slog.New(slog.DiscardHandler)
	t.Setenv(keepEnv, filepath.Join(file, "below"))
	if k := (keepFlags{}).keeper(log); k != nil {
		t.Errorf("a folder below a file: %+v", k)
	}
	t.Setenv(keepEnv, keepOff)
	if k := (keepFlags{}).keeper(log); k != nil {
		t.Errorf("off: %+v", k)
	}
	folder := filepath.Join(t.TempDir(), "kept")
	t.Setenv(keepEnv, folder)
	if k := (keepFlags{NoCache: true}).keeper(log); k != nil {
		t.Errorf("--no-cache: %+v", k)
	}
	k := keepFlags{}.keeper(log)
	if k == nil || k.folder != folder {
		t.Fatalf("%s: %+v", folder, k)
	}
	if info, err := os.Stat(folder); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the folder can be read by others: %v %v", info, err)
	}
	if err := os.RemoveAll(folder); err != nil { // lost while it works
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "job.capture")
	g := grow(t, path, 5*time.Minute, 500)
	g.until(2 * 24 * time.Hour)
	g.close()
	if worked, taken := check(t, path, "", k); worked == 0 || taken != 0 {
		t.Errorf("%d chunks are worked out, %d taken", worked, taken)
	}
}

// FuzzKept: what is no kept part is refused, whatever stands in the file.
func FuzzKept(f *testing.F) {
	kept := keptChunk{Parts: []*analyse.Part{{}}, Counted: map[string][]decode.Count{"boiler": {{Name: "lines", N: 3}}}}
	enc, _, err := keptForm()
	if err != nil {
		f.Fatal(err)
	}
	plain, err := enc.Marshal(kept)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(plain)
	f.Add([]byte{0xa1, 0x65, 'P', 'a', 'r', 't', 's', 0x9b, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff})
	f.Fuzz(func(t *testing.T, plain []byte) {
		back, err := readParts(plain)
		if err != nil {
			return
		}
		for _, p := range back.Parts {
			if p == nil || p.Facts == nil {
				t.Fatal("an empty part was let pass")
			}
		}
	})
}
