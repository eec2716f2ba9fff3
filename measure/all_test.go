package measure

import (
	"slices"
	"testing"

	"crownassay/internal/shape"
	"crownassay/reading"
)

// TestReadingsAreTheTable: what is made at the hold point preparation and the
// rows of the table name each other, once each.
func TestReadingsAreTheTable(t *testing.T) {
	s := facing(t, shape.Inverted(shape.Plate(5.3, 7, 0.5)))
	var made, table []reading.ID
	for _, r := range all(t, s) {
		made = append(made, r.ID)
	}
	for _, m := range reading.Measurands {
		if m.HoldPoint == reading.Preparation {
			table = append(table, m.ID)
		}
	}
	slices.Sort(made)
	slices.Sort(table)
	if !slices.Equal(made, table) {
		t.Errorf("readings made %v\n table %v", made, table)
	}
}

// TestEveryReadingSaysHowSureOrWhyNot: a value has a budget unless it is a
// count, no value has a reason, and no part is negative or missing.
func TestEveryReadingSaysHowSureOrWhyNot(t *testing.T) {
	counts := []reading.ID{"scan.holes", "scan.bite.contacts"}
	coarse := flatTop
	coarse.Rim = 0
	a := anywhere(4)
	a.exact = true
	unknown := a.site(t, shape.Lathe(shape.Round(coarse.Path()), 0.5, 3)) // its noise cannot be told
	unknown.Opposing = NewSurface(shape.Inverted(shape.Plate(5.3, 7, 0.5)).Move(a.move))
	for _, r := range append(all(t, facing(t, shape.Inverted(shape.Plate(5.3, 7, 0.5)))), all(t, unknown)...) {
		if !r.Measured() {
			continue
		}
		if r.Value != r.Value {
			t.Errorf("%s is not a number", r.ID)
		}
		if len(r.Parts) == 0 && !slices.Contains(counts, r.ID) {
			t.Errorf("%s has no uncertainty", r.ID)
		}
		for _, p := range r.Parts {
			if !(p.Standard >= 0) || p.Name == "" {
				t.Errorf("%s: part %+v", r.ID, p)
			}
		}
	}
}
