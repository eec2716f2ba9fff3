package par

import (
	"context"
	"errors"
	"slices"
	"sync/atomic"
	"testing"
)

// withWorkers runs a test for several numbers of workers.
func withWorkers(t *testing.T, f func(t *testing.T)) {
	t.Helper()
	defer func(w int) { Workers = w }(Workers)
	for _, Workers = range []int{1, 2, 5} {
		f(t)
		if n := helping.Load(); n != 0 {
			t.Errorf("%d workers: %d helpers are left over", Workers, n)
		}
	}
}

// TestDo: every item is done once, in chunks that do not depend on the
// workers, with work within work.
func TestDo(t *testing.T) {
	withWorkers(t, func(t *testing.T) {
		const n, size, inner = 103, 10, 7
		done := make([]atomic.Int32, n*inner)
		var most, now atomic.Int32
		err := Do(context.Background(), n, size, func(lo, hi int) {
			if lo%size != 0 || hi != min(n, lo+size) {
				t.Errorf("%d workers: chunk %d to %d", Workers, lo, hi)
			}
			for i := lo; i < hi; i++ {
				Do(context.Background(), inner, 1, func(lo, _ int) {
					most.Store(max(most.Load(), now.Add(1)))
					done[i*inner+lo].Add(1)
					now.Add(-1)
				})
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		for i := range done {
			if k := done[i].Load(); k != 1 {
				t.Fatalf("%d workers: item %d was done %d times", Workers, i, k)
			}
		}
		if Workers == 1 && most.Load() > 1 {
			t.Errorf("one worker did %d things at a time", most.Load())
		}
	})
}

// TestLaterHelp: a processor that comes free helps with work that began while
// it was busy, though the one at that work is in the middle of a chunk.
func TestLaterHelp(t *testing.T) {
	defer func(w int) { Workers = w }(Workers)
	Workers = 2
	inner := make(chan bool)
	Together(context.Background(),
		func() error {
			<-inner // busy until the other's work within has begun
			return nil
		},
		func() error {
			return Together(context.Background(),
				func() error {
					inner <- true
					<-inner // waits for the second, which only a helper can do
					return nil
				},
				func() error {
					inner <- true
					return nil
				})
		})
}

// TestCancelled: chunks are not started once the context has ended.
func TestCancelled(t *testing.T) {
	withWorkers(t, func(t *testing.T) {
		ctx, stop := context.WithCancel(context.Background())
		var done atomic.Int32
		err := Do(ctx, 1000, 1, func(int, int) {
			if k := done.Add(1); k == 3 {
				stop()
			} else if k > 3 {
				<-ctx.Done()
			}
		})
		if k := int(done.Load()); !errors.Is(err, context.Canceled) || k > 3+Workers {
			t.Errorf("%d workers: %v after %d of 1000", Workers, err, k)
		}
	})
}

// TestTogether: all are called, and of several errors the first in order is
// told.
func TestTogether(t *testing.T) {
	first, second := errors.New("first"), errors.New("second")
	withWorkers(t, func(t *testing.T) {
		var called [3]bool
		err := Together(context.Background(),
			func() error { called[0] = true; return nil },
			func() error { called[1] = true; return first },
			func() error { called[2] = true; return second })
		if err != first || slices.Contains(called[:], false) {
			t.Errorf("%d workers: %v, called %v", Workers, err, called)
		}
	})
}

// TestPanic: what panics in any goroutine, also within work within work,
// reaches the caller and leaves nothing behind.
func TestPanic(t *testing.T) {
	withWorkers(t, func(t *testing.T) {
		for bad := range 20 {
			func() {
				defer func() {
					v := recover()
					if Workers == 1 && v == "bad" {
						return // nothing was between
					}
					if p, ok := v.(*Panic); !ok || p.Value != "bad" || len(p.Stack) == 0 {
						t.Errorf("%d workers: caught %v", Workers, v)
					}
				}()
				Do(context.Background(), 20, 1, func(lo, _ int) {
					Do(context.Background(), 3, 1, func(in, _ int) {
						if lo == bad && in == 1 {
							panic("bad")
						}
					})
				})
				t.Errorf("%d workers: nothing panicked", Workers)
			}()
		}
		if len(open.jobs) != 0 {
			t.Errorf("%d workers: %d jobs are left open", Workers, len(open.jobs))
		}
	})
}
