package luting

import (
	"fmt"
	"slices"
	"strings"

	"crownassay/reading"
	"crownassay/unit"
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
	Family   Family      `json:"family"`
	Standing Standing    `json:"standing" enum:"supported,undecided,not-supported"`
	Reasons  []Reason    `json:"reasons" nullable:"false" doc:"Of every rule that holds here, cautions that need not be given left out: what stands against it first, then what is open, then cautions, then what is met."`
	Steps    []Treatment `json:"steps" nullable:"false" doc:"In their order."`
	Refusals []Refusal   `json:"refusals" nullable:"false" doc:"What is never done with this material or family."`
	Hazards  []Hazard    `json:"hazards" nullable:"false" doc:"Cautions for what the steps use."`
}

// Reason is how one rule stands.
type Reason struct {
	Rule   string `json:"rule"`
	Weight string `json:"weight" enum:"needed,caution" doc:"A caution decides nothing."`
	State  State  `json:"state" enum:"met,not-met,open"`
	Found  string `json:"found" doc:"What was found, in a sentence."`
	Says   string `json:"says" doc:"Why it matters."`
	From
}

// Judgement is all that is said of a crown.
type Judgement struct {
	Headline string   `json:"headline"`
	Maker    string   `json:"maker" doc:"That the maker's instructions come first; to be shown wherever any of this is."`
	Missing  []string `json:"missing" nullable:"false" doc:"What was not entered and would help."`
	Answers  []Answer `json:"answers" nullable:"false"`
	Rules    string   `json:"rules" doc:"SHA-256 of the built-in rules."`
	OwnRules string   `json:"own_rules" doc:"SHA-256 of the practice's own, laid over them; empty without."`
}

// Judge says of every family whether it is supported. What was entered is
// checked first.
func (r *Rules) Judge(c Case) (Judgement, error) {
	if err := c.Entered.Check(); err != nil {
		return Judgement{}, err
	}
	v := Judgement{Maker: MakerFirst, Missing: []string{}, Rules: r.Hash, OwnRules: r.OwnHash}
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
	a := Answer{Family: f, Standing: Supported, Reasons: []Reason{}, Steps: []Treatment{}, Refusals: []Refusal{}, Hazards: []Hazard{}}
	for i := range r.Rules {
		rule := &r.Rules[i]
		if !rule.holds(f.Name, c.Material.Name, c.Class, c.Entered.Substrate) {
			continue
		}
		q := rule.look(c)
		if q.Weight == Needed {
			a.Standing = worse(a.Standing, q.State)
		}
		if !a.said(&q) {
			a.Reasons = append(a.Reasons, q)
		}
	}
	slices.SortStableFunc(a.Reasons, func(p, q Reason) int { return p.rank() - q.rank() })
	for _, s := range r.Steps {
		if s.holds(f.Name, c.Material.Name, c.Class, c.Entered.Substrate) {
			s.Seconds = append([]float64{}, s.Seconds...) // never null
			a.Steps = append(a.Steps, s)
		}
	}
	for _, no := range r.Refusals {
		if no.holds(f.Name, c.Material.Name, c.Class, c.Entered.Substrate) {
			a.Refusals = append(a.Refusals, no)
		}
	}
	for _, h := range r.Hazards {
		if slices.ContainsFunc(a.Steps, func(s Treatment) bool { return s.Agent == h.Agent }) {
			a.Hazards = append(a.Hazards, h)
		}
	}
	return a
}

// said reports whether a reason adds nothing: a caution that need not be given,
// or one about something of which it was said already that it is not known.
func (a *Answer) said(q *Reason) bool {
	if q.Weight == Needed || q.State == NotMet {
		return false
	}
	return q.State == Met || slices.ContainsFunc(a.Reasons, func(had Reason) bool { return had.Found == q.Found })
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
	value := fmt.Sprintf("%s is %.*f ± %s%s", m.Name, m.Digits, q.Value, uncertainty(q.Expanded, m.Digits), units[m.Unit])
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
		return NotMet, value + ", " + wanted(beyond[side]) + "."
	}
	return Open, value + ", " + wanted("too near") + " to decide."
}

// uncertainty prints u so that it is never shown as nothing.
func uncertainty(u float64, digits int) string {
	s := fmt.Sprintf("%.*f", digits, u)
	if strings.Trim(s, "0.") == "" {
		return fmt.Sprintf("%.*f", digits+1, u)
	}
	return s
}

// units are how a sentence has them.
var units = map[unit.Unit]string{unit.Millimetre: " mm", unit.SquareMillimetre: " mm2", unit.Degree: " degrees", unit.Percent: " %", unit.Newton: " N"}

// beyond is which side a value lies on that fails.
var beyond = map[string]string{"at least": "below", "at most": "above"}

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
