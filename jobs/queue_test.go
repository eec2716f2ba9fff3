package jobs

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"crownassay/internal/pgtest"
	"crownassay/record"
)

// each runs a test on every driver there is.
func each(t *testing.T, do func(t *testing.T, c Config)) {
	t.Run("sqlite", func(t *testing.T) { do(t, Config{File: filepath.Join(t.TempDir(), "jobs.db")}) })
	t.Run("postgres", func(t *testing.T) { do(t, Config{Address: pgtest.Start(t)}) })
}

func opened(t *testing.T, c Config, w Work) *Queue {
	t.Helper()
	c.Work = w
	q, err := Open(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { q.Close(context.Background()) })
	return q
}

// watched follows a job to its end.
func watched(t *testing.T, q *Queue, job int64) (seen []record.Job) {
	t.Helper()
	ctx, stop := context.WithTimeout(context.Background(), 30*time.Second)
	defer stop()
	ch, err := q.Watch(ctx, job)
	if err != nil {
		t.Fatal(err)
	}
	for j := range ch {
		seen = append(seen, j)
	}
	if len(seen) == 0 || !seen[len(seen)-1].Ended() {
		t.Fatalf("job %d did not end: %+v", job, seen)
	}
	return seen
}

func TestJobTellsItsSteps(t *testing.T) {
	each(t, func(t *testing.T, c Config) {
		go1, go2 := make(chan bool), make(chan bool)
		q := opened(t, c, func(_ context.Context, id int64, tell Tell) error {
			tell.Step("finding", 1, 4)
			<-go1
			tell.First([]byte("early"))
			<-go2
			return nil
		})
		ctx := context.Background()
		j, err := q.Start(ctx, 7)
		if err != nil || j.Case != 7 {
			t.Fatalf("%+v, %v", j, err)
		}
		if again, err := q.Start(ctx, 7); err != nil || again.ID != j.ID {
			t.Errorf("started twice: job %d, %v; want the one under way, %d", again.ID, err, j.ID)
		}
		ch, err := q.Watch(ctx, j.ID)
		if err != nil {
			t.Fatal(err)
		}
		for x := range ch {
			switch {
			case x.First:
				if d := q.First(j.ID); string(d) != "early" {
					t.Errorf("first readings are %q", d)
				}
				close(go2)
				for range ch { // to the end
				}
			case x.State == record.JobRunning && x.Step == "finding" && x.Done == 1 && x.Total == 4:
				close(go1)
			}
		}
		end, err := q.Latest(ctx, 7)
		if err != nil || end.State != record.JobDone || end.ID != j.ID {
			t.Errorf("at the end %+v, %v", end, err)
		}
		if _, err := q.Latest(ctx, 70); !errors.Is(err, record.ErrNotFound) {
			t.Errorf("job of another case: %v, want ErrNotFound", err)
		}
		if _, err := q.Job(ctx, 1<<40); !errors.Is(err, record.ErrNotFound) {
			t.Errorf("no such job: %v, want ErrNotFound", err)
		}
	})
}

func TestFailedJobSaysWhy(t *testing.T) {
	each(t, func(t *testing.T, c Config) {
		times := 0
		q := opened(t, c, func(context.Context, int64, Tell) error {
			times++
			return fmt.Errorf("read prepared.stl: the file is empty")
		})
		j, err := q.Start(context.Background(), 8)
		if err != nil {
			t.Fatal(err)
		}
		seen := watched(t, q, j.ID)
		if end := seen[len(seen)-1]; end.State != record.JobFailed || end.Error != "read prepared.stl: the file is empty" {
			t.Errorf("ended as %+v", end)
		}
		if times != 1 {
			t.Errorf("measured %d times what cannot be measured", times)
		}
	})
}

func TestCancelledJobStops(t *testing.T) {
	each(t, func(t *testing.T, c Config) {
		begun := make(chan bool)
		q := opened(t, c, func(ctx context.Context, _ int64, _ Tell) error {
			close(begun)
			<-ctx.Done()
			return ctx.Err()
		})
		ctx := context.Background()
		j, err := q.Start(ctx, 9)
		if err != nil {
			t.Fatal(err)
		}
		<-begun
		if _, err := q.Cancel(ctx, j.ID); err != nil {
			t.Fatal(err)
		}
		seen := watched(t, q, j.ID)
		if end := seen[len(seen)-1]; end.State != record.JobCancelled || end.Error != "" {
			t.Errorf("ended as %+v", end)
		}
	})
}

// TestJobOutlivesItsProgram closes the queue within a job and opens it anew.
func TestJobOutlivesItsProgram(t *testing.T) {
	c := Config{File: filepath.Join(t.TempDir(), "jobs.db")}
	begun := make(chan bool)
	q := opened(t, c, func(ctx context.Context, _ int64, _ Tell) error {
		close(begun)
		<-ctx.Done()
		return ctx.Err()
	})
	j, err := q.Start(context.Background(), 10)
	if err != nil {
		t.Fatal(err)
	}
	<-begun
	if err := q.Close(context.Background()); err != nil {
		t.Fatal(err)
	}
	q = opened(t, c, func(context.Context, int64, Tell) error { return nil })
	seen := watched(t, q, j.ID)
	if end := seen[len(seen)-1]; end.State != record.JobDone {
		t.Errorf("ended as %+v", end)
	}
}
