package main

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"time"

	"crownassay/audit"
	"crownassay/internal/par"
	"crownassay/jobs"
)

// collection is an archive that other machines measure.
type collection struct {
	*meeting
	longest time.Duration
	again   bool
	tell    func(step string, done, total int) // nil for none

	mu    sync.Mutex
	done  int
	tally audit.Tally
	cases []audit.Case
	jobs  map[int64][]queued // not collected yet; copies of a case share one
}

// queued is a case that is being measured elsewhere.
type queued struct {
	at    int // in the archive
	name  string
	key   string
	about audit.About
}

// collect queues what has no result yet and waits until all have one.
func (c *collection) collect(ctx context.Context, a *archive) ([]audit.Case, audit.Tally, error) {
	c.cases, c.jobs, c.tally = make([]audit.Case, len(a.cases)), map[int64][]queued{}, audit.Tally{Kinds: map[audit.Kind]int{}}
	var fault error
	err := par.Do(ctx, len(a.cases), 1, func(i, _ int) {
		if err := c.queue(ctx, i, &a.cases[i]); err != nil {
			c.mu.Lock()
			defer c.mu.Unlock()
			if fault == nil {
				fault = err
			}
		}
	})
	for ; err == nil && fault == nil && len(c.jobs) > 0; err = wait(ctx) {
		fault = c.look(ctx)
	}
	if fault == nil {
		fault = err
	}
	return c.cases, c.tally, fault
}

// wait is how long between two looks.
func wait(ctx context.Context) error {
	select {
	case <-time.After(time.Second / 2):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// queue queues a case unless it has its result; its files are put where the
// workers find them first.
func (c *collection) queue(ctx context.Context, i int, a *archived) error {
	p, about, err := a.pack(ctx)
	if err == nil {
		err = p.Sendable()
	}
	if err != nil {
		return c.keep(i, a.name, about, audit.Result{Kind: audit.Not, Problem: err.Error()}, false)
	}
	key, err := p.Key()
	if err != nil {
		return err
	}
	r, had, err := c.results.Get(ctx, key)
	if err != nil {
		return err
	}
	if had && r.Kind.Lasting() && !c.again {
		return c.keep(i, a.name, about, r, true)
	}
	if had {
		if err := c.results.Forget(ctx, []string{key}); err != nil {
			return err
		}
	}
	for _, f := range p.Files {
		if err := c.meshes.Put(ctx, f.SHA256, p.Path(f.SHA256)); err != nil {
			return err
		}
	}
	text, err := json.Marshal(p.Parcel)
	if err != nil {
		return err
	}
	job, err := c.fleet.Add(ctx, jobs.Piece{Key: key, Name: a.name, Parcel: text, Longest: c.longest})
	if err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.jobs[job] = append(c.jobs[job], queued{i, a.name, key, about})
	return nil
}

// keep keeps the result of a case.
func (c *collection) keep(i int, name string, about audit.About, r audit.Result, had bool) (err error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.cases[i], err = r.Case(name, about); err != nil {
		return err
	}
	c.tally.Kinds[r.Kind]++
	if had {
		c.tally.Had++
	}
	c.done++
	return nil
}

// look collects what has ended.
func (c *collection) look(ctx context.Context) error {
	ids := make([]int64, 0, len(c.jobs))
	for id := range c.jobs {
		ids = append(ids, id)
	}
	s, err := c.fleet.Stand(ctx, ids)
	if err != nil {
		return err
	}
	for id, qs := range c.jobs {
		if s.Left[id] {
			continue
		}
		r, ok, err := c.results.Get(ctx, qs[0].key)
		if err != nil {
			return err
		}
		if !ok {
			r = audit.Result{Kind: audit.Broken, Problem: lost(s.Lost[id])}
		}
		for _, q := range qs {
			if err := c.keep(q.at, q.name, q.about, r, false); err != nil {
				return err
			}
		}
		delete(c.jobs, id)
	}
	if c.tell != nil {
		c.tell(fmt.Sprintf("%d of %d cases, %d being measured", c.done, len(c.cases), s.Running), c.done, len(c.cases))
	}
	return nil
}

// lost says why a case was given up.
func lost(why string) string {
	if why == "" {
		return "every worker that measured it was ended in the middle of it; measure it alone, or give the workers more memory"
	}
	return "no worker could measure it: " + why
}
