// Package par runs work over fixed chunks in parallel, with the same result
// for any number of workers: chunk bounds depend on the count alone, every
// chunk writes by index, and sums are merged in chunk order.
//
// What panics in a chunk reaches the caller, whichever goroutine it was in, as a
// *Panic once the others are done with theirs; no further chunk is begun.
//
// Work within work shares the processors: a chunk that runs chunks of its own
// gets help as soon as, and only when, a processor has nothing else to do.
package par

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"sync"
	"sync/atomic"
)

// Chunk is how many items one chunk holds.
const Chunk = 1024

// Workers is how many goroutines are used; 0 means GOMAXPROCS. Tests set it.
var Workers int

func workers() int {
	if Workers > 0 {
		return Workers
	}
	return runtime.GOMAXPROCS(0)
}

// helping is how many goroutines help callers of Do, less the callers that
// wait for theirs and do nothing.
var helping atomic.Int64

// Do calls f for the chunks [lo,hi) of n items, each of the given size (0
// means Chunk). The context is asked once a chunk; its error is returned and
// the remaining chunks are not started.
func Do(ctx context.Context, n, size int, f func(lo, hi int)) error {
	if size <= 0 {
		size = Chunk
	}
	j := job{ctx: ctx, n: n, size: size, chunks: (n + size - 1) / size, most: int64(workers()) - 1, f: f}
	if j.most <= 0 || j.chunks <= 1 {
		j.work()
		return ctx.Err()
	}
	open.add(&j)
	j.guarded()
	open.remove(&j)
	release()
	j.helpers.Wait()
	helping.Add(1)
	if p := j.panicked.Load(); p != nil {
		panic(p)
	}
	return ctx.Err()
}

// Together calls functions that do not depend on one another and returns the
// first error in their order, or the context's.
func Together(ctx context.Context, fs ...func() error) error {
	errs := make([]error, len(fs))
	err := Do(ctx, len(fs), 1, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			errs[i] = fs[i]()
		}
	})
	for _, e := range errs {
		if e != nil {
			return e
		}
	}
	return err
}

// job is one call of Do.
type job struct {
	ctx             context.Context
	n, size, chunks int
	most            int64 // helpers at work at one time, for all jobs together
	f               func(lo, hi int)
	next            atomic.Int64
	helpers         sync.WaitGroup
	panicked        atomic.Pointer[Panic] // the first
}

// Panic is what panicked in a chunk, with where that was.
type Panic struct {
	Value any
	Stack []byte
}

func (p *Panic) Error() string { return fmt.Sprintf("%v\n\n%s", p.Value, p.Stack) }

// Caught makes a Panic of what recover has returned; one that came through Do
// stays as it is.
func Caught(v any) *Panic {
	if p, ok := v.(*Panic); ok {
		return p
	}
	return &Panic{v, debug.Stack()}
}

// guarded works, and keeps what panics for the caller.
func (j *job) guarded() {
	defer func() {
		if v := recover(); v != nil {
			j.next.Store(int64(j.chunks))
			j.panicked.CompareAndSwap(nil, Caught(v))
		}
	}()
	j.work()
}

// work does chunks until none is left. Before each it looks for help.
func (j *job) work() {
	for j.ctx.Err() == nil {
		c := int(j.next.Add(1)) - 1
		if c >= j.chunks {
			return
		}
		if c+1 < j.chunks {
			j.hire()
		}
		j.f(c*j.size, min(j.n, (c+1)*j.size))
	}
}

// hire starts a helper unless all processors are at work.
func (j *job) hire() {
	if j.most <= 0 {
		return
	}
	if helping.Add(1) > j.most {
		helping.Add(-1)
		return
	}
	j.helpers.Go(func() {
		j.guarded()
		release()
	})
}

// release says that a processor has nothing to do any more: it goes to the
// oldest job that has chunks left, which is the one with the most to do.
func release() {
	helping.Add(-1)
	open.Lock()
	defer open.Unlock()
	for _, j := range open.jobs {
		if int(j.next.Load()) < j.chunks {
			j.hire()
			return
		}
	}
}

// open are the jobs whose callers still look for chunks, oldest first. Only
// these are given helpers from outside: their callers do not wait yet.
var open jobs

type jobs struct {
	sync.Mutex
	jobs []*job
}

func (o *jobs) add(j *job) {
	o.Lock()
	defer o.Unlock()
	o.jobs = append(o.jobs, j)
}

func (o *jobs) remove(j *job) {
	o.Lock()
	defer o.Unlock()
	i := slices.Index(o.jobs, j)
	o.jobs = slices.Delete(o.jobs, i, i+1)
}
