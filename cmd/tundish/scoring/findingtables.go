package scoring

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tundish/analyse"
	"tundish/cmd/tundish/cases"
)

// Markdown writes the score for people. command is the command line that makes it: same command, same bytes.
func (f *Findings) Markdown(command string) string {
	var b strings.Builder
	f.preface(&b, command)
	b.WriteString("\n## By kind\n\n")
	kindsTable(&b, f.Told)
	b.WriteString(severityWords)
	f.severities(&b)
	b.WriteString(causeWords)
	f.causes(&b)
	fmt.Fprintf(&b, eventWords, every(eventTolerance))
	f.events(&b)
	b.WriteString(soundWords)
	f.sound(&b)
	b.WriteString(buildWords)
	f.builds(&b)
	if len(f.Worse) > 0 {
		f.worse(&b)
	}
	return b.String()
}

func (f *Findings) kinds() (list []string) {
	for _, k := range cases.Kinds() {
		if slices.ContainsFunc(f.Told, func(t Told) bool { return t.Label.Kind == k }) {
			list = append(list, k)
		}
	}
	return list
}

var countColumns = []string{"TP", "FN clear", "FN n/a", "FP", "TN", "TN n/a", "precision", "recall", "F1", "arguable", "unseen n/a", "unseen clear"}

// kindsTable is the table of the answers by kind.
func kindsTable(b *strings.Builder, told []Told) {
	t := lines{append([]string{"kind"}, countColumns...)}
	by := countBy(told, kindOf)
	for _, k := range cases.Kinds() {
		if c := by[k]; c != nil {
			t = append(t, countsLine(k, c))
		}
	}
	all := total(told)
	t.write(b, countsLine("**all**", &all))
}

func countsLine(name string, c *Counts) []string {
	n := func(v ...verdict) string {
		sum := 0
		for _, x := range v {
			sum += c[x]
		}
		return strconv.Itoa(sum)
	}
	argued := n(arguedFound, arguedClear, arguedOpen)
	if c[arguedFound] > 0 {
		argued += fmt.Sprintf(" (%d found)", c[arguedFound])
	}
	open := n(unseenOpen, spared)
	if c[unseenFound] > 0 {
		open += fmt.Sprintf(" (+%d found)", c[unseenFound])
	}
	return []string{name, n(hit), n(missedClear), n(missedOpen), n(falseAlarm), n(rightClear), n(rightOpen), ratio(c.Precision()),
		ratio(c.Recall()), ratio(c.F1()), argued, open, n(unseenClear)}
}

// severities is the table of recall by how bad it truly is, and of the look-alikes.
func (f *Findings) severities(b *strings.Builder) {
	t := lines{{"kind", "slight", "moderate", "severe", "look-alikes wrongly found"}}
	by := countBy(f.Told, func(t *Told) string { return t.Label.Kind + " " + string(t.Label.Severity) })
	like := countBy(slices.DeleteFunc(slices.Clone(f.Told), func(t Told) bool { return t.Case.LookAlikeOf != t.Label.Kind }), kindOf)
	for _, k := range f.kinds() {
		line := []string{k}
		for _, s := range []cases.Severity{cases.Slight, cases.Moderate, cases.Severe} {
			c := by[k+" "+string(s)]
			if c == nil {
				c = &Counts{}
			}
			line = append(line, of(c[hit], c.There()))
		}
		c := like[k]
		if c == nil {
			c = &Counts{}
		}
		t = append(t, append(line, of(c[falseAlarm], c[falseAlarm]+c[rightClear]+c[rightOpen]+c[unseenOpen]+c[unseenClear]+c[spared])))
	}
	t.write(b)
}

func (f *Findings) causes(b *strings.Builder) {
	t := lines{{"kind", "first", "named"}}
	by := causesBy(f.Told)
	var all CauseCount
	for _, k := range f.kinds() {
		if c := by[k]; c != nil {
			t = append(t, []string{k, of(c.First, c.Known), of(c.Named, c.Known)})
			all.Known, all.First, all.Named = all.Known+c.Known, all.First+c.First, all.Named+c.Named
		}
	}
	t.write(b, []string{"**all**", of(all.First, all.Known), of(all.Named, all.Known)})
}

func (f *Findings) events(b *strings.Builder) {
	e := lockoutEvents(f.Told)
	lines{{"lockouts", "true", "told", "matched", "onset in time", "end in time", "cause", "onset", "end"},
		{"by bus", strconv.Itoa(e.True), strconv.Itoa(e.Found), of(e.Matched, e.True), of(e.OnsetIn, e.True), of(e.EndIn, e.Ended), of(e.CauseRight, e.True),
			e.Onset.String(), e.End.String()}}.write(b)
}

// sound is what was found at homes to which nothing was done.
func (f *Findings) sound(b *strings.Builder) {
	type home struct {
		name string
		seed uint64
	}
	homes, any, act := map[home]bool{}, map[home]bool{}, map[home]bool{}
	var list []string
	for i := range f.Told {
		t := &f.Told[i]
		if !t.Case.Healthy() {
			continue
		}
		h := home{t.Case.Name, t.Seed}
		homes[h] = true
		if t.Finding == nil {
			continue
		}
		any[h] = true
		if t.Finding.Severity == analyse.Act {
			act[h] = true
		}
		list = append(list, fmt.Sprintf("* %s, seed %d: %s (%s): %s\n", h.name, h.seed, t.Label.Kind, t.Finding.Severity, t.Finding.Summary))
	}
	lines{{"sound homes", "with any finding", "with one to act on"}, {strconv.Itoa(len(homes)), strconv.Itoa(len(any)), strconv.Itoa(len(act))}}.write(b)
	if len(list) > 0 {
		b.WriteString("\n" + strings.Join(list, ""))
	}
}

func (f *Findings) builds(b *strings.Builder) {
	t := lines{append([]string{"build"}, countColumns...)}
	by := countBy(f.Told, buildOf)
	for _, x := range cases.Builds() {
		if c := by[x.Name]; c != nil {
			name := x.Name
			if slices.Contains(LeftOut(), name) {
				name += " *"
			}
			t = append(t, countsLine(name, c))
		}
	}
	t.write(b)
}
