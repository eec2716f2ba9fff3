package visit

import (
	"fmt"
	"slices"
	"time"
)

// scene is a model with the names of what is in it.
type scene struct {
	model
	plan     *Plan
	at       time.Time
	visits   []Visit
	follow   []Follow
	stages   [][]Stage // of each job
	dentists []int     // of each job: the pool of its dentist; -1 for none
	names    []string  // of pools, such as mill, chair 2 or dentist AB
	poolOf   map[string]int
}

// set builds the scene of visits as they stand at a time. The visits are in the
// order of their priority.
func (l *Learned) set(at time.Time, visits []Visit) *scene {
	s := &scene{plan: l.plan, at: at, visits: visits, poolOf: map[string]int{}}
	for i := range visits {
		s.add(l, &visits[i])
	}
	return s
}

// pool returns the pool of a name, which is made where it is not there.
func (s *scene) pool(name string, count int) int {
	if i, ok := s.poolOf[name]; ok {
		return i
	}
	s.poolOf[name] = len(s.pools)
	s.pools, s.names = append(s.pools, count), append(s.names, name)
	return len(s.pools) - 1
}

// poolFor is the pool of what a visit needs: its own chair, its own dentist,
// any of all others.
func (s *scene) poolFor(v *Visit, resource string) int {
	switch {
	case resource == Chair:
		return s.pool(fmt.Sprintf("%s %d", Chair, v.Chair), 1)
	case resource == Dentist && v.Dentist != "":
		return s.pool(Dentist+" "+v.Dentist, 1)
	}
	return s.pool(resource, s.plan.Count(resource))
}

// dentist is the pool of a visit's dentist; -1 where the plan has none.
func (s *scene) dentist(v *Visit) int {
	if s.plan.Count(Dentist) == 0 {
		return -1
	}
	return s.poolFor(v, Dentist)
}

// add adds a visit as a job.
func (s *scene) add(l *Learned, v *Visit) {
	f := s.plan.Following(v)
	stages := s.plan.For(v.Material)
	j := job{key: uint64(v.ID), ready: v.Begun().Sub(s.at).Minutes(), force: -1, never: -1, chair: s.poolFor(v, Chair)}
	w := s.dentist(v)
	if w >= 0 && !slices.Contains(s.watch, w) {
		s.watch = append(s.watch, w)
	}
	s.dentists = append(s.dentists, w)
	index := func(name string) int {
		return slices.IndexFunc(stages, func(x Stage) bool { return x.Name == name })
	}
	now := f.Now()
	for _, st := range stages {
		j.tasks = append(j.tasks, s.task(l, v, st, &f, index))
	}
	for k, b := range s.plan.Backs {
		at := index(b.At)
		if at < 0 || index(b.To) < 0 {
			at = -1 // this material has no such stage: it never happens
		}
		g := going{at: at, a: l.Chances[k].a, b: l.Chances[k].b}
		for t, st := range stages {
			if s.plan.leads(b.To, st.Name) {
				g.undone = append(g.undone, t)
			}
		}
		j.goings = append(j.goings, g)
	}
	sitting := now.Stage
	if !f.Running && len(f.Runs) > 0 {
		sitting = f.Runs[len(f.Runs)-1].Stage
	}
	if i := index(sitting); i >= 0 {
		j.seated = j.tasks[i].seat
	}
	s.jobs, s.follow, s.stages = append(s.jobs, j), append(s.follow, f), append(s.stages, stages)
}

// task is one stage of a visit as it stands.
func (s *scene) task(l *Learned, v *Visit, st Stage, f *Follow, index func(string) int) task {
	now := f.Now()
	k := task{seat: st.Has(Chair), running: now.Stage == st.Name}
	k.done = f.Done[st.Name] && !k.running
	for _, n := range st.Needs {
		if n != Chair {
			k.pools = append(k.pools, s.poolFor(v, n))
		}
	}
	for _, a := range st.After {
		if i := index(a); i >= 0 {
			k.after = append(k.after, i)
		}
	}
	for _, r := range f.Runs {
		if r.Stage == st.Name && !r.To.IsZero() {
			k.passes++
		}
	}
	k.first, k.again = l.law(st, v.Material, false), l.law(st, v.Material, true)
	if k.running {
		k.first = newBeyond(l.law(st, v.Material, now.Again), s.at.Sub(now.From).Minutes())
	}
	return k
}

// stale says why a visit cannot be planned; empty when it can.
func (l *Learned) stale(v *Visit, at time.Time) string {
	f := l.plan.Following(v)
	now := f.Now()
	last := v.Last().At
	if !f.Running {
		if m := at.Sub(last).Minutes(); m > longestWait {
			return fmt.Sprintf("it has waited for %s: was it over? End it or break it off", spell(m))
		}
		return ""
	}
	s, ok := l.plan.Stage(now.Stage)
	if !ok {
		return fmt.Sprintf("the plan has no stage %s: tap the next one", now.Stage)
	}
	if m, longest := at.Sub(now.From).Minutes(), s.longest(); m >= longest {
		return fmt.Sprintf("%s has run for %s, longer than the %s that the plan gives as its longest: was the next tap forgotten? Tap it, or end the visit", s.Title, spell(m), spell(longest))
	}
	return ""
}

// longestWait is how long a visit may wait between stages before it is taken
// for forgotten, minutes.
const longestWait = 240
