package visit

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Window is a time in which a visit goes on without its dentist, who has
// nothing to do at another chair either.
type Window struct {
	Visit    int64     `json:"visit"`
	Chair    int       `json:"chair"`
	Stage    string    `json:"stage"` // that it begins with
	Title    string    `json:"title"`
	Dentist  string    `json:"dentist"`
	From     time.Time `json:"from"`      // the median
	FromLate time.Time `json:"from_late"` // with 90 %
	Sure     float64   `json:"sure"`      // minutes that it lasts at least with 90 %
	Middle   float64   `json:"middle"`    // minutes: the median
	Chance   float64   `json:"chance"`    // that there is one at all
}

// Conflict is a stage of one visit that waits for what another one holds.
type Conflict struct {
	Visit    int64   `json:"visit"` // that waits
	Chair    int     `json:"chair"`
	Stage    string  `json:"stage"`
	Title    string  `json:"title"`
	Resource string  `json:"resource"` // such as mill, chair 2 or dentist AB
	Holder   int64   `json:"holder"`   // visit that holds it
	HeldIn   int     `json:"held_in"`  // its chair
	Chance   float64 `json:"chance"`
	Mean     float64 `json:"mean"`   // minutes, where it waits at all
	Ninety   float64 `json:"ninety"` // minutes that 90 % of these waits last no longer
}

// Overbooked is a resource that is held by more stages than there is of it.
type Overbooked struct {
	Resource string `json:"resource"`
	Held     int    `json:"held"`
	Count    int    `json:"count"`
}

// The smallest that is said.
const (
	leastWait   = 0.5 // minutes: a shorter wait is none, and so is a shorter window
	sameWindow  = 2   // minutes apart: windows that begin together are one
	leastChance = 0.1 // of a conflict
	leastWindow = 0.5 // chance of a window: one that is not to be expected is no use
)

// noteFree keeps, for every task that begins a stretch without the dentist, when
// the dentist is free within it.
func (p *played) noteFree(e *engine, i, d int) {
	pool := p.dentists[i]
	if pool < 0 {
		return
	}
	busy := e.busy[slices.Index(p.watch, pool)]
	for t := range p.jobs[i].tasks {
		if p.opens(i, t, pool) {
			p.free[i][t][d] = firstFree(busy, e.jobs[i].tasks[t].begin, p.until(e, i, t, pool))
		}
	}
}

// opens reports whether a task that is not done yet needs no dentist while
// what was before it did, or is done.
func (s *scene) opens(i, t, pool int) bool {
	tasks := s.jobs[i].tasks
	if tasks[t].done || slices.Contains(tasks[t].pools, pool) {
		return false
	}
	for _, a := range tasks[t].after {
		if !tasks[a].done && !slices.Contains(tasks[a].pools, pool) {
			return false
		}
	}
	return true
}

// until is when the visit needs its dentist again after a task has begun, or
// is over.
func (p *played) until(e *engine, i, t, pool int) float64 {
	from, to := e.jobs[i].tasks[t].begin, e.jobs[i].finish
	for o, k := range e.jobs[i].tasks {
		if slices.Contains(p.jobs[i].tasks[o].pools, pool) && k.begin >= from {
			to = min(to, k.begin)
		}
	}
	return to
}

// firstFree is the first stretch between two times that is not busy; of no
// length where there is none.
func firstFree(busy []span, from, to float64) span {
	for _, b := range busy {
		if b.to <= from {
			continue
		}
		if b.from > from {
			to = min(to, b.from)
			break
		}
		from = b.to
	}
	if from >= to {
		return span{to, to}
	}
	return span{from, to}
}

// windows are those that are likely enough to be named, in the order of time.
func (p *played) windows() []Window {
	out := []Window{}
	for i := range p.jobs {
		pool := p.dentists[i]
		for t, st := range p.stages[i] {
			if pool < 0 || !p.opens(i, t, pool) {
				continue
			}
			var from, length []float64
			some := 0
			for _, s := range p.free[i][t] {
				length = append(length, s.to-s.from)
				if s.to-s.from > leastWait {
					from = append(from, s.from)
					some++
				}
			}
			w := Window{Visit: p.visits[i].ID, Chair: p.visits[i].Chair, Stage: st.Name, Title: st.Title, Dentist: p.visits[i].Dentist, Chance: float64(some) / float64(p.n)}
			if w.Chance < leastWindow {
				continue
			}
			f, l := spreadOf(from), spreadOf(length)
			w.From, w.FromLate, w.Sure, w.Middle = p.moment(f.P50), p.moment(f.P90), l.P10, l.P50
			out = append(out, w)
		}
	}
	slices.SortStableFunc(out, func(a, b Window) int { return a.From.Compare(b.From) })
	return apartWindows(out)
}

// apartWindows keeps one of the windows of a dentist that begin together: they
// are the same time, seen from two chairs.
func apartWindows(ws []Window) []Window {
	out := []Window{}
	for _, w := range ws {
		i := slices.IndexFunc(out, func(o Window) bool { return o.Dentist == w.Dentist && w.From.Sub(o.From) <= long(sameWindow) })
		switch {
		case i < 0:
			out = append(out, w)
		case w.Sure > out[i].Sure:
			out[i] = w
		}
	}
	return out
}

// conflicts are the waits of all draws, gathered.
func (p *played) conflicts() []Conflict {
	type what struct{ job, task, pool, holder int }
	got, in := map[what][]float64{}, map[what]int{}
	var order []what
	for d, ws := range p.waits {
		for _, w := range ws {
			if w.minutes < leastWait || w.holder < 0 || w.holder == w.job {
				continue
			}
			k := what{w.job, w.task, w.pool, w.holder}
			if got[k] == nil {
				order = append(order, k)
			}
			if n := len(got[k]); n > 0 && in[k] == d { // once more in this draw, after going back
				got[k][n-1] += w.minutes
				continue
			}
			got[k], in[k] = append(got[k], w.minutes), d
		}
	}
	out := []Conflict{}
	for _, k := range order {
		v, h, st := p.visits[k.job], p.visits[k.holder], p.stages[k.job][k.task]
		sum := 0.0
		for _, m := range got[k] {
			sum += m
		}
		c := Conflict{Visit: v.ID, Chair: v.Chair, Stage: st.Name, Title: st.Title, Resource: p.names[k.pool], Holder: h.ID, HeldIn: h.Chair,
			Chance: float64(len(got[k])) / float64(p.n), Mean: sum / float64(len(got[k])), Ninety: spreadOf(got[k]).P90}
		if c.Chance >= leastChance {
			out = append(out, c)
		}
	}
	slices.SortStableFunc(out, func(a, b Conflict) int {
		switch {
		case a.Chance != b.Chance && a.Chance > b.Chance:
			return -1
		case a.Chance != b.Chance:
			return 1
		}
		return int(a.Visit - b.Visit)
	})
	return out
}

// over are the resources that the stages which run now hold more of than there
// is.
func (s *scene) over() []Overbooked {
	held := make([]int, len(s.pools))
	for _, j := range s.jobs {
		for _, k := range j.tasks {
			for _, p := range k.pools {
				if k.running {
					held[p]++
				}
			}
		}
	}
	out := []Overbooked{}
	for p, n := range held {
		if n > s.pools[p] {
			out = append(out, Overbooked{s.names[p], n, s.pools[p]})
		}
	}
	return out
}

// Says is a conflict in a sentence.
func (c *Conflict) Says() string {
	who, held := fmt.Sprintf("Chair %d waits", c.Chair), fmt.Sprintf("by chair %d", c.HeldIn)
	if c.Chair == c.HeldIn {
		who, held = "A visit waits", fmt.Sprintf("by visit %d", c.Holder)
	}
	resource := "the " + c.Resource
	if strings.Contains(c.Resource, " ") { // chair 2, dentist AB
		resource = c.Resource
	}
	return fmt.Sprintf("%s for %s before %s with %.0f %%, held %s: %s on average, up to %s with 90 %%.",
		who, resource, lower(c.Title), 100*c.Chance, held, spell(c.Mean), spell(c.Ninety))
}
