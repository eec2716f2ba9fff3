package conformity

import (
	"slices"

	"crownassay/reading"
	"crownassay/tooth"
)

// names is one name or a list of them in YAML.
type names []string

// UnmarshalYAML accepts a single name in place of a list.
func (n *names) UnmarshalYAML(decode func(any) error) error {
	var one string
	if decode(&one) == nil {
		*n = names{one}
		return nil
	}
	var many []string
	err := decode(&many)
	*n = many
	return err
}

// Row is one row of the limits table. Empty lists hold for all.
type Row struct {
	Readings  names    `yaml:"reading"`
	Part      string   `yaml:"part"` // a zone; empty for the reading itself
	Materials names    `yaml:"material"`
	Classes   names    `yaml:"tooth"`
	Min       *float64 `yaml:"min"`
	Max       *float64 `yaml:"max"`
	Source    string   `yaml:"source"`
	Status    string   `yaml:"status"`
}

// matches reports whether the row is for this reading or its part, on a tooth
// of the class, in the material.
func (r *Row) matches(id reading.ID, part, material string, class tooth.Class) bool {
	return r.Part == part && slices.Contains(r.Readings, string(id)) &&
		(len(r.Materials) == 0 || slices.Contains(r.Materials, material)) &&
		(len(r.Classes) == 0 || slices.Contains(r.Classes, string(class)))
}

// Limit returns the row's tolerance interval.
func (r *Row) Limit() *reading.Limit {
	return &reading.Limit{Min: r.Min, Max: r.Max, Source: r.Source, Status: r.Status}
}

// Material is a restorative material and the least thickness it needs.
type Material struct {
	Name      string  `yaml:"name"`
	Title     string  `yaml:"title"`
	Thickness float64 `yaml:"thickness"` // mm
	Source    string  `yaml:"source"`
	Status    string  `yaml:"status"`

	Mechanics Mechanics `yaml:"mechanics"`
}

// Mechanics is what a material's strength and its milling depend on. What is 0
// is not known or does not apply.
type Mechanics struct {
	Modulus   float64 `yaml:"modulus_gpa"`  // of elasticity, GPa
	Strength  float64 `yaml:"strength_mpa"` // flexural, MPa: the lowest of several sources
	Class     int     `yaml:"class"`        // of ISO 6872
	Shrinkage float64 `yaml:"shrinkage"`    // share of a length lost when it is sintered after milling
	Source    string  `yaml:"source"`
	Status    string  `yaml:"status"`
}

// Block is a nominal size of block, mm. The mandrel or the sprue is at an end
// of its length; the crown's placement axis lies along its height.
type Block struct {
	Name   string  `yaml:"name"`
	Length float64 `yaml:"length"`
	Width  float64 `yaml:"width"`
	Height float64 `yaml:"height"`
	Sprue  float64 `yaml:"sprue"` // taken off the length
	Source string  `yaml:"source"`
	Status string  `yaml:"status"`
}

// Space is a setting in millimetres with its source.
type Space struct {
	MM     float64 `yaml:"mm"`
	Source string  `yaml:"source"`
	Status string  `yaml:"status"`
}
