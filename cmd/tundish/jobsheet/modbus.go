package jobsheet

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"tundish/decode/modbus"
	"tundish/decode/unit"
)

// Modbus are the keys of kinds modbus-tcp and modbus-rtu. Serial path, baud and interval are the source's own Port,
// Baud and Interval.
type Modbus struct {
	Host     string        // TCP: name or address
	TCPPort  int           // TCP
	Parity   string        // RTU: even, odd or none; empty: even
	StopBits int           // RTU; 0: 1 with parity, 2 without
	Unit     uint8         // of the device
	Timeout  time.Duration // for an answer; 0: the source's default
	// Gap is how many registers that nobody asked for may be read along so that two entries come in one answer, Longest
	// the most registers a request asks for.
	Gap, Longest int
	Map          []modbus.Entry
}

// modbusBaud is the rate of a serial line that is not told otherwise (MODBUS over Serial Line V1.02, 3.2: 19.2 kbps is
// the default).
const modbusBaud = 19200

// mostRegisters is the most entries of a register map. Own proposal: more than there are points.
const mostRegisters = 100

var (
	modbusKeys    = []string{"unit_id", "interval_s", "timeout_ms", "word_order", "byte_order", "join_gap", "longest_request", "registers"}
	modbusTCPKeys = append([]string{"host", "port"}, modbusKeys...)
	modbusRTUKeys = append([]string{"port", "baud", "parity", "stop_bits"}, modbusKeys...)
	// modbusOwn are those that are read here and not as of other kinds.
	modbusOwn    = []string{"host", "port", "parity", "stop_bits", "unit_id", "timeout_ms", "word_order", "byte_order", "join_gap", "longest_request", "registers"}
	registerKeys = []string{"point", "table", "function", "address", "register", "type", "bit", "word_order", "byte_order",
		"scale", "offset", "unit", "invert", "absent", "unit_id"}
)

// isModbus tells whether a kind has these keys.
func isModbus(kind string) bool { return kind == "modbus-tcp" || kind == "modbus-rtu" }

// modbusKey takes one key of a Modbus source; registers waits for [reader.modbus], since it needs the others.
func (r *reader) modbusKey(s *Source, path, key string, v any) (err error) {
	if s.Modbus == nil {
		s.Modbus = &Modbus{}
	}
	m := s.Modbus
	switch key {
	case "host":
		m.Host, err = asHost(v)
	case "port":
		if s.Kind == "modbus-tcp" {
			m.TCPPort, err = asWhole(v, 1, 65535)
			break
		}
		s.Port, err = asText(v)
	case "parity":
		err = asWord(v, &m.Parity, "even", "odd", "none")
	case "stop_bits":
		m.StopBits, err = asWhole(v, 1, 2)
	case "unit_id":
		m.Unit, err = asUnitID(v, s.Kind)
	case "timeout_ms":
		var ms int
		ms, err = asWhole(v, 50, 10000)
		m.Timeout = time.Duration(ms) * time.Millisecond
	case "join_gap":
		m.Gap, err = asWhole(v, 0, 100)
	case "longest_request":
		m.Longest, err = asWhole(v, 4, 125)
	case "word_order", "byte_order":
		_, err = asOrder(v)
	}
	return err
}

// asHost takes a name or an address. What could hold a password is not repeated.
func asHost(v any) (string, error) {
	h, err := asText(v)
	switch {
	case err != nil:
		return "", err
	case strings.ContainsAny(h, "@/ "):
		return "", errors.New("is a name or an address alone, such as \"192.0.2.7\"; nothing before or after it")
	case strings.Count(h, ":") == 1:
		return "", errors.New("is a name or an address alone; the port has a key of its own, port = 502")
	}
	return h, nil
}

// asUnitID takes a device's address: 1 to 247 on a serial line (MODBUS over Serial Line V1.02, 2.2; 0 is the broadcast,
// which nobody answers), any byte but 0 over TCP.
func asUnitID(v any, kind string) (uint8, error) {
	most := 247
	if kind == "modbus-tcp" {
		most = 255
	}
	n, err := asWhole(v, 1, most)
	return uint8(n), err
}

func asWord(v any, put *string, words ...string) error {
	t, ok := v.(string)
	if !ok || !slices.Contains(words, t) {
		return fmt.Errorf("must be one of %s, not %s", quoted(words), describe(v))
	}
	*put = t
	return nil
}

// asOrder takes the order of words or bytes.
func asOrder(v any) (little bool, err error) {
	var word string
	err = asWord(v, &word, "big", "little")
	return word == "little", err
}

// modbus completes a Modbus source once all its keys were taken: what is not given, and the register map.
func (r *reader) modbus(s *Source, path string, t map[string]any) {
	if s.Modbus == nil {
		s.Modbus = &Modbus{}
	}
	m := s.Modbus
	if _, given := t["baud"]; !given && s.Kind == "modbus-rtu" {
		s.Baud = modbusBaud
	}
	if m.Unit == 0 {
		m.Unit = 1
	}
	if m.TCPPort == 0 {
		m.TCPPort = 502 // MODBUS Messaging on TCP/IP Implementation Guide V1.0b, 3.1.3
	}
	if m.Longest == 0 {
		m.Longest = 125
	}
	path += ".registers"
	v, given := t["registers"]
	if !given {
		return
	}
	list, ok := v.([]any)
	if !ok || len(list) == 0 || len(list) > mostRegisters {
		r.fail(path, "must be an array of 1 to %d tables: [ { point = \"flow\", table = \"input\", address = 0, type = \"i16\", scale = 0.1 }, … ]", mostRegisters)
		return
	}
	for i, x := range list {
		p := fmt.Sprintf("%s[%d]", path, i)
		if e, ok := r.register(s, p, x, t); ok {
			r.addRegister(s, p, e)
		}
	}
}

// addRegister adds an entry that goes with those before it.
func (r *reader) addRegister(s *Source, path string, e modbus.Entry) {
	for _, other := range s.Modbus.Map {
		if other.Point == e.Point {
			r.fail(path, "%q is read from %s already: one source gives a point once", e.Point, other.Place())
			return
		}
		if err := modbus.Conflict(other, e); err != nil {
			r.fail(path, "%v", err)
			return
		}
	}
	s.Modbus.Map = append(s.Modbus.Map, e)
}

// register reads one entry of the map. source has the orders that hold where the entry gives none.
func (r *reader) register(s *Source, path string, v any, source map[string]any) (e modbus.Entry, ok bool) {
	t, isTable := v.(map[string]any)
	if !isTable {
		r.fail(path, "must be a table: { point = \"…\", table = \"input\", address = 0, type = \"…\" }")
		return e, false
	}
	before := len(r.errs)
	for _, k := range sortedKeys(t) {
		p := path + "." + k
		if !slices.Contains(registerKeys, k) {
			r.unknown(p, k, registerKeys)
			continue
		}
		if err := registerKey(&e, s, k, t[k]); err != nil {
			r.fail(p, "%v", err)
		}
	}
	for _, k := range []string{"word_order", "byte_order"} {
		if _, own := t[k]; !own && source[k] != nil {
			_ = registerKey(&e, s, k, source[k]) // an error was told at the source's own key
		}
	}
	if e.Unit == s.Modbus.Unit {
		e.Unit = 0
	}
	if len(r.errs) > before {
		return e, false
	}
	if err := whereFrom(&e, t); err != nil {
		r.fail(path, "%v", err)
		return e, false
	}
	if u, given := t["unit"]; given {
		to, err := unit.Between(u.(string), e.Point.Unit())
		if err != nil {
			r.fail(path+".unit", "%v", err)
			return e, false
		}
		e.To = to
	}
	if err := e.Check(); err != nil {
		r.fail(path, "%v", err)
		return e, false
	}
	return e, true
}

// registerKey takes one key of an entry.
func registerKey(e *modbus.Entry, s *Source, key string, v any) (err error) {
	switch key {
	case "point":
		e.Point, err = asPoint(v)
	case "table":
		var word string
		err = asWord(v, &word, "holding", "input")
		if err == nil && e.Table != 0 && e.Table.String() != word { // function comes first in the alphabet
			return fmt.Errorf("%q is read by the other function: give one of the two keys", word)
		}
		e.Table = map[string]modbus.Table{"holding": modbus.Holding, "input": modbus.Input}[word]
	case "function":
		n, isNumber := v.(int64)
		if !isNumber || n != 3 && n != 4 {
			return fmt.Errorf("must be 3 or 4, not %s: registers are read and nothing else; an input or coil that the device also has as a bit of a register comes as bit = 0 to 15", describe(v))
		}
		e.Table = modbus.Table(n)
	case "address":
		var n int
		n, err = asWhole(v, 0, 65535)
		e.Address = uint16(n)
	case "register":
		_, _, err = asRegister(v)
	case "type":
		word, _ := v.(string)
		ok := false
		if e.Type, ok = modbus.ParseType(word); !ok {
			return fmt.Errorf("must be one of %s, not %s", quoted(modbus.Types()), describe(v))
		}
	case "bit":
		var n int
		n, err = asWhole(v, 0, 15)
		e.Bit = uint8(n)
	case "word_order":
		e.LittleWords, err = asOrder(v)
	case "byte_order":
		e.LittleBytes, err = asOrder(v)
	case "scale":
		e.Scale, err = asNumber(v, "the unit", -1e12, 1e12)
		if err == nil && e.Scale == 0 {
			return errors.New("0 makes nothing of every value; leave the key out for 1")
		}
	case "offset":
		e.Offset, err = asNumber(v, "the unit", -1e12, 1e12)
	case "unit":
		_, err = asText(v)
	case "invert":
		e.Invert, err = asBool(v)
	case "absent":
		err = asAbsent(e, v)
	case "unit_id":
		e.Unit, err = asUnitID(v, s.Kind)
	}
	return err
}

func asAbsent(e *modbus.Entry, v any) error {
	list, ok := v.([]any)
	if !ok || len(list) > 16 {
		return fmt.Errorf("must be an array of at most 16 raw values: [0x8000, 65535]")
	}
	for _, x := range list {
		switch n := x.(type) {
		case int64:
			e.Absent = append(e.Absent, n)
		case float64:
			e.AbsentFloats = append(e.AbsentFloats, n)
		default:
			return fmt.Errorf("holds %s, which is no number", describe(x))
		}
	}
	return nil
}

// asRegister reads a number as manuals print it, counted from 1 with the table in front: 40001 or 400001 is the first
// holding register, 30001 or 300001 the first input register. With five digits there are 9999, with six 65536.
func asRegister(v any) (modbus.Table, uint16, error) {
	n, ok := v.(int64)
	switch {
	case ok && n >= 30001 && n <= 39999:
		return modbus.Input, uint16(n - 30001), nil
	case ok && n >= 40001 && n <= 49999:
		return modbus.Holding, uint16(n - 40001), nil
	case ok && n >= 300001 && n <= 365536:
		return modbus.Input, uint16(n - 300001), nil
	case ok && n >= 400001 && n <= 465536:
		return modbus.Holding, uint16(n - 400001), nil
	}
	return 0, 0, fmt.Errorf("must be 30001 to 39999 or 300001 to 365536 (input), 40001 to 49999 or 400001 to 465536 (holding), not %s; an address counted from 0 is address = … with table = …", describe(v))
}

// whereFrom settles which registers an entry means, and its type where bit says it.
func whereFrom(e *modbus.Entry, t map[string]any) error {
	has := func(k string) bool { return t[k] != nil }
	switch {
	case has("address") == has("register"):
		return errors.New("give either address = … (from 0) with table = …, or register = … (40001 and so on)")
	case has("address") && e.Table == 0:
		return errors.New(`table is missing: "holding" (function 3) or "input" (function 4)`)
	case has("register"):
		table, address, _ := asRegister(t["register"])
		if e.Table != 0 && e.Table != table {
			return fmt.Errorf("register %v is in the %s table, not in the %s one", t["register"], table, e.Table)
		}
		e.Table, e.Address = table, address
	}
	switch {
	case !has("point"):
		return errors.New("point is missing")
	case has("bit") && !has("type"):
		e.Type = modbus.Bit
	case has("bit") && e.Type != modbus.Bit:
		return fmt.Errorf("a bit has no type %s; leave type out", e.Type)
	case !has("bit") && e.Type == modbus.Bit:
		return errors.New("bit is missing: 0 (lowest) to 15")
	case !has("type") && !has("bit"):
		return fmt.Errorf("type is missing: one of %s", quoted(modbus.Types()))
	}
	if f := e.Type == modbus.F32 || e.Type == modbus.F64; f { // absent = [-9999] is as good as [-9999.0]
		for _, n := range e.Absent {
			e.AbsentFloats = append(e.AbsentFloats, float64(n))
		}
		e.Absent = nil
	}
	return nil
}
