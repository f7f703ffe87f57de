package payload

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
)

func TestPaths(t *testing.T) {
	const text = ` {"t": {"flow": 61.5, "a.b": [1, {"x": "ON"}, null]}, "sensors": [{"temp": -3e-1}, {"temp": 48}],
	"outside temp": {"value": true}, "\u0074\"": 7, "é": 8, "": 9, "deep": {"t": {"flow": 1}}} `
	for path, want := range map[string]string{
		"t.flow": "61.5", `t["a.b"][1].x`: `"ON"`, `t["a.b"][0]`: "1", `t["a.b"][2]`: "null", "sensors[0].temp": "-3e-1",
		"sensors[1].temp": "48", `["outside temp"].value`: "true", `["t\""]`: "7", "é": "8", `["é"]`: "8", `[""]`: "9",
		"deep.t.flow": "1", "sensors[0]": `{"temp": -3e-1}`,
	} {
		p, err := ParsePath(path)
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		if got, _, err := find([]byte(text), p); err != nil || string(got) != want {
			t.Errorf("%s is %q, %v; want %q", path, got, err, want)
		}
	}
	for _, path := range []string{"t", "x", "t.x", "sensors[2]", "sensors.temp", "t[0]", `t["a.b"][3]`, "t.flow.x", "t.flow[0]"} {
		p, err := ParsePath(path)
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		if got, _, err := find([]byte(text), p); path != "t" && !errors.Is(err, ErrNone) {
			t.Errorf("%s is %q, %v", path, got, err)
		}
	}
	for _, path := range []string{"", ".", "a.", ".a", "a..b", "a[", "a[]", "a[-1]", "a[01]", "a[1.5]", "a[9999999]", "a]b", `a"b`, `["a`, `["a"`,
		`["a"x]`, "a[0]b", `["\q"]`, strings.Repeat("a.", 16) + "a"} {
		if p, err := ParsePath(path); err == nil {
			t.Errorf("%q is taken as %+v", path, p)
		}
	}
}

func TestBadJSON(t *testing.T) {
	p, err := ParsePath("a")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]error{
		`{"a": 1, "a": 2}`:  ErrTwice,
		`{"a": 1} x`:        ErrJSON,
		`{"a": 01}`:         ErrJSON,
		`{"a": NaN}`:        ErrJSON,
		`{"a": +1}`:         ErrJSON,
		`{"a": 1,}`:         ErrJSON,
		`{"a": .5}`:         ErrJSON,
		`{"a": 1`:           ErrJSON,
		`{"a": "\x"}`:       ErrJSON,
		"{\"a\": \"\x01\"}": ErrJSON,
		`[1, 2]`:            ErrNone,
		`5`:                 ErrNone,
		``:                  ErrJSON,
		`{"a": 1, "b": ` + strings.Repeat("[", DepthMost) + strings.Repeat("]", DepthMost) + "}": ErrDeep,
		strings.Repeat("[", 1<<20):       ErrDeep,
		strings.Repeat(`{"a":`, 200_000): ErrDeep,
	} {
		if got, _, err := find([]byte(text), p); !errors.Is(err, want) {
			t.Errorf("%.40q gives %q, %v; want %v", text, got, err, want)
		}
	}
}

// FuzzFind holds the walker to encoding/json: both take the same texts (but for depth), and both find the same value.
func FuzzFind(f *testing.F) {
	for _, s := range []string{`{"a": {"b": [1, 2.5e3, "x\u00e9"]}}`, `[null, true, {"a": -0.0}]`, `{"a":1,"a":2}`, `"\ud800"`, "\xff", "{\"a\xff\":1}", ``} {
		f.Add([]byte(s), "a.b[1]")
		f.Add([]byte(s), `["a"]`)
	}
	f.Fuzz(func(t *testing.T, text []byte, path string) {
		p, err := ParsePath(path)
		if err != nil {
			return
		}
		got, at, err := find(text, p)
		if at < 0 || at > len(text) {
			t.Fatalf("offset %d", at)
		}
		if errors.Is(err, ErrDeep) || errors.Is(err, ErrTwice) {
			return
		}
		if sound := json.Valid(text); sound == errors.Is(err, ErrJSON) {
			t.Fatalf("sound is %v, yet %v", sound, err)
		}
		var tree any
		if json.Unmarshal(text, &tree) != nil {
			return
		}
		for _, s := range p.steps {
			object, _ := tree.(map[string]any)
			array, _ := tree.([]any)
			var ok bool
			if tree, ok = object[s.name]; s.index >= 0 {
				if ok = s.index < len(array); ok {
					tree = array[s.index]
				}
			} else if object == nil {
				ok = false
			}
			if !ok {
				if err == nil {
					t.Fatalf("%s finds %q where nothing is", p, got)
				}
				return
			}
		}
		var value any
		if err != nil || json.Unmarshal(got, &value) != nil {
			t.Fatalf("%s finds %q, %v", p, got, err)
		}
		a, _ := json.Marshal(tree)
		b, _ := json.Marshal(value)
		if string(a) != string(b) {
			t.Fatalf("%s finds %s, encoding/json %s", p, b, a)
		}
	})
}
