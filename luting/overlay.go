package luting

import (
	"fmt"
	"slices"
	"strconv"

	"crownassay/conformity"
	"crownassay/internal/yamldoc"
	"crownassay/reading"
	"crownassay/tooth"
)

// With returns the built-in table with the practice's own laid over it, whose
// text is YAML of the same form; an empty text changes nothing.
func With(name, text string) (*Rules, error) {
	if text == "" {
		return BuiltIn(), nil
	}
	return BuiltIn().Overlay(name, []byte(text))
}

// Overlay lays the practice's own rows over r and returns the two together: a
// row takes the place of the one with its name, and is added where there is
// none; "off: true" takes the row of that name out. An unknown name, or a step
// that does what is refused, is an error with name and line; r is left as it
// is.
func (r *Rules) Overlay(name string, text []byte) (*Rules, error) {
	own, err := parse(name, text, r)
	if err != nil {
		return nil, err
	}
	return &Rules{Hash: r.Hash, OwnHash: hash(text), Families: laid(r.Families, own.Families), Rules: laid(r.Rules, own.Rules),
		Steps: laid(r.Steps, own.Steps), Refusals: laid(r.Refusals, own.Refusals), Hazards: laid(r.Hazards, own.Hazards)}, nil
}

// row is a row of a table, as it is laid over others. Mark states that it is the
// practice's own; told says its name, whether it takes that name out, and which
// row it follows.
type row[T any] interface {
	*T
	mark()
	told() (name string, off bool, after string)
}

func (f *From) mark() {
	if f.Source == "" {
		f.Source = "the practice's own rule"
	}
	f.Status = conformity.Practice
}

func (f *Family) mark() {
	if f.Title == "" {
		f.Title = f.Name
	}
}

func (f *Family) told() (name string, off bool, after string)    { return f.Name, false, "" }
func (r *Rule) told() (name string, off bool, after string)      { return r.Name, r.Off, "" }
func (s *Treatment) told() (name string, off bool, after string) { return s.Name, s.Off, s.After }
func (r *Refusal) told() (name string, off bool, after string)   { return r.Name, r.Off, "" }
func (h *Hazard) told() (name string, off bool, after string)    { return h.Agent, false, "" }

// laid lays rows over others by their names.
func laid[T any, P row[T]](base, own []T) []T {
	out := slices.Clone(base)
	at := func(name string) int {
		return slices.IndexFunc(out, func(x T) bool { n, _, _ := P(&x).told(); return n == name })
	}
	for _, x := range own {
		P(&x).mark()
		name, off, after := P(&x).told()
		i := at(name)
		switch {
		case off && i >= 0:
			out = slices.Delete(out, i, i+1)
		case i >= 0:
			out[i] = x
		case !off && after != "":
			out = slices.Insert(out, at(after)+1, x)
		case !off:
			out = append(out, x)
		}
	}
	return out
}

// parse reads a table and checks its names against base, or against its own
// where base is nil.
func parse(name string, text []byte, base *Rules) (*Rules, error) {
	d, err := yamldoc.Parse(name, text)
	if err != nil {
		return nil, err
	}
	if err := d.Validate(schema()); err != nil {
		return nil, err
	}
	r := new(Rules)
	if err := d.Decode(r); err != nil {
		return nil, err
	}
	if base == nil {
		base = &Rules{}
	}
	k := known{doc: d, families: append(slices.Clone(base.Families), r.Families...), limits: conformity.BuiltIn(), base: base}
	if err := k.check(r); err != nil {
		return nil, err
	}
	return r, nil
}

// known is what names are checked against.
type known struct {
	doc      *yamldoc.Doc
	families []Family
	limits   *conformity.Limits
	base     *Rules
}

func (k *known) check(r *Rules) error {
	for i := range r.Rules {
		if err := k.rule(&r.Rules[i], "rules", strconv.Itoa(i)); err != nil {
			return err
		}
	}
	for i := range r.Steps {
		if err := k.step(&r.Steps[i], r.Steps[:i], "steps", strconv.Itoa(i)); err != nil {
			return err
		}
	}
	for i := range r.Refusals {
		if err := k.row(&r.Refusals[i].For, "refusals", strconv.Itoa(i)); err != nil {
			return err
		}
	}
	return k.steps(r)
}

// row checks what a row holds for.
func (k *known) row(f *For, keys ...string) error {
	at := func(key string) []string { return append(slices.Clone(keys), key) }
	for _, name := range f.Families {
		if _, err := (&Rules{Families: k.families}).Family(name); err != nil {
			return k.doc.Fault(err.Error(), "", at("family")...)
		}
	}
	for _, name := range f.Materials {
		if _, err := k.limits.Material(name); err != nil {
			return k.doc.Fault(err.Error(), "", at("material")...)
		}
	}
	for _, name := range f.Classes {
		if !slices.Contains(tooth.Classes, tooth.Class(name)) {
			return k.doc.Fault(fmt.Sprintf("read row: unknown class of teeth %q", name), "use incisor, canine, premolar or molar", at("tooth")...)
		}
	}
	return nil
}

func (k *known) rule(r *Rule, keys ...string) error {
	if err := k.row(&r.For, keys...); err != nil {
		return err
	}
	at := func(key string) []string { return append(slices.Clone(keys), key) }
	if r.Off {
		if !slices.ContainsFunc(k.base.Rules, func(x Rule) bool { return x.Name == r.Name }) {
			return k.doc.Fault(fmt.Sprintf("read row: there is no rule %q to take out", r.Name), "see luting/rules.yaml for the names", at("name")...)
		}
		return nil
	}
	if n := r.Need.count(); n != 1 {
		return k.doc.Fault(fmt.Sprintf("read row: rule %q compares %d things, want one", r.Name, n),
			"give one of strength_min, class_min, reading, isolation, depth_max, substrate, temporary, never", at("name")...)
	}
	if r.Says == "" {
		return k.doc.Fault(fmt.Sprintf("read row: rule %q does not say why", r.Name), "give it in a few words as says", at("name")...)
	}
	return k.reading(r, at)
}

// reading checks the reading of a rule and its limit.
func (k *known) reading(r *Rule, at func(string) []string) error {
	if r.Reading == "" {
		if r.Min != nil || r.Max != nil {
			return k.doc.Fault(fmt.Sprintf("read row: rule %q has a limit but no reading", r.Name), "give the reading's id as reading", at("name")...)
		}
		return nil
	}
	if _, ok := reading.Find(reading.ID(r.Reading)); !ok {
		return k.doc.Fault(fmt.Sprintf("read row: unknown reading %q", r.Reading), "\"crownassay readings\" lists the ids", at("reading")...)
	}
	if r.Min != nil && r.Max != nil && *r.Min > *r.Max {
		return k.doc.Fault(fmt.Sprintf("read row: min %g is above max %g", *r.Min, *r.Max), "exchange them", at("min")...)
	}
	return nil
}

// count is how many things a need compares.
func (n *Need) count() int {
	c := 0
	for _, has := range []bool{n.StrengthMin > 0, n.ClassMin > 0, n.Reading != "", len(n.Isolation) > 0, n.DepthMax != nil,
		len(n.Substrate) > 0, len(n.Temporary) > 0, n.Never} {
		if has {
			c++
		}
	}
	return c
}

func (k *known) step(s *Treatment, before []Treatment, keys ...string) error {
	if err := k.row(&s.For, keys...); err != nil {
		return err
	}
	at := func(key string) []string { return append(slices.Clone(keys), key) }
	has := func(name string) bool {
		is := func(x Treatment) bool { return x.Name == name }
		return slices.ContainsFunc(k.base.Steps, is) || slices.ContainsFunc(before, is)
	}
	switch {
	case s.Off && !has(s.Name):
		return k.doc.Fault(fmt.Sprintf("read row: there is no step %q to take out", s.Name), "see luting/rules.yaml for the names", at("name")...)
	case s.Off:
		return nil
	case s.Says == "" || s.On == "":
		return k.doc.Fault(fmt.Sprintf("read row: step %q does not say what is done on what", s.Name), "give says, and on: crown, tooth or both", at("name")...)
	case s.After != "" && !has(s.After):
		return k.doc.Fault(fmt.Sprintf("read row: there is no step %q to follow", s.After), "see luting/rules.yaml for the names", at("after")...)
	case len(s.Seconds) == 2 && s.Seconds[0] > s.Seconds[1]:
		return k.doc.Fault(fmt.Sprintf("read row: %g seconds at least is above %g at most", s.Seconds[0], s.Seconds[1]), "exchange them", at("seconds")...)
	}
	return nil
}

// steps refuses a step that does what is refused, of the table and of base
// together.
func (k *known) steps(r *Rules) error {
	refusals := laid(k.base.Refusals, r.Refusals)
	for _, s := range laid(k.base.Steps, r.Steps) {
		for _, no := range refusals {
			m, is := no.hits(&s, k.limits)
			if !is {
				continue
			}
			what := fmt.Sprintf("read row: step %q uses %s for a crown of %s, which is refused: %s", s.Name, s.Agent, m, no.Says)
			if i := slices.IndexFunc(r.Steps, func(x Treatment) bool { return x.Name == s.Name }); i >= 0 {
				return k.doc.Fault(what, "leave the material out, or take the refusal "+no.Name+" out with off: true", "steps", strconv.Itoa(i), "name")
			}
			i := slices.IndexFunc(r.Refusals, func(x Refusal) bool { return x.Name == no.Name })
			return k.doc.Fault(what, "take the step out too, or give one of its name without the material", "refusals", strconv.Itoa(i), "name")
		}
	}
	return nil
}

// hits reports whether a step does what is refused, and on which material.
func (r *Refusal) hits(s *Treatment, l *conformity.Limits) (material string, is bool) {
	families := len(r.Families) == 0 || len(s.Families) == 0 || slices.ContainsFunc(s.Families, func(f string) bool { return in(r.Families, f) })
	if r.Agent == "" || s.Agent != r.Agent || r.On != "both" && s.On != "both" && s.On != r.On || !families {
		return "", false
	}
	for _, m := range l.Materials {
		if in(r.Materials, m.Name) && in(s.Materials, m.Name) {
			return m.Name, true
		}
	}
	return "", false
}
