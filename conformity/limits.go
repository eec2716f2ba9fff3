package conformity

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"crownassay/internal/yamldoc"
	"crownassay/reading"
	"crownassay/tooth"
)

//go:embed limits.yaml
var builtIn []byte

//go:embed limits.schema.json
var schemaText []byte

var schema = sync.OnceValue(func() *jsonschema.Schema { return yamldoc.Compile(schemaText) })

// Limits is a table of limits with the materials it knows.
type Limits struct {
	CementSpace Space      `yaml:"cement_space"`
	ToolRadius  Space      `yaml:"tool_radius"` // of the finest milling tool's tip
	Blocks      []Block    `yaml:"blocks"`      // by rising volume
	Materials   []Material `yaml:"materials"`
	Rows        []Row      `yaml:"rows"`
}

// BuiltIn returns a copy of the built-in table.
func BuiltIn() *Limits {
	l, err := parse("limits.yaml", builtIn, nil)
	if err != nil {
		panic(err)
	}
	return l
}

// Material returns the row of a material, or an error that lists the rows.
func (l *Limits) Material(name string) (Material, error) {
	known := make([]string, len(l.Materials))
	for i, m := range l.Materials {
		if m.Name == name {
			return m, nil
		}
		known[i] = m.Name
	}
	return Material{}, fmt.Errorf("find material %q: not in the limits table; use one of %s", name, strings.Join(known, ", "))
}

// Block returns the block of a name, or an error that lists the names.
func (l *Limits) Block(name string) (Block, error) {
	known := make([]string, len(l.Blocks))
	for i, b := range l.Blocks {
		if b.Name == name {
			return b, nil
		}
		known[i] = b.Name
	}
	return Block{}, fmt.Errorf("find block %q: not in the limits table; use one of %s", name, strings.Join(known, ", "))
}

// Find returns the limit of a reading, or of a part of it, or nil if it has
// none. Of the rows that match, the last one holds. A reading of the crown as
// made for which there is no row has the limit of the design's.
func (l *Limits) Find(id reading.ID, part, material string, class tooth.Class) *reading.Limit {
	id = l.holder(id)
	for i := len(l.Rows) - 1; i >= 0; i-- {
		if l.Rows[i].matches(id, part, material, class) {
			return l.Rows[i].Limit()
		}
	}
	return nil
}

// holder returns the id whose rows hold for a reading: its own, or where there
// are none and the crown as made is meant, that of the design.
func (l *Limits) holder(id reading.ID) reading.ID {
	for _, r := range l.Rows {
		if slices.Contains(r.Readings, string(id)) {
			return id
		}
	}
	return reading.AsDesigned(id)
}

// RowsOf returns the rows that hold for a reading in the order of the table.
func (l *Limits) RowsOf(id reading.ID) []Row {
	var out []Row
	id = l.holder(id)
	for _, r := range l.Rows {
		if slices.Contains(r.Readings, string(id)) {
			out = append(out, r)
		}
	}
	return out
}
