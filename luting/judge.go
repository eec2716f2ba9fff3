package luting

import (
	"fmt"
	"slices"
	"strings"

	"crownassay/reading"
)

// Standing is what the program says of a family.
type Standing string

// The standings.
const (
	Supported    Standing = "supported"
	Undecided    Standing = "undecided"
	NotSupported Standing = "not-supported"
)

// State is how one rule stands.
type State string

// The states of a rule.
const (
	Met    State = "met"
	NotMet State = "not-met"
	Open   State = "open" // too near a limit, not measured or not entered
)

// MakerFirst is said with every answer and every time.
const MakerFirst = "The maker's instructions for the material and the luting material in hand come first."

// Answer is what is said of one family.
type Answer struct {
	Family   Family
	Standing Standing
	Reasons  []Reason  // of every rule that holds here, what decides first
	Steps    []Step    // in their order; none of a family that is not supported is left out
	Refusals []Refusal // what is never done with this material or family
	Hazards  []Hazard  // of the agents of the steps
}

// Reason is how one rule stands.
type Reason struct {
	Rule   string
	Weight string // Needed or Caution
	State  State
	Found  string // what was found, in a sentence
	Says   string // why it matters
	From
}

// Verdict is all that is said of a crown.
type Verdict struct {
	Headline string
	Missing  []string // what was not entered and would help
	Answers  []Answer // in the order of the families
}

// Judge says of every family whether it is supported. What was entered is
// checked first.
func (r *Rules) Judge(c Case) (Verdict, error) {
	if err := c.Entered.Check(); err != nil {
		return Verdict{}, err
	}
	v := Verdict{Missing: []string{}}
	for _, f := range r.Families {
		v.Answers = append(v.Answers, r.answer(f, &c))
	}
	v.Headline = headline(v.Answers)
	for _, m := range []struct {
		what  string
		there bool
	}{
		{"isolation", c.Entered.Isolation != ""}, {"depth of the finish line below the gingiva", c.Entered.Depth != nil || c.measured("finish_line.depth")},
		{"substrate", c.Entered.Substrate != ""}, {"temporary cement before", c.Entered.Temporary != ""},
	} {
		if !m.there {
			v.Missing = append(v.Missing, m.what)
		}
	}
	return v, nil
}

func (c *Case) measured(id reading.ID) bool {
	r := c.find(id)
	return r != nil && r.Measured()
}

func (r *Rules) answer(f Family, c *Case) Answer {
	a := Answer{Family: f, Standing: Supported, Reasons: []Reason{}, Steps: []Step{}, Refusals: []Refusal{}, Hazards: []Hazard{}}
	for i := range r.Rules {
		rule := &r.Rules[i]
		if !rule.holds(f.Name, c.Material.Name, c.Class, c.Entered.Substrate) {
			continue
		}
		q := rule.look(c)
		a.Reasons = append(a.Reasons, q)
		if q.Weight == Needed {
			a.Standing = worse(a.Standing, q.State)
		}
	}
	slices.SortStableFunc(a.Reasons, func(p, q Reason) int { return p.rank() - q.rank() })
	for _, s := range r.Steps {
		if s.holds(f.Name, c.Material.Name, c.Class, c.Entered.Substrate) {
			a.Steps = append(a.Steps, s)
		}
	}
	for _, no := range r.Refusals {
		if no.holds(f.Name, c.Material.Name, c.Class, c.Entered.Substrate) {
			a.Refusals = append(a.Refusals, no)
		}
	}
	for _, h := range r.Hazards {
		if slices.ContainsFunc(a.Steps, func(s Step) bool { return s.Agent == h.Agent }) {
			a.Hazards = append(a.Hazards, h)
		}
	}
	return a
}

func worse(s Standing, q State) Standing {
	switch {
	case q == NotMet:
		return NotSupported
	case q == Open && s == Supported:
		return Undecided
	}
	return s
}

// rank orders reasons: what decides against first, then what is open, then
// cautions, then what is met.
func (q *Reason) rank() int {
	n := map[State]int{NotMet: 0, Open: 1, Met: 4}[q.State]
	if q.Weight == Caution && q.State != Met {
		n += 2
	}
	return n
}

// headline says in a sentence what the answers come to.
func headline(all []Answer) string {
	n := map[string]map[Standing]int{Bonded: {}, Cemented: {}, Temporary: {}}
	for _, a := range all {
		n[a.Family.How][a.Standing]++
	}
	bond, cement := n[Bonded], n[Cemented]
	switch {
	case bond[Supported] > 0 && cement[Supported] > 0:
		return "Cement conventionally or bond: both are supported."
	case cement[Supported] > 0 && bond[Undecided] > 0:
		return "Cement conventionally; whether it can be bonded is undecided."
	case cement[Supported] > 0:
		return "Cement conventionally: bonding is not supported."
	case bond[Supported] > 0 && cement[Undecided] > 0:
		return "Bond; whether it can be cemented conventionally is undecided."
	case bond[Supported] > 0:
		return "Bond: conventional cement is not supported."
	case bond[Undecided] > 0 && cement[Undecided] == 0:
		return "Undecided: conventional cement is not supported, and whether it can be bonded is open."
	case bond[Undecided]+cement[Undecided] > 0:
		return "Undecided: what is open stands with each family."
	}
	return "Nothing is supported as things are: the reasons say what would have to change."
}

// look compares what a rule needs with what is known.
func (r *Rule) look(c *Case) Reason {
	q := Reason{Rule: r.Name, Weight: r.Weight, Says: r.Says, From: r.From}
	if q.Weight == "" {
		q.Weight = Needed
	}
	switch {
	case r.Never:
		q.State, q.Found = NotMet, "It is for a time only."
	case r.StrengthMin > 0:
		q.State, q.Found = ofMaterial(c, "flexural strength", "MPa", c.Material.Mechanics.Strength, r.StrengthMin)
	case r.ClassMin > 0:
		q.State, q.Found = ofMaterial(c, "class by ISO 6872", "", float64(c.Material.Mechanics.Class), float64(r.ClassMin))
	case r.Reading != "":
		q.State, q.Found = r.ofReading(c)
	case r.DepthMax != nil:
		q.State, q.Found = r.ofDepth(c)
	case len(r.Isolation) > 0:
		q.State, q.Found = entered("isolation", c.Entered.Isolation, r.Isolation)
	case len(r.Substrate) > 0:
		q.State, q.Found = entered("substrate", c.Entered.Substrate, r.Need.Substrate)
	default:
		q.State, q.Found = entered("temporary cement before", c.Entered.Temporary, r.Temporary)
	}
	return q
}

func ofMaterial(c *Case, what, unit string, has, least float64) (State, string) {
	if unit != "" {
		unit = " " + unit
	}
	switch {
	case has == 0:
		return Open, fmt.Sprintf("The %s of the material is not in the limits table.", what)
	case has < least:
		return NotMet, fmt.Sprintf("The %s of the material is %g%s, %g is needed.", what, has, unit, least)
	}
	return Met, fmt.Sprintf("The %s of the material is %g%s, %g is enough.", what, has, unit, least)
}

// ofReading compares a reading with the rule's limit, or with its own.
func (r *Rule) ofReading(c *Case) (State, string) {
	limit := &reading.Limit{Min: r.Min, Max: r.Max}
	q := c.reading(reading.ID(r.Reading))
	if q == nil {
		m, _ := reading.Find(reading.ID(r.Reading))
		return Open, m.Name + " is not among the readings of this run."
	}
	if r.Min == nil && r.Max == nil {
		limit = q.Limit
	}
	return compare(c, q, limit)
}

func compare(c *Case, q *reading.Reading, limit *reading.Limit) (State, string) {
	m, _ := reading.Find(q.ID)
	if !q.Measured() {
		return Open, fmt.Sprintf("%s was not measured: %s.", m.Name, q.Reason)
	}
	value := fmt.Sprintf("%s is %.*f ± %.*f %s", m.Name, m.Digits, q.Value, m.Digits, q.Expanded, m.Unit)
	if limit == nil || limit.Min == nil && limit.Max == nil {
		return Open, value + ", and it has no limit here."
	}
	wanted := func(words string) string {
		if limit.Min != nil {
			return fmt.Sprintf("%s %.*f", words, m.Digits, *limit.Min)
		}
		return fmt.Sprintf("%s %.*f", words, m.Digits, *limit.Max)
	}
	side := "at least"
	if limit.Min == nil {
		side = "at most"
	}
	switch c.Rule.Decide(q.Value, q.Expanded, limit) {
	case reading.Conforms:
		return Met, fmt.Sprintf("%s, %s is wanted.", value, wanted(side))
	case reading.Fails:
		return NotMet, fmt.Sprintf("%s, %s would be needed.", value, wanted(side))
	}
	return Open, value + ", " + wanted("too near") + " to decide."
}

// ofDepth takes the reading where there is one, else what was entered.
func (r *Rule) ofDepth(c *Case) (State, string) {
	if c.measured("finish_line.depth") {
		return compare(c, c.find("finish_line.depth"), &reading.Limit{Max: r.DepthMax})
	}
	d := c.Entered.Depth
	if d == nil {
		return Open, "The depth of the finish line below the gingiva is neither measured nor entered."
	}
	found := fmt.Sprintf("The finish line is entered as %.1f mm below the gingiva", *d)
	if *d > *r.DepthMax {
		return NotMet, fmt.Sprintf("%s, deeper than %.1f.", found, *r.DepthMax)
	}
	return Met, fmt.Sprintf("%s, at most %.1f is wanted.", found, *r.DepthMax)
}

// words are what is entered, as sentences have it.
var words = map[string]string{
	"rubber-dam": "rubber dam", "rolls-and-suction": "rolls and suction", "not-possible": "a dry field is not possible",
	"enamel": "enamel", "dentine": "dentine", "composite": "build-up of composite", "metal": "build-up of metal",
	"none": "none", "eugenol-free": "without eugenol", "eugenol": "with eugenol",
}

func entered(what, word string, of []string) (State, string) {
	what = strings.ToUpper(what[:1]) + what[1:]
	switch {
	case word == "":
		return Open, what + " is not entered."
	case slices.Contains(of, word):
		return Met, fmt.Sprintf("%s as entered: %s.", what, words[word])
	}
	return NotMet, fmt.Sprintf("%s as entered: %s.", what, words[word])
}
