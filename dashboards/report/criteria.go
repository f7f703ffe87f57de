package report

// criteria are the tables of every threshold that was used, a check each.
func (c *composer) criteria() []section {
	s := section{level: 2, id: "criteria", title: "Criteria"}
	if len(c.res.Criteria) == 0 {
		s.blocks = []block{para{text: "No criteria are at hand."}}
		return []section{s}
	}
	s.blocks = []block{para{text: "The values by which the checks decided, and where each comes from, a check after the other. " +
		"An own proposal is a choice of this program's makers, for which no source was found."}}
	out := []section{s}
	for _, k := range c.res.Criteria {
		id := "criteria-" + cleanText(k.Kind)
		if out[len(out)-1].id != id {
			out = append(out, section{level: 3, id: id, title: kindTitle(k.Kind), blocks: []block{
				table{head: []string{"Criterion", "Value", "Source"}, numeric: []bool{false, true, false}, dense: true}}})
		}
		t := out[len(out)-1].blocks[0].(table)
		source := cleanText(k.Source)
		if source == "" {
			source = "not stated"
		}
		t.rows = append(t.rows, []string{cleanText(k.Name), withUnit(k.Value, cleanText(k.Unit)), source})
		out[len(out)-1].blocks[0] = t
	}
	return out
}
