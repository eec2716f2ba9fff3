package jobs

import (
	"context"
	"errors"
	"fmt"

	"github.com/riverqueue/river"
)

// worker works the jobs of the queue.
type worker struct {
	river.WorkerDefaults[args]
	work Work
	told *board
}

// Work measures the case of a job. A case that cannot be measured is not
// tried again; a job that the program's end has stopped is.
func (w *worker) Work(ctx context.Context, j *river.Job[args]) error {
	w.told.tell(j.ID, func(e *entry) { *e = entry{} })
	err := w.work(ctx, j.Args.Case, Tell{
		Step: func(step string, done, total int) {
			w.told.tell(j.ID, func(e *entry) { e.job.Step, e.job.Done, e.job.Total = step, done, total })
		},
		First: func(document []byte) {
			w.told.tell(j.ID, func(e *entry) { e.job.First, e.document = true, document })
		},
	})
	w.told.tell(j.ID, func(e *entry) { e.job.First, e.document = false, nil })
	switch {
	case err == nil:
		return nil
	case ctx.Err() != nil && !errors.Is(context.Cause(ctx), context.DeadlineExceeded):
		return context.Cause(ctx)
	}
	return river.JobCancel(fmt.Errorf(failed+"%w", err))
}
