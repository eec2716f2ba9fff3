package conformity

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"crownassay/internal/yamldoc"
	"crownassay/reading"
	"crownassay/tooth"
)

// Practice is the status of limits that a practice has set for itself.
const Practice = "practice"

// Overlay lays the practice's own table, in YAML of the same form, over l and
// returns the two together: a row of the practice holds over every earlier row
// of its reading, material and tooth class. An unknown name or a limit of the
// wrong side is refused with name and line; l is left as it is.
func (l *Limits) Overlay(name string, text []byte) (*Limits, error) {
	own, err := parse(name, text, l)
	if err != nil {
		return nil, err
	}
	out := &Limits{CementSpace: l.CementSpace, ToolRadius: l.ToolRadius, Blocks: l.Blocks, Materials: slices.Clone(l.Materials), Rows: slices.Clone(l.Rows)}
	out.CementSpace.replace(own.CementSpace)
	out.ToolRadius.replace(own.ToolRadius)
	if len(own.Blocks) > 0 {
		out.Blocks = slices.Clone(own.Blocks)
		for i := range out.Blocks {
			mark(&out.Blocks[i].Source, &out.Blocks[i].Status)
		}
	}
	for _, m := range own.Materials {
		mark(&m.Source, &m.Status)
		out.replace(m)
	}
	for _, r := range own.Rows {
		mark(&r.Source, &r.Status)
		out.Rows = append(out.Rows, r)
	}
	return out, nil
}

// With returns the built-in table with the practice's own laid over it, whose
// text is YAML; an empty text changes nothing.
func With(name, text string) (*Limits, error) {
	if text == "" {
		return BuiltIn(), nil
	}
	return BuiltIn().Overlay(name, []byte(text))
}

// replace takes over the practice's own setting if there is one.
func (s *Space) replace(own Space) {
	if own != (Space{}) {
		*s = own
		mark(&s.Source, &s.Status)
	}
}

// mark states that a value is the practice's own.
func mark(source, status *string) {
	if *source == "" {
		*source = "the practice's own limit"
	}
	*status = Practice
}

func (l *Limits) replace(m Material) {
	for i := range l.Materials {
		if l.Materials[i].Name == m.Name {
			if m.Title == "" {
				m.Title = l.Materials[i].Title
			}
			if m.Mechanics == (Mechanics{}) {
				m.Mechanics = l.Materials[i].Mechanics
			} else {
				mark(&m.Mechanics.Source, &m.Mechanics.Status)
			}
			l.Materials[i] = m
		}
	}
}

// parse reads a table and checks its names against base, or against its own
// materials where base is nil.
func parse(name string, text []byte, base *Limits) (*Limits, error) {
	d, err := yamldoc.Parse(name, text)
	if err != nil {
		return nil, err
	}
	if err := d.Validate(schema()); err != nil {
		return nil, err
	}
	l := new(Limits)
	if err := d.Decode(l); err != nil {
		return nil, err
	}
	if base == nil {
		base = l
	}
	return l, l.check(d, base)
}

func (l *Limits) check(d *yamldoc.Doc, base *Limits) error {
	for i, m := range l.Materials {
		if _, err := base.Material(m.Name); err != nil {
			return d.Fault(err.Error(), "", "materials", strconv.Itoa(i), "name")
		}
	}
	for i := range l.Rows {
		if what, hint, key := l.Rows[i].fault(base); what != "" {
			return d.Fault(what, hint, "rows", strconv.Itoa(i), key)
		}
	}
	return nil
}

// fault returns what is wrong with a row, a hint and the field, or nothing.
func (r *Row) fault(base *Limits) (what, hint, key string) {
	for _, id := range r.Readings {
		m, ok := reading.Find(reading.ID(id))
		if !ok {
			return fmt.Sprintf("read row: unknown reading %q", id), "\"crownassay readings\" lists the ids", "reading"
		}
		if what := r.wrongSide(m); what != "" {
			return what, "give the other side, or leave the row out", "reading"
		}
	}
	for _, m := range r.Materials {
		if _, err := base.Material(m); err != nil {
			return err.Error(), "", "material"
		}
	}
	for _, c := range r.Classes {
		if !slices.Contains(tooth.Classes, tooth.Class(c)) {
			return fmt.Sprintf("read row: unknown class of teeth %q", c), "use incisor, canine, premolar or molar", "tooth"
		}
	}
	if r.Part != "" && !slices.Contains(reading.Zones, r.Part) {
		return fmt.Sprintf("read row: unknown part %q", r.Part), "use " + strings.Join(reading.Zones, ", "), "part"
	}
	if r.Min != nil && r.Max != nil && *r.Min > *r.Max {
		return fmt.Sprintf("read row: min %g is above max %g", *r.Min, *r.Max), "exchange them", "min"
	}
	return "", "", ""
}

// wrongSide refuses a limit on the side on which the measurand has none: a
// largest clearance, say, would fail every good preparation.
func (r *Row) wrongSide(m reading.Measurand) string {
	if r.Max != nil && m.Sense == reading.AtLeast {
		return fmt.Sprintf("read row: %s has a lower limit only, not max", m.ID)
	}
	if r.Min != nil && m.Sense == reading.AtMost {
		return fmt.Sprintf("read row: %s has an upper limit only, not min", m.ID)
	}
	return ""
}
