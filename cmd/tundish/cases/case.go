package cases

import (
	"hash/fnv"
	"math/rand/v2"
	"strings"

	"tundish/cmd/tundish/house"
)

// Severity is how bad a way is meant to be: how far it lies from sound, not what follows from it.
type Severity string

const (
	Slight   Severity = "slight" // near the border of the criterion, may be arguable
	Moderate Severity = "moderate"
	Severe   Severity = "severe"
)

// Case is a home with what was done to it.
type Case struct {
	Name, Doc   string
	Build       string   // name of its build
	Days        int      // length of the record
	Intended    []string // kinds that the way is meant to bring; the label says what came
	LookAlikeOf string   // the kind that it resembles and must not be; "" where it is none
	Severity    Severity // of the first kind intended; "" where none is
	Cause       string   // the cause to be named first, where there is a word for it; else ""
	// Causes are the words that may stand first, by kind, where the library has any; see wordsFor.
	Causes map[string][]string

	change func(*house.Scenario, *rand.Rand)
	needs  func(*house.Scenario) bool // nil: fits every build
}

// All lists the cases: the sound builds first, then kind by kind, then the homes with several faults. Names are unique.
func All() []Case {
	list := healthy()
	for _, w := range ways() {
		list = append(list, w.cases()...)
	}
	return append(list, several()...)
}

// Find gives the case of a name.
func Find(name string) (Case, bool) {
	for _, c := range All() {
		if c.Name == name {
			return c, true
		}
	}
	return Case{}, false
}

// Healthy tells that nothing was done to the home.
func (c Case) Healthy() bool { return len(c.Intended) == 0 && c.LookAlikeOf == "" }

// Scenario is the case as a house to simulate. The seed varies the build and, within bounds, the way; the same name and
// seed give the same scenario every time.
func (c Case) Scenario(seed uint64) house.Scenario {
	b, _ := FindBuild(c.Build)
	r := rand.New(rand.NewPCG(seed, hash(c.Name)))
	s := b.make(r)
	s.Days = c.Days
	if c.change != nil {
		c.change(&s, r)
	}
	s.Name, s.Doc = c.Name, c.Doc
	s.JobName = homes[(hash(c.Name)+seed)%uint64(len(homes))]
	return s
}

// On is the same way on another build; false where it does not fit there. Builds that no case uses together with a way
// make homes that nobody has tuned anything to.
func (c Case) On(build string) (Case, bool) {
	b, ok := FindBuild(build)
	if !ok {
		return Case{}, false
	}
	sample := b.make(rand.New(rand.NewPCG(1, hash(build))))
	if c.needs != nil && !c.needs(&sample) {
		return Case{}, false
	}
	c.Name += "-on-" + build
	c.Build = build
	return c, true
}

// hash is a name's number, the same for ever.
func hash(name string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(name))
	return h.Sum64()
}

// homes are invented names for job sheets.
var homes = strings.Split("Mossbank 4,Lantern Row 12,Old Dairy,Ferry Steps 3,Alder Close 21,Tinker's End,Bellfield 8,"+
	"Copper Beech House,Saltmarsh Way 5,Ninefields 17,The Malt Loft,Pinfold 2,Windlass Court 9,Hazel Bank 30,Reedcutter's Cottage,"+
	"Ropewalk 6,Upper Orchard 1,Cinder Lane 15,Heron's Rest,Fuller's Yard 7", ",")
