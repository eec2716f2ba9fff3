package luting

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"crownassay/internal/yamldoc"
	"crownassay/tooth"
)

//go:embed rules.yaml
var builtIn []byte

//go:embed rules.schema.json
var schemaText []byte

var schema = sync.OnceValue(func() *jsonschema.Schema { return yamldoc.Compile(schemaText) })

// How a family holds a crown.
const (
	Bonded    = "bonded"    // by a bond of resin
	Cemented  = "cemented"  // conventionally: by the form of the preparation
	Temporary = "temporary" // for a time
)

// Rules are the families, what they need, and the steps.
type Rules struct {
	Families []Family    `yaml:"families"`
	Rules    []Rule      `yaml:"rules"`
	Steps    []Treatment `yaml:"steps"`
	Refusals []Refusal   `yaml:"refusals"`
	Hazards  []Hazard    `yaml:"hazards"`

	Hash    string `yaml:"-"` // SHA-256 of the built-in table
	OwnHash string `yaml:"-"` // SHA-256 of the practice's own; empty without
}

// Family is a family of luting materials.
type Family struct {
	Name  string `yaml:"name" json:"name"`
	Title string `yaml:"title" json:"title"`
	How   string `yaml:"how" json:"how" enum:"bonded,cemented,temporary"` // Bonded, Cemented or Temporary
	Says  string `yaml:"says" json:"says"`
}

// For is what a row holds for. Empty lists hold for all.
type For struct {
	Families  []string `yaml:"family"`
	Materials []string `yaml:"material"`
	Classes   []string `yaml:"tooth"`
	Only      []string `yaml:"on_substrate"` // words of Substrates
}

// From is where a row comes from.
type From struct {
	Source string `yaml:"source" json:"source"`
	Status string `yaml:"status" json:"status" doc:"Where the row is from: read, memory, computed, common practice, practice."`
}

// The weights of a rule.
const (
	Needed  = "needed"  // a family is not supported when it is not met
	Caution = "caution" // only said when it is not met
)

// Rule is one thing that families need.
type Rule struct {
	Name   string `yaml:"name"`
	Weight string `yaml:"weight"` // Needed where it is empty
	For    `yaml:",inline"`
	Need   `yaml:",inline"`
	Says   string `yaml:"says"` // why
	From   `yaml:",inline"`
	Off    bool `yaml:"off"` // a practice takes the row out
}

// Need is what is compared: one of its fields.
type Need struct {
	StrengthMin float64  `yaml:"strength_min"` // of the material, MPa
	ClassMin    int      `yaml:"class_min"`    // of ISO 6872
	Reading     string   `yaml:"reading"`      // an id; with neither Min nor Max its own limit in the run
	Min         *float64 `yaml:"min"`
	Max         *float64 `yaml:"max"`
	Isolation   []string `yaml:"isolation"`
	DepthMax    *float64 `yaml:"depth_max"` // of the finish line below the gingival margin, mm
	Substrate   []string `yaml:"substrate"`
	Temporary   []string `yaml:"temporary"`
	Never       bool     `yaml:"never"`
}

// Treatment is one step: one thing that is done.
type Treatment struct {
	Name    string `yaml:"name" json:"name"`
	On      string `yaml:"on" json:"on" enum:"crown,tooth,both"`
	Agent   string `yaml:"agent" json:"agent" doc:"What is used; empty for none."`
	For     `yaml:",inline" json:"-"`
	Says    string    `yaml:"says" json:"says"`
	Seconds []float64 `yaml:"seconds" json:"seconds" nullable:"false" doc:"The least and the most; empty for a step without a timer."`
	From    `yaml:",inline"`
	After   string `yaml:"after" json:"-"` // of a practice's new step: the step that it follows; empty for the end
	Off     bool   `yaml:"off" json:"-"`
}

// Refusal is what is never done.
type Refusal struct {
	Name  string `yaml:"name" json:"name"`
	Agent string `yaml:"agent" json:"agent"`
	On    string `yaml:"on" json:"-"`
	For   `yaml:",inline" json:"-"`
	Says  string `yaml:"says" json:"says"`
	From  `yaml:",inline"`
	Off   bool `yaml:"off" json:"-"`
}

// Hazard is the caution that goes with an agent.
type Hazard struct {
	Agent string `yaml:"agent" json:"agent"`
	Says  string `yaml:"says" json:"says"`
	From  `yaml:",inline"`
}

// table is the built-in table; reading it takes some milliseconds, and every
// case does.
var table = sync.OnceValue(func() *Rules {
	r, err := parse("rules.yaml", builtIn, nil)
	if err != nil {
		panic(err)
	}
	r.Hash = hash(builtIn)
	return r
})

// BuiltIn returns a copy of the built-in table.
func BuiltIn() *Rules {
	r := *table()
	r.Families, r.Rules, r.Steps = slices.Clone(r.Families), slices.Clone(r.Rules), slices.Clone(r.Steps)
	r.Refusals, r.Hazards = slices.Clone(r.Refusals), slices.Clone(r.Hazards)
	return &r
}

func hash(b []byte) string {
	s := sha256.Sum256(b)
	return hex.EncodeToString(s[:])
}

// Family returns the family of a name, or an error that lists the names.
func (r *Rules) Family(name string) (Family, error) {
	known := make([]string, len(r.Families))
	for i, f := range r.Families {
		if f.Name == name {
			return f, nil
		}
		known[i] = f.Name
	}
	return Family{}, fmt.Errorf("find luting family %q: not in the rules; use one of %s", name, strings.Join(known, ", "))
}

// holds reports whether a row is for the family, the material, the class of
// tooth and what was entered as substrate.
func (f *For) holds(family, material string, class tooth.Class, substrate string) bool {
	return in(f.Families, family) && in(f.Materials, material) && in(f.Classes, string(class)) && in(f.Only, substrate)
}

func in(list []string, s string) bool { return len(list) == 0 || slices.Contains(list, s) }
