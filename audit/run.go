package audit

import (
	"context"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"time"

	"crownassay/internal/par"
	"crownassay/record"
)

// Item is one case of an archive that is to be measured. Open reads what it is
// measured from; an error says why that cannot be.
type Item struct {
	Name string
	Open func(context.Context) (*Opened, error)
}

// Opened is a case that can be measured.
type Opened struct {
	About
	Key     string                                // of all that its document depends on
	Measure func(context.Context) ([]byte, error) // its document; an error says why there is none
}

// Kind says how measuring a case ended.
type Kind string

// The ways it ends.
const (
	Measured Kind = "measured"
	Refused  Kind = "refused"  // it cannot be measured; it will be the same again
	Broken   Kind = "broken"   // the program itself failed in it
	Late     Kind = "late"     // it took longer than it may
	Not      Kind = "not-read" // its inputs could not be read
)

// Lasting reports whether measuring the same once more would end the same.
func (k Kind) Lasting() bool { return k == Measured || k == Refused }

// Result is what measuring a case gave.
type Result struct {
	Kind     Kind
	Document []byte // as package record writes it
	Problem  string // in words, where there is no document
}

// Journal keeps results by the keys of their cases. What Put has returned
// without an error is kept. A lasting result is never replaced.
type Journal interface {
	Get(ctx context.Context, key string) (r Result, ok bool, err error)
	Put(ctx context.Context, key, name string, r Result) error
}

// Settings say how an archive is run through.
type Settings struct {
	AtOnce   int           // cases at a time; 0 for as many as there are processors
	Longest  time.Duration // that a case may take; 0 for ten minutes
	Progress func(name string, done, total int)
}

// Tally counts how cases ended.
type Tally struct {
	Kinds map[Kind]int
	Had   int // of them taken from the journal
}

// Run measures those of the items that the journal does not have and returns all
// in their order. A case that cannot be measured, makes the program fail or
// takes too long is a case with a problem. An error says that the context has
// ended or that the journal cannot be used; what was measured is kept then.
func Run(ctx context.Context, items []Item, j Journal, s Settings) ([]Case, Tally, error) {
	if s.AtOnce == 0 {
		s.AtOnce = runtime.GOMAXPROCS(0)
	}
	if s.Longest == 0 {
		s.Longest = longest
	}
	r := &runner{Settings: s, journal: j, items: items, out: make([]Case, len(items)), tally: Tally{Kinds: map[Kind]int{}}}
	loops := make([]func() error, min(s.AtOnce, len(items)))
	for i := range loops {
		loops[i] = func() error { return r.work(ctx) }
	}
	err := par.Together(ctx, loops...)
	return r.out, r.tally, err
}

// longest is how long a case may take where nothing else is said: a case of six
// surfaces of a million triangles takes a minute on a slow machine.
const longest = 10 * time.Minute

// grace is how long a case whose time is up has to notice that.
const grace = 5 * time.Second

// runner goes through the items.
type runner struct {
	Settings
	journal Journal
	items   []Item
	out     []Case

	mu    sync.Mutex
	next  int
	done  int
	fault error // of the journal: nothing more is begun
	tally Tally
}

// work takes one item after the other.
func (r *runner) work(ctx context.Context) error {
	for ctx.Err() == nil {
		r.mu.Lock()
		i, fault := r.next, r.fault
		r.next++
		r.mu.Unlock()
		if i >= len(r.items) || fault != nil {
			return fault
		}
		if err := r.one(ctx, i); err != nil {
			r.mu.Lock()
			r.fault = err
			r.mu.Unlock()
			return err
		}
	}
	return ctx.Err()
}

func (r *runner) one(ctx context.Context, i int) error {
	it := &r.items[i]
	res, about, had, err := r.result(ctx, it)
	if err != nil {
		return err
	}
	if r.out[i], err = res.Case(it.Name, about); err != nil {
		return err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.done++
	r.tally.Kinds[res.Kind]++
	if had {
		r.tally.Had++
	}
	if r.Progress != nil {
		r.Progress(it.Name, r.done, len(r.items))
	}
	return nil
}

// result finds or makes the result of an item.
func (r *runner) result(ctx context.Context, it *Item) (res Result, about About, had bool, err error) {
	o, err := it.Open(ctx)
	if err != nil {
		return Result{Kind: Not, Problem: err.Error()}, about, false, ctx.Err()
	}
	if res, had, err = r.journal.Get(ctx, o.Key); err != nil || had && res.Kind.Lasting() {
		return res, o.About, had, err
	}
	if res = Guard(ctx, r.Longest, o.Measure); ctx.Err() != nil && res.Kind != Measured {
		return res, o.About, false, ctx.Err()
	}
	return res, o.About, false, r.journal.Put(context.WithoutCancel(ctx), o.Key, it.Name, res)
}

// Case is a result as it is looked over.
func (r *Result) Case(name string, about About) (Case, error) {
	if r.Kind != Measured {
		return Case{Name: name, About: about, Problem: r.Problem}, nil
	}
	d, err := record.ReadDocument(r.Document)
	if err != nil {
		return Case{}, err
	}
	return Of(name, d, about)
}

// Guard measures a case within its time and catches what goes wrong with it. One
// that does not end when its time is up is left behind.
func Guard(ctx context.Context, longest time.Duration, do func(context.Context) ([]byte, error)) Result {
	limited, stop := context.WithTimeout(ctx, longest)
	defer stop()
	done := make(chan Result, 1)
	go func() { done <- caught(limited, do) }()
	late := Result{Kind: Late, Problem: fmt.Sprintf("it took longer than the %s that a case may take, and was stopped; look at it alone, or give it more time", longest)}
	select {
	case r := <-done:
		if r.Kind != Measured && ctx.Err() == nil && limited.Err() != nil {
			return late
		}
		return r
	case <-limited.Done():
	}
	select {
	case r := <-done:
		if r.Kind == Measured {
			return r
		}
	case <-time.After(grace):
	}
	return late
}

// caught measures a case; what panics in it becomes its result.
func caught(ctx context.Context, do func(context.Context) ([]byte, error)) (r Result) {
	defer func() {
		if v := recover(); v != nil {
			p := par.Caught(v)
			r = Result{Kind: Broken, Problem: fmt.Sprintf("the program failed in it: %v (at %s); the other cases are not touched by that", p.Value, place(p.Stack))}
		}
	}()
	doc, err := do(ctx)
	if err != nil {
		return Result{Kind: Refused, Problem: err.Error()}
	}
	return Result{Kind: Measured, Document: doc}
}

// place is the line of the code where a stack began to panic.
func place(stack []byte) string {
	_, after, ok := strings.Cut(string(stack), "panic(")
	if !ok {
		after = string(stack)
	}
	for _, l := range strings.Split(after, "\n") {
		f := strings.Fields(l)
		if len(f) == 0 || !strings.Contains(f[0], ".go:") || strings.Contains(f[0], "/runtime/") {
			continue
		}
		parts := strings.Split(f[0], "/")
		return strings.Join(parts[max(0, len(parts)-2):], "/")
	}
	return "an unknown place"
}
