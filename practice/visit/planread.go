package visit

import (
	_ "embed"
	"fmt"
	"maps"
	"slices"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"crownassay/internal/yamldoc"
)

//go:embed plan.yaml
var planText []byte

//go:embed plan.schema.json
var planSchemaText []byte

var planSchema = sync.OnceValue(func() *jsonschema.Schema { return yamldoc.Compile(planSchemaText) })

// ownStatus is that of minutes in a practice's own file that states none.
const (
	ownStatus      = "the practice's own plan"
	commonPractice = "common practice"
)

// Default is the plan that comes with the program.
func Default() *Plan {
	p := &Plan{}
	if err := p.lay("plan.yaml", planText, commonPractice); err != nil {
		panic(err) // it is part of the program
	}
	return p
}

// With is the default plan with a practice's own text laid over it; name is
// the file's name for messages. An empty text changes nothing.
func With(name, text string) (*Plan, error) {
	p := Default()
	if text == "" {
		return p, nil
	}
	p.own = true
	if err := p.lay(name, []byte(text), ownStatus); err != nil {
		return nil, err
	}
	return p, nil
}

// lay puts a file's rows over those that are there.
func (p *Plan) lay(name string, text []byte, status string) error {
	d, err := yamldoc.Parse(name, text)
	if err != nil {
		return err
	}
	if err := d.Validate(planSchema()); err != nil {
		return err
	}
	var own Plan
	if err := d.Decode(&own); err != nil {
		return err
	}
	if own.Step > 0 {
		p.Step = own.Step
	}
	for _, r := range own.Resources {
		p.Resources = laid(p.Resources, r, func(x Resource) bool { return x.Name == r.Name })
	}
	for i, s := range own.Stages {
		if s.Status == "" {
			s.Status = status
		}
		if err := p.layStage(s); err != nil {
			return d.Fault(fmt.Sprintf("stage %s: %v", s.Name, err), "see the README for an example", "stages", fmt.Sprint(i))
		}
	}
	for _, b := range own.Backs {
		if b.Omit {
			p.Backs = slices.DeleteFunc(p.Backs, func(x Back) bool { return x.Name == b.Name })
		} else {
			p.Backs = laid(p.Backs, b, func(x Back) bool { return x.Name == b.Name })
		}
	}
	if err := p.check(); err != nil {
		return d.Fault(err.Error(), "see the README for an example")
	}
	return nil
}

// laid replaces the row that is the same, or adds one.
func laid[T any](rows []T, x T, same func(T) bool) []T {
	if i := slices.IndexFunc(rows, same); i >= 0 {
		rows[i] = x
		return rows
	}
	return append(rows, x)
}

// layStage puts one stage in its place.
func (p *Plan) layStage(s Stage) error {
	at := slices.IndexFunc(p.Stages, func(x Stage) bool { return x.Name == s.Name })
	if s.Omit {
		if at < 0 {
			return fmt.Errorf("there is none to leave out")
		}
		p.omit(at)
		return nil
	}
	if err := s.check(); err != nil {
		return err
	}
	if at >= 0 {
		p.Stages[at] = s
		return nil
	}
	if !p.own {
		p.Stages = append(p.Stages, s)
		return nil
	}
	behind := -1
	for i, x := range p.Stages {
		if slices.Contains(s.After, x.Name) {
			behind = i
		}
	}
	if len(s.After) > 0 && behind < 0 {
		return fmt.Errorf("it is after %q, which is no stage", s.After[0])
	}
	p.Stages = slices.Insert(p.Stages, behind+1, s)
	return nil
}

// omit takes a stage away; what waited for it waits for what it waited for, and
// a going back that shows at its end or leads to it is gone with it.
func (p *Plan) omit(at int) {
	gone := p.Stages[at]
	p.Stages = slices.Delete(p.Stages, at, at+1)
	for i, s := range p.Stages {
		if j := slices.Index(s.After, gone.Name); j >= 0 {
			after := slices.Delete(slices.Clone(s.After), j, j+1)
			p.Stages[i].After = append(after, gone.After...)
		}
	}
	p.Backs = slices.DeleteFunc(p.Backs, func(b Back) bool { return b.At == gone.Name || b.To == gone.Name })
}

func (s *Stage) check() error {
	if s.Title == "" {
		return fmt.Errorf("title is missing")
	}
	if err := s.Minutes.check(); err != nil {
		return err
	}
	if s.Again != nil {
		if err := s.Again.check(); err != nil {
			return err
		}
	}
	for _, name := range slices.Sorted(maps.Keys(s.Materials)) {
		if err := s.Materials[name].check(); err != nil {
			return fmt.Errorf("material %s: %w", name, err)
		}
	}
	return nil
}

func (m Minutes) check() error {
	if m.Median > 0 && m.NineOfTen > m.Median && m.Longest > m.NineOfTen {
		return nil
	}
	return fmt.Errorf("minutes of median %g, nine_of_ten %g, longest %g: each has to be more than the one before", m.Median, m.NineOfTen, m.Longest)
}

// check holds the plan together: what is named is there, and stands before.
func (p *Plan) check() error {
	p.before = map[string][]string{}
	for _, s := range p.Stages {
		all := []string{s.Name}
		for _, a := range s.After {
			if p.before[a] == nil {
				return fmt.Errorf("stage %s is after %q, which does not stand before it", s.Name, a)
			}
			all = append(all, p.before[a]...)
		}
		for _, n := range s.Needs {
			if p.Count(n) == 0 {
				return fmt.Errorf("stage %s needs %q, which is no resource", s.Name, n)
			}
		}
		p.before[s.Name] = all
	}
	for _, b := range p.Backs {
		if b.Title == "" || b.Chance <= 0 || b.Weight <= 0 {
			return fmt.Errorf("going back %s: title, chance and weight have to be given", b.Name)
		}
		if p.before[b.At] == nil || p.before[b.To] == nil {
			return fmt.Errorf("going back %s: at %q and to %q have to be stages", b.Name, b.At, b.To)
		}
		if !p.leads(b.To, b.At) {
			return fmt.Errorf("going back %s: %s does not come before %s", b.Name, b.To, b.At)
		}
	}
	if !slices.ContainsFunc(p.Stages, func(s Stage) bool { return len(s.Only) == 0 }) {
		return fmt.Errorf("the plan has no stage that every material has")
	}
	return nil
}

// leads reports whether a stage is another one or has to be done before it.
func (p *Plan) leads(from, to string) bool { return slices.Contains(p.before[to], from) }
