package visit

import (
	"fmt"
	"math"
	"slices"
	"time"
)

// tooShort is below what any stage takes, in minutes: it was tapped through.
const tooShort = 0.1

// Run is one passage through a stage.
type Run struct {
	Stage    string
	From, To time.Time // To is zero while it runs
	Again    bool      // after going back
	Back     string    // the kind of going back that ended it; empty for none
	LeftOut  string    // why nothing is learned of it; empty when something is
}

// Minutes is how long it lasted.
func (r *Run) Minutes() float64 { return r.To.Sub(r.From).Minutes() }

// Follow is where a visit stands.
type Follow struct {
	Runs    []Run // those that have ended and the one that runs, in order
	Running bool
	Done    map[string]bool // stages that are done or were passed over
	Next    string          // the stage that a tap begins; empty when none is left
}

// Now is the stage that runs; its Stage is empty while the visit waits.
func (f *Follow) Now() Run {
	if !f.Running {
		return Run{}
	}
	return f.Runs[len(f.Runs)-1]
}

// Following works out where a visit stands from the taps that hold. Stages
// that the plan no longer has are kept as runs and count for nothing else.
func (p *Plan) Following(v *Visit) Follow {
	f := Follow{Done: map[string]bool{}}
	for _, t := range v.Standing() {
		f.end(t, p)
		if t.Kind == KindBack {
			p.undo(&f, t.Stage)
		}
		if t.Stage != "" {
			f.begin(t, p)
		}
	}
	f.Next = p.next(v.Material, &f)
	return f
}

// end ends what runs.
func (f *Follow) end(t Tap, p *Plan) {
	if !f.Running {
		return
	}
	r := &f.Runs[len(f.Runs)-1]
	r.To, r.Back, f.Running = t.At, t.Back, false
	f.Done[r.Stage] = true
	r.LeftOut = p.leftOut(r, t.Kind)
}

// leftOut says why nothing is learned of a run.
func (p *Plan) leftOut(r *Run, by Kind) string {
	s, ok := p.Stage(r.Stage)
	m := r.Minutes()
	switch longest := s.longest(); {
	case !ok:
		return "the plan has no such stage"
	case by == KindLeave:
		return "the visit was broken off"
	case m > longest:
		return fmt.Sprintf("it lasted %s, longer than the %s that the plan gives as its longest: it was left running", spell(m), spell(longest))
	case m < tooShort:
		return "it lasted less than six seconds: it was tapped through"
	}
	return ""
}

// longest is the most of what is stated for any material, minutes.
func (s *Stage) longest() float64 {
	m := s.Minutes.Longest
	for _, o := range s.Materials {
		m = max(m, o.Longest)
	}
	return m
}

// begin begins a stage; all that has to be done before it is done or was passed
// over.
func (f *Follow) begin(t Tap, p *Plan) {
	again := slices.ContainsFunc(f.Runs, func(r Run) bool { return r.Stage == t.Stage })
	f.Runs = append(f.Runs, Run{Stage: t.Stage, From: t.At, Again: again})
	f.Running = true
	for _, s := range p.Stages {
		if s.Name != t.Stage && p.leads(s.Name, t.Stage) {
			f.Done[s.Name] = true
		}
	}
}

// undo makes a stage and all that comes after it undone.
func (p *Plan) undo(f *Follow, to string) {
	for _, s := range p.Stages {
		if p.leads(to, s.Name) {
			delete(f.Done, s.Name)
		}
	}
}

// next is the first stage that is neither done nor running and waits for
// nothing else; what runs counts as done.
func (p *Plan) next(material string, f *Follow) string {
	now := f.Now().Stage
	done := func(name string) bool { return f.Done[name] || name == now }
	for _, s := range p.For(material) {
		if !done(s.Name) && !slices.ContainsFunc(s.After, func(a string) bool { return !done(a) }) {
			return s.Name
		}
	}
	return ""
}

// spell is a length of time in words: 14 h 20 min, 35 min.
func spell(minutes float64) string {
	n := int(math.Round(minutes))
	if n < 60 {
		return fmt.Sprintf("%d min", n)
	}
	return fmt.Sprintf("%d h %d min", n/60, n%60)
}
