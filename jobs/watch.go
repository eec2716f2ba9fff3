package jobs

import (
	"context"
	"time"

	"crownassay/record"
)

// Watch sends the job now and after each change until it has ended or the
// context has; then it closes the channel. What this process works is told at
// once, the rest is looked up twice a second.
func (q *Queue) Watch(ctx context.Context, job int64) (<-chan record.Job, error) {
	now, err := q.Job(ctx, job)
	if err != nil {
		return nil, err
	}
	out := make(chan record.Job)
	go q.watch(ctx, now, out)
	return out, nil
}

func (q *Queue) watch(ctx context.Context, now record.Job, out chan<- record.Job) {
	defer close(out)
	tick := time.NewTicker(polled)
	defer tick.Stop()
	for sent := (record.Job{}); ; {
		wake := q.told.changed() // before looking, so that no change is missed
		if j, err := q.Job(ctx, now.ID); err == nil {
			now = j
		}
		if now != sent {
			select {
			case out <- now:
				sent = now
			case <-ctx.Done():
				return
			}
		}
		if now.Ended() {
			return
		}
		select {
		case <-wake:
		case <-tick.C:
		case <-ctx.Done():
			return
		}
	}
}
