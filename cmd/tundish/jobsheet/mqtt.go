package jobsheet

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"tundish/decode"
	"tundish/decode/payload"
	"tundish/decode/unit"
)

// MQTT are the keys of kind mqtt. User and password are not among them: the sheet is stored in the capture and goes where
// it goes.
type MQTT struct {
	Address string // host:port
	Secure  bool   // TLS
	// CA is a file of certificates of authorities, instead of the machine's; Certificate and Key are the client's own.
	// They are as seen from the working folder: beside the sheet, where the sheet names no full path.
	CA, Certificate, Key string
	ClientID             string
	// User and password come from a file or from a variable of the environment. Empty: none.
	UserFile, UserEnv, PasswordFile, PasswordEnv string
	Topics                                       []string // topic filters, each once
	Values                                       []payload.Value
	Contacts                                     []Contact // the values that are told when they change
}

var (
	mqttKeys = []string{"broker", "ca", "certificate", "key", "client_id", "user_file", "user_env", "password_file", "password_env", "topic"}
	// secretKeys are what people write for what does not belong here.
	secretKeys = []string{"user", "username", "user_name", "login", "password", "pass", "passwd", "pwd", "passphrase", "secret", "token", "credentials", "auth"}
	topicKeys  = []string{"topic", "point", "path", "unit", "scale", "offset", "on", "off", "invert", "reports", "heartbeat_s", "time", "time_unit"}
	envRule    = regexp.MustCompile(`^[A-Z_][A-Z0-9_]{0,99}$`)
	// idRule: what every broker takes (MQTT 3.1.1, 3.1.3.1).
	idRule = regexp.MustCompile(`^[0-9a-zA-Z]{1,23}$`)
)

const (
	// mostTopics is the most topics of a source. Own proposal.
	mostTopics = 200
	// longestFilter is the longest topic filter, in bytes; a broker takes 65535 (MQTT 3.1.1, 4.7.3). Own proposal.
	longestFilter = 256
	// mostWords is the most words for on, or for off.
	mostWords = 20
)

// isSecret tells whether a key is for what does not belong in the sheet.
func isSecret(key string) bool { return slices.Contains(secretKeys, strings.ToLower(key)) }

// secret refuses a key without repeating what stands there.
func (r *reader) secret(path, key string) {
	what := "a password"
	if k := strings.ToLower(key); strings.HasPrefix(k, "user") || k == "login" {
		what = "a user name"
	}
	r.fail(path, "%s does not belong in a job sheet, which is stored in the capture; user_file, user_env, password_file and password_env say where it stands", what)
}

// mqttKey takes one key of an mqtt source.
func (r *reader) mqttKey(s *Source, path, key string, v any) (err error) {
	if s.MQTT == nil {
		s.MQTT = &MQTT{}
	}
	m := s.MQTT
	switch key {
	case "broker":
		m.Address, m.Secure, err = asBroker(v)
	case "ca":
		m.CA, err = r.besideSheet(v)
	case "certificate":
		m.Certificate, err = r.besideSheet(v)
	case "key":
		m.Key, err = r.besideSheet(v)
	case "client_id":
		id, _ := v.(string)
		if !idRule.MatchString(id) {
			return fmt.Errorf("must be 1 to 23 letters and digits, not %s", describe(v))
		}
		m.ClientID = id
	case "user_file":
		m.UserFile, err = r.besideSheet(v)
	case "password_file":
		m.PasswordFile, err = r.besideSheet(v)
	case "user_env":
		m.UserEnv, err = asEnv(v)
	case "password_env":
		m.PasswordEnv, err = asEnv(v)
	case "topic":
		r.topics(s, path, v)
	}
	return err
}

// besideSheet takes the name of a file, as seen from the sheet's folder.
func (r *reader) besideSheet(v any) (string, error) {
	name, err := asText(v)
	if err != nil {
		return "", errors.New("must be the name of a file")
	}
	if !filepath.IsAbs(name) {
		name = filepath.Join(filepath.Dir(r.file), name)
	}
	return name, nil
}

// asEnv takes the name of a variable. What is no such name may be a password and is not repeated.
func asEnv(v any) (string, error) {
	name, _ := v.(string)
	if !envRule.MatchString(name) {
		return "", errors.New("must be the name of a variable of the environment, in capitals: \"BROKER_PASSWORD\"")
	}
	return name, nil
}

// asBroker takes mqtt://host:port or mqtts://host:port. It repeats nothing of what may hold a password.
func asBroker(v any) (address string, secure bool, err error) {
	text, err := asText(v)
	if err != nil {
		return "", false, errors.New("must be a text: \"mqtts://broker.example:8883\"")
	}
	u, err := url.Parse(text)
	switch {
	case err != nil || u.Scheme != "mqtt" && u.Scheme != "mqtts":
		return "", false, errors.New("must be mqtt://HOST:PORT, or mqtts://HOST:PORT for TLS")
	case u.User != nil || strings.Contains(text, "@"):
		return "", false, errors.New("holds a user or a password, which do not belong in a job sheet, since it is stored in the capture; user_file, user_env, password_file and password_env say where they stand")
	case u.Hostname() == "" || u.Path != "" && u.Path != "/" || u.RawQuery != "" || u.Fragment != "" || u.Opaque != "":
		return "", false, errors.New("must be mqtt://HOST:PORT or mqtts://HOST:PORT, with nothing behind it")
	}
	port := u.Port()
	if secure = u.Scheme == "mqtts"; port == "" {
		port = "1883" // registered with IANA: mqtt, and secure-mqtt below
		if secure {
			port = "8883"
		}
	}
	return net.JoinHostPort(u.Hostname(), port), secure, nil
}

// mqtt completes an mqtt source once all its keys were taken.
func (r *reader) mqtt(s *Source, path string, t map[string]any) {
	if s.MQTT == nil {
		s.MQTT = &MQTT{}
	}
	m := s.MQTT
	for _, pair := range [][2]string{{"user_file", "user_env"}, {"password_file", "password_env"}} {
		if t[pair[0]] != nil && t[pair[1]] != nil {
			r.fail(path+"."+pair[1], "give either %s or %s", pair[0], pair[1])
		}
	}
	if t["password_file"] != nil || t["password_env"] != nil {
		if t["user_file"] == nil && t["user_env"] == nil { // MQTT 3.1.1, 3.1.2.9: no password without a user
			r.fail(path, "user_file or user_env is missing: there is no password without a user name")
		}
	}
	if (t["certificate"] == nil) != (t["key"] == nil) {
		r.fail(path, "certificate and key go together")
	}
	for _, k := range []string{"ca", "certificate"} {
		if t[k] != nil && m.Address != "" && !m.Secure {
			r.fail(path+"."+k, "is of no use without TLS: broker = \"mqtts://…\"")
		}
	}
	if m.ClientID == "" { // the same at each start, another for another job
		sum := sha256.Sum256([]byte(r.sheet.Job.Name + "\x00" + s.Name))
		m.ClientID = "tundish" + hex.EncodeToString(sum[:8])
	}
}

// topics takes [[source.topic]], or topic = [ … ].
func (r *reader) topics(s *Source, path string, v any) {
	list, ok := v.([]any)
	if one, isOne := v.(map[string]any); isOne {
		list, ok = []any{one}, true
	}
	if !ok || len(list) == 0 || len(list) > mostTopics {
		r.fail(path, "must be tables, 1 to %d: [[source.topic]] with topic = \"…\", point = \"…\"", mostTopics)
		return
	}
	taken := map[decode.Point]string{}
	for i, x := range list {
		p := fmt.Sprintf("%s[%d]", path, i)
		t, ok := x.(map[string]any)
		if !ok {
			r.fail(p, "must be a table: { topic = \"…\", point = \"…\" }")
			continue
		}
		before := len(r.errs)
		val, filter := r.topic(p, t)
		if len(r.errs) > before {
			continue
		}
		if !slices.Contains(s.MQTT.Topics, filter) {
			s.MQTT.Topics = append(s.MQTT.Topics, filter)
		}
		if val.Point == decode.NoPoint {
			continue
		}
		if other, twice := taken[val.Point]; twice {
			r.fail(p, "%q comes from topic %q already: one source gives a point once", val.Point, other)
			continue
		}
		taken[val.Point] = filter
		if val.Point.Binary() {
			c, ok, err := contactOf(val.Point, t, reportsChanges)
			if err != nil {
				r.fail(p, "%v", err)
				continue
			}
			if val.OnChange = ok; ok {
				s.MQTT.Contacts = append(s.MQTT.Contacts, c)
			}
		}
		s.MQTT.Values = append(s.MQTT.Values, val)
	}
}

// topic reads one entry. Without a point its messages are recorded only.
func (r *reader) topic(path string, t map[string]any) (v payload.Value, filter string) {
	for _, k := range sortedKeys(t) {
		p := path + "." + k
		if isSecret(k) {
			r.secret(p, k)
		} else if !slices.Contains(topicKeys, k) {
			r.unknown(p, k, topicKeys)
		} else if err := topicKey(&v, &filter, k, t[k]); err != nil {
			r.fail(p, "%v", err)
		}
	}
	has := func(k string) bool { return t[k] != nil }
	switch {
	case !has("topic"):
		r.fail(path, "topic is missing")
	case !has("point"):
		for _, k := range topicKeys[2:] {
			if has(k) {
				r.fail(path+"."+k, "is of no use without a point")
			}
		}
	case strings.ContainsAny(filter, "+#"):
		r.fail(path+".topic", "a point is of one sensor: give its topic without + and #; with them topics are recorded only, and have no point")
	case v.Point == decode.NoPoint: // told already
	case v.Point.Binary() && (has("scale") || has("offset") || has("unit")):
		r.fail(path, "%q is 0 or 1 and has no scale, offset or unit; on = [\"…\"] and off = [\"…\"] name other words", v.Point)
	case !v.Point.Binary() && (has("on") || has("off") || has("invert") || has("reports") || has("heartbeat_s")):
		r.fail(path, "%q is in %s: on and off are for what is 0 or 1, as are invert, reports and heartbeat_s", v.Point, v.Point.Unit())
	case has("on") != has("off"):
		r.fail(path, "on and off go together: each names all of its words")
	case has("time_unit") && !has("time"):
		r.fail(path+".time_unit", "is of no use without time, the path of the sender's time")
	case has("unit"):
		name, _ := t["unit"].(string)
		to, err := unit.Between(name, v.Point.Unit())
		if err != nil {
			r.fail(path+".unit", "%v", err)
		}
		v.To = to
	}
	for _, w := range v.On {
		if slices.ContainsFunc(v.Off, func(o string) bool { return strings.EqualFold(o, w) }) {
			r.fail(path+".off", "%q stands in on as well", w)
		}
	}
	return v, filter
}

func topicKey(v *payload.Value, filter *string, key string, x any) (err error) {
	switch key {
	case "topic":
		*filter, err = asFilter(x)
		v.Topic = *filter
	case "point":
		v.Point, err = asPoint(x)
	case "path":
		v.Path, err = asPath(x)
	case "time":
		var p payload.Path
		p, err = asPath(x)
		v.Time = &p
	case "time_unit":
		units := map[string]payload.TimeUnit{"rfc3339": payload.RFC3339, "s": payload.Seconds, "ms": payload.Millis}
		name, _ := x.(string)
		u, ok := units[name]
		if !ok {
			return fmt.Errorf("must be \"rfc3339\" (the default), \"s\" or \"ms\" since 1970, not %s", describe(x))
		}
		v.TimeUnit = u
	case "unit":
		_, err = asText(x)
	case "scale":
		v.Scale, err = asNumber(x, "the unit", -1e12, 1e12)
		if err == nil && v.Scale == 0 {
			return errors.New("0 makes nothing of every value; leave the key out for 1")
		}
	case "offset":
		v.Offset, err = asNumber(x, "the unit", -1e12, 1e12)
	case "invert":
		v.Invert, err = asBool(x)
	case "reports":
		_, err = asReports(x)
	case "heartbeat_s":
		_, err = asHeartbeat(x)
	case "on":
		v.On, err = asWords(x)
	case "off":
		v.Off, err = asWords(x)
	}
	return err
}

// asFilter takes a topic filter (MQTT 3.1.1, 4.7.1): + is a whole level, # the last one.
func asFilter(v any) (string, error) {
	f, err := asText(v)
	if err != nil {
		return "", err
	}
	if len(f) > longestFilter {
		return "", fmt.Errorf("is longer than %d bytes", longestFilter)
	}
	levels := strings.Split(f, "/")
	for i, l := range levels {
		if strings.Contains(l, "+") && l != "+" || strings.Contains(l, "#") && (l != "#" || i < len(levels)-1) {
			return "", fmt.Errorf("%q: + stands for one whole level, # for all that follow and comes last", f)
		}
	}
	return f, nil
}

func asPath(v any) (payload.Path, error) {
	text, err := asText(v)
	if err != nil {
		return payload.Path{}, err
	}
	return payload.ParsePath(text)
}

func asWords(v any) (words []string, err error) {
	list, ok := v.([]any)
	if !ok || len(list) == 0 || len(list) > mostWords {
		return nil, fmt.Errorf("must be an array of 1 to %d words: [\"running\"]", mostWords)
	}
	for _, x := range list {
		w, err := asText(x)
		if err != nil {
			return nil, err
		}
		words = append(words, strings.TrimSpace(w))
	}
	return words, nil
}
