package luting

import (
	"fmt"
	"slices"
	"strings"

	"crownassay/conformity"
	"crownassay/reading"
	"crownassay/tooth"
)

// Case is what is known of the crown that is to be fixed.
type Case struct {
	Material conformity.Material
	Class    tooth.Class
	Readings []reading.Reading // of a run: value, expanded uncertainty, limit or the reason why there is none
	Rule     conformity.Rule   // by which values are compared with limits; empty for the guard band
	Entered  Entered
}

// Entered is what a person says of the mouth. What is empty was not entered.
type Entered struct {
	Isolation string   // one of Isolations
	Depth     *float64 // of the finish line below the gingival margin, mm, below zero above it
	Substrate string   // one of Substrates: at the finish line and in what is bonded to
	Temporary string   // one of Temporaries: the cement that held a crown before
}

// The words that can be entered.
var (
	Isolations  = []string{"rubber-dam", "rolls-and-suction", "not-possible"}
	Substrates  = []string{"enamel", "dentine", "composite", "metal"} // the last two are of a build-up
	Temporaries = []string{"none", "eugenol-free", "eugenol"}
)

// mostDepth is a depth below the gingiva that no crown margin has, mm: a larger
// number is one of micrometres.
const mostDepth = 10

// Check refuses words that are not in the lists.
func (e *Entered) Check() error {
	for _, w := range []struct {
		what, word string
		of         []string
	}{{"isolation", e.Isolation, Isolations}, {"substrate", e.Substrate, Substrates}, {"temporary cement", e.Temporary, Temporaries}} {
		if w.word != "" && !slices.Contains(w.of, w.word) {
			return fmt.Errorf("unknown %s %q; it is one of %s", w.what, w.word, strings.Join(w.of, ", "))
		}
	}
	if d := e.Depth; d != nil && !(*d >= -mostDepth && *d <= mostDepth) {
		return fmt.Errorf("a finish line %g mm below the gingiva; give millimetres, below zero where it lies above", *d)
	}
	return nil
}

// reading returns the reading of that id, nil where the run has none. Of a
// crown that was scanned as made, that reading is taken.
func (c *Case) reading(id reading.ID) *reading.Reading {
	if m := reading.AsMade(id); reading.AsDesigned(m) == id {
		if r := c.find(m); r != nil && r.Measured() {
			return r
		}
	}
	return c.find(id)
}

func (c *Case) find(id reading.ID) *reading.Reading {
	for i := range c.Readings {
		if c.Readings[i].ID == id {
			return &c.Readings[i]
		}
	}
	return nil
}
