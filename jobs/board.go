package jobs

import (
	"sync"

	"crownassay/record"
)

// mostTold is how many jobs' steps are remembered.
const mostTold = 256

// board holds what the jobs of this process have told, and wakes who watches.
type board struct {
	mu    sync.Mutex
	told  map[int64]*entry
	order []int64       // of told, the oldest first
	wake  chan struct{} // closed at the next change
}

type entry struct {
	job      record.Job
	document []byte
}

func newBoard() *board { return &board{told: map[int64]*entry{}, wake: make(chan struct{})} }

// tell changes what is known of a job.
func (b *board) tell(job int64, change func(*entry)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	e := b.told[job]
	if e == nil {
		e = &entry{}
		b.told[job] = e
		if b.order = append(b.order, job); len(b.order) > mostTold {
			delete(b.told, b.order[0])
			b.order = b.order[1:]
		}
	}
	change(e)
	close(b.wake)
	b.wake = make(chan struct{})
}

// of returns what is known of a job.
func (b *board) of(job int64) record.Job {
	b.mu.Lock()
	defer b.mu.Unlock()
	if e := b.told[job]; e != nil {
		return e.job
	}
	return record.Job{}
}

// first returns the first readings of a job.
func (b *board) first(job int64) []byte {
	b.mu.Lock()
	defer b.mu.Unlock()
	if e := b.told[job]; e != nil {
		return e.document
	}
	return nil
}

// changed returns a channel that is closed at the next change of any job.
func (b *board) changed() <-chan struct{} {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.wake
}
