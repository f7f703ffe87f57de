package jobsheet

import (
	"slices"
	"strings"
	"testing"
)

func TestChanges(t *testing.T) {
	cases := []struct {
		name, old, new string
		want           []string
	}{
		{"none", "", "", nil},
		{"a comment", "[plant]", "# again\n[plant]", nil},
		{"a value", "design_flow_c     = 70.0", "design_flow_c = 55", []string{"plant.design_flow_c was 70, is 55"}},
		{"a key more", "[site]", "client = \"B. Tenant\"\n[site]", []string{`job.client is "B. Tenant", was not given`}},
		{"a key less", "baud = 9600\n", "", []string{"source boiler: baud was 9600, is not given any more"}},
		{"a long text", "300 mm below", "200 mm below", []string{"source probes: at was a long text, is a long text"}},
		{"a probe", `01f4" = "flow"`, `01f4" = "cylinder"`, []string{`source probes: points.28-0000a71c01f4 was "flow", is "cylinder"`}},
	}
	was, err := Parse("job.toml", []byte(whole1))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			is, err := Parse("job.toml", []byte(strings.Replace(whole1, c.old, c.new, 1)))
			if err != nil {
				t.Fatal(err)
			}
			if got := Changes(was, is); !slices.Equal(got, c.want) {
				t.Errorf("changes are %q, want %q", got, c.want)
			}
		})
	}
}
