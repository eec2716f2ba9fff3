package visit

import (
	"slices"
	"strings"
	"time"
)

// The resources that have a meaning of their own. All others are a name and a
// count.
const (
	Chair   = "chair"   // each visit has the one it was started for
	Dentist = "dentist" // a visit that names its dentist has that one
)

// Plan is how the practice makes a crown in one visit.
type Plan struct {
	Resources []Resource `yaml:"resources" json:"resources"`
	Stages    []Stage    `yaml:"stages" json:"stages"` // in the order in which they are offered
	Backs     []Back     `yaml:"backs" json:"backs"`
	Step      float64    `yaml:"booking_step" json:"booking_step"` // bookings are rounded up to a multiple, minutes

	own    bool                // a practice's own rows are laid over the default
	before map[string][]string // of each stage: all that have to be done before, and itself
}

// Resource is what stages hold.
type Resource struct {
	Name  string `yaml:"name" json:"name"`
	Title string `yaml:"title" json:"title"`
	Count int    `yaml:"count" json:"count"`
}

// Stage is one step of the visit.
type Stage struct {
	Name      string             `yaml:"name" json:"name"`
	Title     string             `yaml:"title" json:"title"`
	After     []string           `yaml:"after,omitempty" json:"after,omitempty"` // stages that have to be done before
	Needs     []string           `yaml:"needs,omitempty" json:"needs,omitempty"` // one of each is held while it lasts
	Only      []string           `yaml:"only,omitempty" json:"only,omitempty"`   // materials that have it; none for all
	Minutes   Minutes            `yaml:"minutes" json:"minutes"`
	Materials map[string]Minutes `yaml:"materials,omitempty" json:"materials,omitempty"` // of materials that take another time
	Again     *Minutes           `yaml:"again,omitempty" json:"again,omitempty"`         // when it is done once more after going back; nil: as the first time
	Status    string             `yaml:"status,omitempty" json:"status,omitempty"`       // of the minutes, such as common practice
	Omit      bool               `yaml:"omit,omitempty" json:"omit,omitempty"`           // in a practice's own file: is not done here
}

// Minutes states a duration before the practice's own visits are known.
type Minutes struct {
	Median    float64 `yaml:"median" json:"median"`
	NineOfTen float64 `yaml:"nine_of_ten" json:"nine_of_ten"` // 90 % last no longer
	Longest   float64 `yaml:"longest" json:"longest"`         // what lasts longer was left running
}

// Back is a kind of going back, decided at the end of a stage.
type Back struct {
	Name   string  `yaml:"name" json:"name"`
	Title  string  `yaml:"title" json:"title"`
	At     string  `yaml:"at" json:"at"`         // the stage at whose end it shows
	To     string  `yaml:"to" json:"to"`         // the stage that is done again
	Chance float64 `yaml:"chance" json:"chance"` // before own visits are known
	Weight float64 `yaml:"weight" json:"weight"` // how many visits that counts as
	Omit   bool    `yaml:"omit,omitempty" json:"omit,omitempty"`
}

// Stage returns the stage of a name.
func (p *Plan) Stage(name string) (Stage, bool) {
	i := slices.IndexFunc(p.Stages, func(s Stage) bool { return s.Name == name })
	if i < 0 {
		return Stage{}, false
	}
	return p.Stages[i], true
}

// Back returns the kind of going back of a name.
func (p *Plan) Back(name string) (Back, bool) {
	i := slices.IndexFunc(p.Backs, func(b Back) bool { return b.Name == name })
	if i < 0 {
		return Back{}, false
	}
	return p.Backs[i], true
}

// Count is how many there are of a resource.
func (p *Plan) Count(name string) int {
	for _, r := range p.Resources {
		if r.Name == name {
			return r.Count
		}
	}
	return 0
}

// For returns the stages that a crown of a material has, in order, each after
// those of them that have to be done before: what is left out passes on what it
// waited for.
func (p *Plan) For(material string) []Stage {
	var out []Stage
	instead := map[string][]string{}
	for _, s := range p.Stages {
		var after []string
		for _, a := range s.After {
			if of, left := instead[a]; left {
				after = append(after, of...)
			} else {
				after = append(after, a)
			}
		}
		slices.Sort(after)
		s.After = slices.Compact(after)
		if len(s.Only) > 0 && !slices.Contains(s.Only, material) {
			instead[s.Name] = s.After
			continue
		}
		out = append(out, s)
	}
	return out
}

// Materials are those that the plan names.
func (p *Plan) Materials() []string {
	var out []string
	for _, s := range p.Stages {
		out = append(out, s.Only...)
		for m := range s.Materials {
			out = append(out, m)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// knows refuses a material that the plan does not name: a slip of the pen would
// be planned without its furnace.
func (p *Plan) knows(material string) error {
	all := p.Materials()
	if material == "" || slices.Contains(all, material) {
		return nil
	}
	return refuse("the plan has no material %q: it is one of %s; another one stands in the practice's own plan", material, strings.Join(all, ", "))
}

// Has reports whether the stage needs a resource.
func (s *Stage) Has(resource string) bool { return slices.Contains(s.Needs, resource) }

// Of is what is stated for a material.
func (s *Stage) Of(material string) Minutes {
	if m, ok := s.Materials[material]; ok {
		return m
	}
	return s.Minutes
}

// long turns minutes into a duration.
func long(minutes float64) time.Duration { return time.Duration(minutes * float64(time.Minute)) }
