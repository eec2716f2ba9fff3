// Package par runs work over fixed chunks in parallel, with the same result
// for any number of workers: chunk bounds depend on the count alone, every
// chunk writes by index, and sums are merged in chunk order.
package par

import (
	"context"
	"runtime"
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

// Do calls f for the chunks [lo,hi) of n items, each of the given size (0
// means Chunk). The context is asked once a chunk; its error is returned and
// the remaining chunks are not started.
func Do(ctx context.Context, n, size int, f func(lo, hi int)) error {
	if size <= 0 {
		size = Chunk
	}
	chunks := (n + size - 1) / size
	w := min(workers(), chunks)
	if w <= 1 {
		for lo := 0; lo < n; lo += size {
			if err := ctx.Err(); err != nil {
				return err
			}
			f(lo, min(n, lo+size))
		}
		return ctx.Err()
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range w {
		wg.Go(func() {
			for ctx.Err() == nil {
				c := int(next.Add(1)) - 1
				if c >= chunks {
					return
				}
				f(c*size, min(n, (c+1)*size))
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}
