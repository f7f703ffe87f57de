package jobsheet

import (
	"fmt"
	"strings"
	"time"

	"tundish/capture/readingscsv"
	"tundish/decode"
	"tundish/decode/readings"
	"tundish/decode/unit"
)

// Table says how a file is written that a logger of any kind has made, and what its columns mean:
//
//	[source.table]
//	time        = "Date Time"              # heading of the time; ["Date", "Time"] where it stands in two columns
//	time_format = "DD.MM.YYYY HH:mm:ss"    # left out: RFC 3339 or Unix seconds; "unix-ms" for milliseconds
//	timezone    = "Europe/Berlin"          # of local times; left out: the job's
//	decimal     = ","                      # left out: "."
//	separator   = ";"                      # left out: the one that stands most often in the headings; "tab" for a tab
//	heading     = 12                       # line of the headings; left out: the first line that has that of the time
//	encoding    = "windows-1252"           # left out: UTF-8, or as a byte order mark says
//	absent      = ["---", "n/a"]           # cells that say that there is no value
//	columns     = { "Flow [°F]" = "flow", "P1" = { point = "pressure", unit = "kPa" }, "Pump" = { point = "pump", on = ["running"], off = ["idle"] } }
//
// A unit in brackets at the end of a heading is the column's, where none is given.
type Table struct {
	Form    readingscsv.Form
	Columns map[string]readings.Column
	// Contacts are the columns that hold something where it changed, and stand until the next row that does.
	Contacts []Contact
}

var (
	tableKeys  = []string{"time", "time_format", "timezone", "decimal", "separator", "heading", "encoding", "absent", "columns"}
	columnKeys = []string{"point", "unit", "scale", "offset", "on", "off", "invert", "reports", "heartbeat_s"}
)

// fileTable reads [source.table].
func (r *reader) fileTable(path string, v any) *Table {
	t, ok := v.(map[string]any)
	if !ok {
		r.fail(path, "must be a table: [source.table]")
		return nil
	}
	out := &Table{Columns: map[string]readings.Column{}}
	comma := false
	var absent []string
	for _, k := range sortedKeys(t) {
		var err error
		switch v := t[k]; k {
		case "time":
			out.Form.Time, err = asTexts(v)
		case "time_format":
			out.Form.Layout, err = asLayout(v)
		case "timezone":
			var name string
			if name, err = asText(v); err == nil {
				out.Form.Zone, err = time.LoadLocation(name)
			}
			if err != nil || name == "Local" {
				err = fmt.Errorf("%s is no time zone of the IANA database, such as \"Europe/London\"", describe(v))
			}
		case "decimal":
			d, isText := v.(string)
			if comma = d == ","; !isText || d != "," && d != "." {
				err = fmt.Errorf("must be \".\" or \",\", not %s", describe(v))
			}
		case "separator":
			d, _ := v.(string)
			if d == "tab" {
				d = "\t"
			}
			if len(d) != 1 || !strings.Contains(",;|\t", d) {
				err = fmt.Errorf("must be one of \",\", \";\", \"|\", \"tab\", not %s", describe(v))
				break
			}
			out.Form.Separator = d[0]
		case "heading":
			out.Form.Heading, err = asWhole(v, 1, 1000)
		case "encoding":
			d, _ := v.(string)
			if out.Form.Windows1252 = d == "windows-1252"; d != "utf-8" && d != "windows-1252" {
				err = fmt.Errorf("must be \"utf-8\" or \"windows-1252\", not %s", describe(v))
			}
		case "absent":
			absent, err = asTexts(v)
		case "columns":
			r.tableColumns(path+".columns", v, out)
		default:
			r.unknown(path+"."+k, k, tableKeys)
		}
		if err != nil {
			r.fail(path+"."+k, "%v", err)
		}
	}
	if comma && out.Form.Separator == ',' {
		r.fail(path+".decimal", "is a comma, and so is the separator")
	}
	if len(out.Columns) == 0 && !r.failed(path+".columns") {
		r.fail(path, "columns is missing: which heading means which point")
	}
	for heading, c := range out.Columns {
		c.Comma, c.Absent = comma, absent
		out.Columns[heading] = c
		out.Form.Want = append(out.Form.Want, heading)
	}
	return out
}

// tableColumns reads the columns of a table.
func (r *reader) tableColumns(path string, v any, out *Table) {
	t, ok := v.(map[string]any)
	if !ok {
		r.fail(path, "must be a table of headings: { \"Flow [°C]\" = \"flow\", … }")
		return
	}
	taken := map[decode.Point]string{}
	for _, heading := range sortedKeys(t) {
		p := path + "." + heading
		c, err := r.tableColumn(p, heading, t[heading])
		if err != nil {
			r.fail(p, "%v", err)
			continue
		}
		if other, twice := taken[c.Point]; twice {
			r.fail(p, "%q stands in column %q already: a source gives a point once", c.Point, other)
			continue
		}
		taken[c.Point] = heading
		if keys, isTable := t[heading].(map[string]any); isTable && c.Point.Binary() {
			x, ok, err := contactOf(c.Point, keys, reportsRegularly)
			if err != nil {
				r.fail(p, "%v", err)
				continue
			}
			if ok {
				out.Contacts = append(out.Contacts, x)
			}
		}
		out.Columns[heading] = c
	}
}

func (r *reader) tableColumn(path, heading string, v any) (c readings.Column, err error) {
	var name any = v
	from, scale, offset, contact := unitOf(heading), 1.0, 0.0, ""
	if t, isTable := v.(map[string]any); isTable {
		name = nil
		for _, k := range sortedKeys(t) {
			switch v := t[k]; k {
			case "point":
				name = v
			case "unit":
				from, err = asText(v)
			case "scale":
				if scale, err = asNumber(v, "", -1e9, 1e9); err == nil && scale == 0 {
					err = fmt.Errorf("is 0: every value would be")
				}
			case "offset":
				offset, err = asNumber(v, "", -1e9, 1e9)
			case "on":
				c.On, err = asTexts(v)
			case "off":
				c.Off, err = asTexts(v)
			case "invert":
				c.Invert, err = asBool(v)
			case "reports", "heartbeat_s": // read once the point is known
				contact = k
			default:
				r.unknown(path+"."+k, k, columnKeys)
			}
			if err != nil {
				return c, fmt.Errorf("%s %w", k, err)
			}
		}
	}
	if c.Point, err = asPoint(name); err != nil {
		return c, err
	}
	if !c.Point.Binary() && (c.Invert || contact != "") {
		return c, fmt.Errorf("%q is in %s: invert, reports and heartbeat_s are for what is 0 or 1", c.Point, c.Point.Unit())
	}
	c.Scale = unit.Scale{Factor: scale, Offset: offset}
	if from != "" {
		to, err := unit.Between(from, c.Point.Unit())
		if err != nil {
			return c, err
		}
		c.Scale = unit.Scale{Factor: scale * to.Factor, Offset: offset*to.Factor + to.Offset}
	}
	return c, nil
}

// unitOf is the unit that stands in brackets at the end of a heading; empty where none does that is known.
func unitOf(heading string) string {
	for _, b := range []string{"[]", "()"} {
		inner, ok := strings.CutSuffix(strings.TrimSpace(heading), b[1:])
		i := strings.LastIndex(inner, b[:1])
		if !ok || i < 0 {
			continue
		}
		if name := strings.TrimSpace(inner[i+1:]); len(unit.Known(name)) > 0 {
			return name
		}
	}
	return ""
}

// asTexts takes a text or a list of texts.
func asTexts(v any) ([]string, error) {
	list, ok := v.([]any)
	if !ok {
		list = []any{v}
	}
	var out []string
	for _, x := range list {
		t, err := asText(x)
		if err != nil {
			return nil, err
		}
		out = append(out, t)
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("is an empty list")
	}
	return out, nil
}

// layoutWords are the letters of a time format, the longer ones first where one begins another.
var layoutWords = strings.NewReplacer("YYYY", "2006", "YY", "06", "MMM", "Jan", "MM", "01", "M", "1", "DD", "02", "D", "2",
	"HH", "15", "hh", "03", "h", "3", "mm", "04", "ss", "05", "AM", "PM", "ZZ", "Z07:00", "±hhmm", "-0700")

// asLayout takes a time format in letters: "DD.MM.YYYY HH:mm:ss".
func asLayout(v any) (string, error) {
	text, err := asText(v)
	if err != nil {
		return "", err
	}
	switch text {
	case "rfc3339", "unix":
		return "", nil
	case readingscsv.UnixMillis:
		return text, nil
	}
	for _, part := range []string{"YY", "M", "D"} {
		if !strings.Contains(text, part) {
			return "", fmt.Errorf("%q: %s is missing; it is written like \"DD.MM.YYYY HH:mm:ss\"", text, part)
		}
	}
	if !strings.Contains(text, "HH") && !strings.Contains(text, "AM") {
		return "", fmt.Errorf("%q: HH is missing, or hh with AM", text)
	}
	layout := layoutWords.Replace(text)
	// What Go's clock writes by a layout it must read again: else letters were meant that are none.
	const form = "2006-01-02T15:04"
	probe := time.Date(2026, 11, 23, 14, 35, 0, 0, time.UTC)
	back, err := time.Parse(layout, probe.Format(layout))
	if err != nil || back.UTC().Format(form) != probe.Format(form) {
		return "", fmt.Errorf("%q is not understood; it is written like \"DD.MM.YYYY HH:mm:ss\"", text)
	}
	return layout, nil
}
