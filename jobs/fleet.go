package jobs

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"crownassay/record"
)

// Piece is a case of an archive that any machine can measure.
type Piece struct {
	Key     string          `json:"key" river:"unique"` // of all that it is measured from
	Name    string          `json:"name"`
	Parcel  json.RawMessage `json:"parcel"`  // what it is measured from
	Longest time.Duration   `json:"longest"` // that it may take
}

// Kind names the job in the queue's tables.
func (Piece) Kind() string { return "audit-case" }

// FleetConfig says where the pieces of an archive are queued and how they are
// worked.
type FleetConfig struct {
	Address string                             // of a PostgreSQL database
	Work    func(context.Context, Piece) error // nil where pieces are only added; an error is tried again
	AtOnce  int                                // pieces at a time
	Trouble func(error)                        // told what fails about the watch over other workers, which is tried again; nil for nothing
	Logger  *slog.Logger                       // nil for none
}

// Fleet is a queue of pieces that programs on several machines work. A worker is
// alive as long as its connection to the database holds a lock; the pieces of one
// that was killed go back to the queue within seconds, whatever they take. Only
// workers of the same version of the program get a piece.
type Fleet struct {
	client *river.Client[pgx.Tx]
	pool   *pgxpool.Pool
	id     string
	stop   context.CancelFunc
	ended  chan struct{} // of the watch over other workers
	works  bool

	trouble func(error)
	told    string // the last trouble, which is told once
}

// How pieces are worked.
const (
	tries   = 3 // workers that a piece may end before it is given up
	looked  = time.Second
	patient = 24 * time.Hour // until the queue itself would call a running piece stuck
)

// fleetQueue is the queue of this version's pieces.
var fleetQueue = "audit-" + strings.ReplaceAll(record.Version, ".", "-")

// OpenFleet opens the queue and, where there is work to do, begins with it.
func OpenFleet(ctx context.Context, c FleetConfig) (*Fleet, error) {
	host, _ := os.Hostname()
	f := &Fleet{id: fmt.Sprintf("%s-%d-%s", host, os.Getpid(), uuid.NewString()), ended: make(chan struct{}), works: c.Work != nil, trouble: c.Trouble}
	rc := river.Config{ID: f.id, Logger: c.Logger, MaxAttempts: tries, JobTimeout: -1, RescueStuckJobsAfter: patient, FetchPollInterval: polled, FetchCooldown: polled / 10}
	if rc.Logger == nil {
		rc.Logger = slog.New(slog.DiscardHandler)
	}
	if f.works {
		rc.Queues = map[string]river.QueueConfig{fleetQueue: {MaxWorkers: max(c.AtOnce, 1)}}
		rc.Workers = river.NewWorkers()
		river.AddWorker(rc.Workers, &pieceWorker{work: c.Work})
	}
	var err error
	if f.pool, f.client, err = pooled(ctx, c.Address, &rc); err != nil {
		return nil, fmt.Errorf("open the queue of cases: %w", err)
	}
	if err := f.start(ctx); err != nil {
		f.pool.Close()
		return nil, fmt.Errorf("start the queue of cases: %w", err)
	}
	return f, nil
}

// start takes the lock that says that this worker is alive, watches over the
// others and begins to work.
func (f *Fleet) start(ctx context.Context) error {
	ctx, f.stop = context.WithCancel(context.WithoutCancel(ctx))
	alive, err := f.alive(ctx)
	if err != nil {
		f.stop()
		return err
	}
	go f.watch(ctx, alive)
	if !f.works {
		return nil
	}
	if err := f.client.Start(ctx); err != nil {
		f.stop()
		<-f.ended
		return err
	}
	return nil
}

// alive takes the lock on a connection of its own. A machine that is switched off
// does not close it: the server then finds out within half a minute.
func (f *Fleet) alive(ctx context.Context) (*pgxpool.Conn, error) {
	c, err := f.pool.Acquire(ctx)
	if err != nil {
		return nil, err
	}
	for _, q := range []string{`SET tcp_keepalives_idle = 10`, `SET tcp_keepalives_interval = 5`, `SET tcp_keepalives_count = 3`} {
		if _, err := c.Exec(ctx, q); err != nil {
			c.Release()
			return nil, err
		}
	}
	if _, err := c.Exec(ctx, `SELECT pg_advisory_lock(hashtextextended($1, 0))`, f.id); err != nil {
		c.Release()
		return nil, err
	}
	return c, nil
}

// watch gives back what dead workers held, and takes the own lock again where its
// connection was lost.
func (f *Fleet) watch(ctx context.Context, alive *pgxpool.Conn) {
	defer close(f.ended)
	tick := time.NewTicker(looked)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			if alive != nil {
				alive.Conn().Close(context.WithoutCancel(ctx)) // the lock goes with it
				alive.Release()
			}
			return
		case <-tick.C:
		}
		if alive != nil && alive.Ping(ctx) != nil && ctx.Err() == nil {
			alive.Release()
			alive = nil
		}
		var lost error
		if alive == nil {
			alive, lost = f.alive(ctx) // or at the next tick
		}
		f.tell(ctx, errors.Join(lost, f.giveBack(ctx))) // as well at the next tick
	}
}

// tell tells of trouble that is new.
func (f *Fleet) tell(ctx context.Context, err error) {
	text := ""
	if err != nil && ctx.Err() == nil {
		text = err.Error()
	}
	if text != "" && text != f.told && f.trouble != nil {
		f.trouble(fmt.Errorf("look after the workers of the audit, which is tried again: %w", err))
	}
	f.told = text
}

// giveBack puts the pieces of workers that are dead back into the queue. Their
// lock is held meanwhile, so that only one program does so. One that ended as many
// workers as it may is given up.
func (f *Fleet) giveBack(ctx context.Context) error {
	const last = `attempted_by[array_upper(attempted_by, 1)]`
	return f.pool.AcquireFunc(ctx, func(c *pgxpool.Conn) error {
		rows, err := c.Query(ctx, `SELECT DISTINCT `+last+` FROM river_job WHERE kind = $1 AND state = 'running' AND `+last+` <> $2`, Piece{}.Kind(), f.id)
		if err != nil {
			return err
		}
		others, err := pgx.CollectRows(rows, pgx.RowTo[string])
		if err != nil {
			return err
		}
		for _, id := range others {
			err := pgx.BeginFunc(ctx, c, func(tx pgx.Tx) error {
				var dead bool
				if err := tx.QueryRow(ctx, `SELECT pg_try_advisory_xact_lock(hashtextextended($1, 0))`, id).Scan(&dead); err != nil || !dead {
					return err
				}
				_, err := tx.Exec(ctx, `UPDATE river_job SET state = (CASE WHEN attempt >= max_attempts THEN 'discarded' ELSE 'available' END)::river_job_state,
					finalized_at = CASE WHEN attempt >= max_attempts THEN now() END
					WHERE kind = $1 AND state = 'running' AND `+last+` = $2`, Piece{}.Kind(), id)
				return err
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// Close stops what runs; others measure it then.
func (f *Fleet) Close(ctx context.Context) error {
	var err error
	if f.works {
		err = f.client.StopAndCancel(ctx)
	}
	f.stop()
	<-f.ended
	f.pool.Close()
	return err
}

// Add queues a piece and returns its job; one with that key that has not ended is
// not queued again.
func (f *Fleet) Add(ctx context.Context, p Piece) (int64, error) {
	r, err := f.client.Insert(ctx, p, &river.InsertOpts{Queue: fleetQueue, MaxAttempts: tries, UniqueOpts: river.UniqueOpts{ByArgs: true, ByState: unended}})
	if err != nil {
		return 0, fmt.Errorf("queue %s: %w", p.Name, err)
	}
	return r.Job.ID, nil
}

// Stand is how far jobs are.
type Stand struct {
	Running int
	Left    map[int64]bool   // that wait or run
	Lost    map[int64]string // given up, with the last error
}

// Stand says how far jobs are.
func (f *Fleet) Stand(ctx context.Context, ids []int64) (Stand, error) {
	s := Stand{Left: map[int64]bool{}, Lost: map[int64]string{}}
	rows, err := f.pool.Query(ctx, `SELECT id, state::text, coalesce(errors[array_upper(errors, 1)]->>'error', '') FROM river_job
		WHERE id = ANY($1) AND state <> 'completed'`, ids)
	if err != nil {
		return s, fmt.Errorf("ask the queue: %w", err)
	}
	var id int64
	var state, why string
	_, err = pgx.ForEachRow(rows, []any{&id, &state, &why}, func() error {
		switch rivertype.JobState(state) {
		case rivertype.JobStateDiscarded, rivertype.JobStateCancelled:
			s.Lost[id] = why
			return nil
		case rivertype.JobStateRunning:
			s.Running++
		}
		s.Left[id] = true
		return nil
	})
	if err != nil {
		return s, fmt.Errorf("ask the queue: %w", err)
	}
	return s, nil
}

// pieceWorker works pieces.
type pieceWorker struct {
	river.WorkerDefaults[Piece]
	work func(context.Context, Piece) error
}

// Work measures a piece. What the program's end has stopped goes back to the
// queue and does not count as a try.
func (w *pieceWorker) Work(ctx context.Context, j *river.Job[Piece]) error {
	err := w.work(ctx, j.Args)
	if err != nil && ctx.Err() != nil && errors.Is(err, ctx.Err()) {
		return river.JobSnooze(0)
	}
	return err
}

// NextRetry tries soon again: what failed is a store that could not be reached.
func (w *pieceWorker) NextRetry(j *river.Job[Piece]) time.Time {
	return time.Now().Add(time.Duration(j.Attempt) * 2 * time.Second)
}
