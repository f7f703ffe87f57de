package jobsheet

import (
	"os"
	"strings"
	"testing"
)

// Every example of SOURCES.md is a job sheet that can be read, once it has a job and a source.
func TestExamples(t *testing.T) {
	text, err := os.ReadFile("SOURCES.md")
	if err != nil {
		t.Fatal(err)
	}
	examples := strings.Split(string(text), "```toml\n")[1:]
	if len(examples) < 6 {
		t.Fatalf("only %d examples", len(examples))
	}
	for _, x := range examples {
		x, _, _ = strings.Cut(x, "```")
		sheet := "[job]\nname = \"x\"\ntimezone = \"UTC\"\n" + x
		if _, err := Parse("SOURCES.md", []byte(sheet)); err != nil {
			t.Errorf("%v\n%s", err, x)
		}
	}
}
