package report

import "strings"

// seal says what stands behind the record, and what does not.
func (c *composer) seal() section {
	p := c.in.Proof
	var facts pairs
	facts.add("Capture file", p.File)
	facts.add("Chain head", orUnknown(p.knownHead()))
	if p.knownHead() != "" || p.Blocks > 0 { // a chain that does not hold was not counted to its end
		facts.add("Sealed blocks", grouped(p.Blocks))
		facts.add("Records", grouped(p.Records))
	}
	if p.Tail > 0 {
		facts.add("Not sealed yet", plural(p.Tail, "record at the end", "records at the end"))
	}
	facts.add("Checked for this report", sealState(p))
	s := section{level: 2, id: "seal", title: "The seal and what it proves", blocks: []block{facts}}
	if len(c.in.Damaged) > 0 {
		l := list{}
		for _, d := range c.in.Damaged {
			l.items = append(l.items, item{"", capital(cleanText(d))})
		}
		s.blocks = append(s.blocks, para{text: "What could not be read, and is missing from the analysis:"}, l)
	}
	if p.Recording {
		s.blocks = append(s.blocks, para{warning, "The capture was still being recorded: its chain head will differ once more has been sealed."})
	}
	s.blocks = append(s.blocks, list{items: []item{
		{"What a whole chain proves.", "The capture is written in blocks, and each block carries a fingerprint (SHA-256) of itself and of the block before. " +
			"The chain head is the last fingerprint. As long as the file gives this head, nothing that was sealed has been changed since: " +
			"no record, no job sheet, no clock observation, no mark."},
		{"What it does not prove.", "It does not say who made the file, that the logger's clock was right, or that the probes sat where the job sheet says. " +
			"Somebody who makes a whole new file also gets a whole chain, with another head: a head that both parties noted at the time, on paper or in a message, rules that out. " +
			"Records at the end that are not sealed yet are not covered."},
		{"How to check it.", checkWords(p)},
	}})
	return s
}

// checkWords tell a third party what to do.
func checkWords(p Proof) string {
	run := "Ask for the capture file itself; this report is only read from it. Run “tundish verify " + verifyName(p.File) + "” on it: "
	if p.knownHead() == "" {
		return run + "the command says whether the chain holds, and where it does not."
	}
	return run + "the command says whether the chain holds, and prints its head. The head must be, digit for digit, the one above; " +
		"its beginning stands at the foot of every page. Where a head was noted when the recording ended, it must be that one too."
}

func verifyName(file string) string {
	if f := cleanText(file); f != "" {
		return f
	}
	return "CAPTURE"
}

func orUnknown(s string) string {
	if cleanText(s) == "" {
		return "not known"
	}
	return s
}

func sealState(p Proof) string {
	problem := strings.TrimSuffix(cleanText(p.Problem), ".")
	switch {
	case problem != "":
		return "not whole: " + problem
	case !p.Intact:
		return "not shown to be whole"
	}
	return "whole: every sealed block fits the one before it"
}
