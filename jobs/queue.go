package jobs

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strconv"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"crownassay/record"
)

// Work measures one case. An error says why it could not be.
type Work func(ctx context.Context, id int64, tell Tell) error

// Tell is told how far work is.
type Tell struct {
	Step  func(step string, done, total int)
	First func(document []byte) // readings that are there already
}

// Config says where jobs are kept and how they are worked.
type Config struct {
	File    string // SQLite file, made where it is not there
	Address string // of a PostgreSQL database; when set, File is not used
	Work    Work
	Logger  *slog.Logger // nil for none
}

// args are what is kept of a job.
type args struct {
	Case int64 `json:"case"`
}

// Kind names the job in the queue's tables.
func (args) Kind() string { return "measure" }

// How jobs are run.
const (
	longest  = 10 * time.Minute // a case of five surfaces takes seconds
	attempts = 3                // of a job whose program was stopped
	polled   = 500 * time.Millisecond
	atOnce   = 1 // measuring one case takes all processors
)

// client is what is used of a river.Client, whatever its driver.
type client interface {
	Start(context.Context) error
	StopAndCancel(context.Context) error
	Insert(context.Context, river.JobArgs, *river.InsertOpts) (*rivertype.JobInsertResult, error)
	JobGet(context.Context, int64) (*rivertype.JobRow, error)
	JobCancel(context.Context, int64) (*rivertype.JobRow, error)
	JobList(context.Context, *river.JobListParams) (*river.JobListResult, error)
}

// Queue runs jobs.
type Queue struct {
	client client
	close  func() error
	told   *board
}

// Open opens the queue and begins to work its jobs.
func Open(ctx context.Context, c Config) (*Queue, error) {
	q := &Queue{told: newBoard()}
	rc := river.Config{
		Queues: map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: atOnce}}, Workers: river.NewWorkers(),
		JobTimeout: longest, RescueStuckJobsAfter: 2 * longest, MaxAttempts: attempts,
		FetchPollInterval: polled, FetchCooldown: polled / 10, Logger: c.Logger,
	}
	if rc.Logger == nil {
		rc.Logger = slog.New(slog.DiscardHandler)
	}
	river.AddWorker(rc.Workers, &worker{work: c.Work, told: q.told})
	var err error
	if c.Address != "" {
		q.client, q.close, err = openPostgres(ctx, c.Address, &rc)
	} else {
		q.client, q.close, err = openSQLite(ctx, c.File, &rc)
	}
	if err != nil {
		return nil, fmt.Errorf("open the queue of jobs: %w", err)
	}
	if err := q.client.Start(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("start the queue of jobs: %w", err), q.close())
	}
	return q, nil
}

// Close stops what runs; it runs again when the queue is opened next.
func (q *Queue) Close(ctx context.Context) error {
	return errors.Join(q.client.StopAndCancel(ctx), q.close())
}

// Start adds the measuring of a case, or returns the job that has not ended.
func (q *Queue) Start(ctx context.Context, id int64) (record.Job, error) {
	r, err := q.client.Insert(ctx, args{id}, &river.InsertOpts{Tags: []string{tag(id)}, UniqueOpts: river.UniqueOpts{ByArgs: true, ByState: unended}})
	if err != nil {
		return record.Job{}, fmt.Errorf("start measuring case %d: %w", id, err)
	}
	return q.job(r.Job), nil
}

// unended are the states of a job that has not ended.
var unended = []rivertype.JobState{rivertype.JobStateAvailable, rivertype.JobStatePending, rivertype.JobStateRunning, rivertype.JobStateRetryable, rivertype.JobStateScheduled}

// tag finds the jobs of a case.
func tag(id int64) string { return "case-" + strconv.FormatInt(id, 10) }

// Job returns a job.
func (q *Queue) Job(ctx context.Context, job int64) (record.Job, error) {
	r, err := q.client.JobGet(ctx, job)
	if err != nil {
		return record.Job{}, missing(err, job)
	}
	return q.job(r), nil
}

// Latest returns the newest job of a case.
func (q *Queue) Latest(ctx context.Context, id int64) (record.Job, error) {
	r, err := q.client.JobList(ctx, river.NewJobListParams().TagsAny(tag(id)).First(1).OrderBy(river.JobListOrderByID, river.SortOrderDesc))
	if err != nil {
		return record.Job{}, fmt.Errorf("list jobs of case %d: %w", id, err)
	}
	if len(r.Jobs) == 0 {
		return record.Job{}, fmt.Errorf("find a job of case %d: %w", id, record.ErrNotFound)
	}
	return q.job(r.Jobs[0]), nil
}

// Cancel stops a job; one that has ended stays as it is.
func (q *Queue) Cancel(ctx context.Context, job int64) (record.Job, error) {
	r, err := q.client.JobCancel(ctx, job)
	if err != nil {
		return record.Job{}, missing(err, job)
	}
	return q.job(r), nil
}

func missing(err error, job int64) error {
	if errors.Is(err, river.ErrNotFound) {
		err = record.ErrNotFound
	}
	return fmt.Errorf("find job %d: %w", job, err)
}

// First returns the readings that a running job has made already.
func (q *Queue) First(job int64) []byte { return q.told.first(job) }

// job brings a row and what its work has told together.
func (q *Queue) job(r *rivertype.JobRow) record.Job {
	j := q.told.of(r.ID)
	j.ID, j.Since, j.State, j.Case = r.ID, r.CreatedAt.UTC(), stateOf(r), caseOf(r)
	if j.State == record.JobFailed && len(r.Errors) > 0 {
		j.Error = reasonOf(r.Errors[len(r.Errors)-1].Error)
	}
	return j
}
