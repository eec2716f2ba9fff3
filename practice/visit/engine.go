package visit

import (
	"math"
	"slices"
	"sort"
)

// engine plays a model through, one draw at a time. A stage begins as soon as
// what it is after is done and all that it holds is free; where several wait,
// the earlier job goes first. What is free is not kept for a job that waits for
// something else as well.
type engine struct {
	m        *model
	seed     uint64
	draw     uint64
	now      float64
	free     []int
	jobs     []jobState
	running  []running // in the order they began
	arrivals []int     // jobs by the time they are ready
	active   []int     // jobs that may begin and are not over, by priority
	waits    []wait
	busy     [][]span // of each watched pool: when none of it is free
}

type jobState struct {
	tasks  []taskState
	left   int // tasks to be done
	seated bool
	went   []int // of each going: times it happened
	passed []int // and did not
	finish float64
}

type taskState struct {
	done, begun bool
	passes      int
	begin, end  float64 // of the first time and the last
	since       float64 // ready and waiting since; never when it is not
	pool        int     // that was missing first
	holder      int
}

type running struct {
	job, task int
	end       float64
}

func newEngine(m *model, seed uint64) *engine {
	e := &engine{m: m, seed: seed, free: make([]int, len(m.pools)), busy: make([][]span, len(m.watch)), jobs: make([]jobState, len(m.jobs))}
	for i, j := range m.jobs {
		e.jobs[i] = jobState{tasks: make([]taskState, len(j.tasks)), went: make([]int, len(j.goings)), passed: make([]int, len(j.goings))}
		e.arrivals = append(e.arrivals, i)
	}
	sort.SliceStable(e.arrivals, func(a, b int) bool { return m.jobs[e.arrivals[a]].ready < m.jobs[e.arrivals[b]].ready })
	return e
}

// play plays one draw. What it found is in the engine until the next one.
func (e *engine) play(draw uint64) {
	e.reset(draw)
	arrived := 0
	for {
		for arrived < len(e.arrivals) && e.m.jobs[e.arrivals[arrived]].ready <= e.now {
			e.arrive(e.arrivals[arrived])
			arrived++
		}
		e.beginAll()
		next := never
		if arrived < len(e.arrivals) {
			next = e.m.jobs[e.arrivals[arrived]].ready
		}
		for _, r := range e.running {
			next = min(next, r.end)
		}
		if math.IsInf(next, 1) {
			return
		}
		e.now = next
		e.endAll()
	}
}

// reset puts everything as it is at the beginning.
func (e *engine) reset(draw uint64) {
	e.draw, e.now = draw, 0
	copy(e.free, e.m.pools)
	e.running, e.active, e.waits = e.running[:0], e.active[:0], e.waits[:0]
	for i := range e.busy {
		e.busy[i] = e.busy[i][:0]
	}
	for i := range e.m.jobs {
		j, s := &e.m.jobs[i], &e.jobs[i]
		s.left, s.finish, s.seated = 0, max(0, j.ready), false
		clear(s.went)
		clear(s.passed)
		for t := range j.tasks {
			k := &j.tasks[t]
			s.tasks[t] = taskState{done: k.done, passes: k.passes, begin: never, end: never, since: never}
			if !k.done {
				s.left++
			}
		}
	}
	for i := range e.m.jobs { // what runs holds what it needs, be it more than there is
		if e.m.jobs[i].seated {
			e.take(e.m.jobs[i].chair)
			e.jobs[i].seated = true
		}
		for t := range e.m.jobs[i].tasks {
			if e.m.jobs[i].tasks[t].running {
				e.begin(i, t)
			}
		}
	}
}

// arrive lets a job take part; a job that has nothing to do is over.
func (e *engine) arrive(i int) {
	if e.jobs[i].left == 0 {
		e.over(i)
		return
	}
	at, _ := slices.BinarySearch(e.active, i)
	e.active = slices.Insert(e.active, at, i)
}

// over frees the chair of a job that has ended.
func (e *engine) over(i int) {
	e.jobs[i].finish = e.now
	if e.jobs[i].seated {
		e.give(e.m.jobs[i].chair)
		e.jobs[i].seated = false
	}
}

// beginAll begins what can begin, and looks again from the first job on when a
// chair was left in doing so.
func (e *engine) beginAll() {
	for n := 0; n < len(e.active); n++ {
		if e.beginOf(e.active[n]) {
			n = -1
		}
	}
}

// beginOf begins what can begin of a job and reports whether its chair was left.
func (e *engine) beginOf(i int) (left bool) {
	for t := range e.m.jobs[i].tasks {
		s := &e.jobs[i].tasks[t]
		if s.done || s.begun || !e.reached(i, t) {
			continue
		}
		if pool, holder := e.missing(i, t); pool < 0 {
			sat := e.jobs[i].seated
			e.begin(i, t)
			left = left || sat && !e.jobs[i].seated
		} else if math.IsInf(s.since, 1) {
			s.since, s.pool, s.holder = e.now, pool, holder
		}
	}
	return left
}

// reached reports whether all that a task is after is done.
func (e *engine) reached(i, t int) bool {
	for _, a := range e.m.jobs[i].tasks[t].after {
		if !e.jobs[i].tasks[a].done {
			return false
		}
	}
	return true
}

// missing is the first pool that a task needs and none is free of, with the job
// that holds it; -1 when nothing is missing.
func (e *engine) missing(i, t int) (pool, holder int) {
	j := &e.m.jobs[i]
	k := &j.tasks[t]
	if k.seat && !e.jobs[i].seated && e.free[j.chair] <= 0 {
		return j.chair, e.sitter(j.chair)
	}
	for _, p := range k.pools {
		if e.free[p] <= 0 {
			return p, e.holder(p)
		}
	}
	return -1, -1
}

// sitter is the job that has a chair.
func (e *engine) sitter(chair int) int {
	for i := range e.m.jobs {
		if e.jobs[i].seated && e.m.jobs[i].chair == chair {
			return i
		}
	}
	return -1
}

// holder is the job of the first running task that holds a pool.
func (e *engine) holder(pool int) int {
	for _, r := range e.running {
		if slices.Contains(e.m.jobs[r.job].tasks[r.task].pools, pool) {
			return r.job
		}
	}
	return -1
}

// begin begins a task, which takes what it needs.
func (e *engine) begin(i, t int) {
	j, s := &e.m.jobs[i], &e.jobs[i]
	k, ts := &j.tasks[t], &s.tasks[t]
	for _, p := range k.pools {
		e.take(p)
	}
	e.sit(i, k.seat)
	ts.begun = true
	if math.IsInf(ts.begin, 1) {
		ts.begin = e.now
	}
	if !math.IsInf(ts.since, 1) {
		e.waits = append(e.waits, wait{i, t, ts.pool, ts.holder, e.now - ts.since})
		ts.since = never
	}
	law := k.first
	if ts.passes > 0 && !(k.running && ts.passes == k.passes) {
		law = k.again
	}
	lasts := law.Quantile(uniform(e.seed, e.draw, j.key, uint64(t), uint64(ts.passes)))
	e.running = append(e.running, running{i, t, e.now + lasts})
}

// sit takes the job's chair for a task that holds it. The patient stays in it
// until a task begins that does not hold it while none that does is running.
func (e *engine) sit(i int, seat bool) {
	s := &e.jobs[i]
	if seat && !s.seated {
		e.take(e.m.jobs[i].chair)
		s.seated = true
	}
	if !seat && s.seated && !slices.ContainsFunc(e.running, func(r running) bool { return r.job == i && e.m.jobs[i].tasks[r.task].seat }) {
		e.give(e.m.jobs[i].chair)
		s.seated = false
	}
}

func (e *engine) take(pool int) {
	e.free[pool]--
	if w := slices.Index(e.m.watch, pool); w >= 0 && e.free[pool] == 0 {
		e.busy[w] = append(e.busy[w], span{e.now, never})
	}
}

func (e *engine) give(pool int) {
	e.free[pool]++
	if w := slices.Index(e.m.watch, pool); w >= 0 && e.free[pool] == 1 {
		e.busy[w][len(e.busy[w])-1].to = e.now
	}
}

// endAll ends the tasks whose time has come, in the order they began.
func (e *engine) endAll() {
	for n := 0; n < len(e.running); {
		r := e.running[n]
		if r.end > e.now {
			n++
			continue
		}
		e.running = slices.Delete(e.running, n, n+1)
		e.end(r.job, r.task)
		n = 0 // going back may have ended others
	}
}

func (e *engine) end(i, t int) {
	j, s := &e.m.jobs[i], &e.jobs[i]
	for _, p := range j.tasks[t].pools {
		e.give(p)
	}
	s.tasks[t].done, s.tasks[t].end = true, e.now
	s.tasks[t].passes++
	s.left--
	for g := range j.goings {
		if j.goings[g].at == t && e.goes(i, g) {
			e.undo(i, j.goings[g].undone)
			return
		}
	}
	if s.left == 0 {
		e.over(i)
		at, found := slices.BinarySearch(e.active, i)
		if found {
			e.active = slices.Delete(e.active, at, at+1)
		}
	}
}

// goes decides whether a job goes back. What happened before in this draw
// counts as seen, so that the number of times is beta-binomial.
func (e *engine) goes(i, g int) bool {
	j, s := &e.m.jobs[i], &e.jobs[i]
	k, n := s.went[g], s.went[g]+s.passed[g]
	u := uniform(e.seed, e.draw, j.key, uint64(len(j.tasks)+g), uint64(n))
	of := &j.goings[g]
	yes := u*(of.a+of.b+float64(n)) < of.a+float64(k)
	switch {
	case g == j.force && n == 0:
		yes = true
	case g == j.never || k >= mostGoings:
		yes = false
	}
	if yes {
		s.went[g]++
	} else {
		s.passed[g]++
	}
	return yes
}

// undo makes tasks undone; what runs of them stops.
func (e *engine) undo(i int, tasks []int) {
	s := &e.jobs[i]
	for _, t := range tasks {
		ts := &s.tasks[t]
		if n := slices.IndexFunc(e.running, func(r running) bool { return r.job == i && r.task == t }); n >= 0 {
			e.running = slices.Delete(e.running, n, n+1)
			for _, p := range e.m.jobs[i].tasks[t].pools {
				e.give(p)
			}
			ts.passes++
		}
		if ts.done {
			s.left++
		}
		ts.done, ts.begun, ts.since = false, false, never
	}
}
