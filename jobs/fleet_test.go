package jobs

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"crownassay/internal/pgtest"
)

// TestFleetGivesUp: a piece whose workers end in the middle of it, three times,
// is given up; one that fails is tried again; and a worker that is closed hands its
// piece on.
func TestFleetGivesUp(t *testing.T) {
	address, ctx := pgtest.Start(t), t.Context()
	open := func(work func(context.Context, Piece) error) *Fleet {
		t.Helper()
		f, err := OpenFleet(ctx, FleetConfig{Address: address, Work: work, AtOnce: 2})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	adds := open(nil)
	defer adds.Close(ctx)
	add := func(key string) int64 {
		t.Helper()
		id, err := adds.Add(ctx, Piece{Key: key, Name: key, Parcel: []byte("{}")})
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	until := func(what string, ok func(Stand) bool, ids ...int64) {
		t.Helper()
		for end := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
			s, err := adds.Stand(ctx, ids)
			if err != nil {
				t.Fatal(err)
			}
			if ok(s) {
				return
			}
			if time.Now().After(end) {
				t.Fatalf("%s: it stands at %+v", what, s)
			}
		}
	}
	ended := func(s Stand) bool { return len(s.Left) == 0 }

	one := add("handed on")
	if again := add("handed on"); again != one {
		t.Errorf("the same piece is queued twice, as %d and %d", one, again)
	}
	begun := make(chan bool)
	first := open(func(ctx context.Context, _ Piece) error { close(begun); <-ctx.Done(); return ctx.Err() })
	<-begun
	if err := first.Close(ctx); err != nil {
		t.Fatal(err)
	}
	var times, fails atomic.Int32
	second := open(func(_ context.Context, p Piece) error {
		if p.Key == "fails once" && fails.Add(1) == 1 {
			return errors.New("the store cannot be reached")
		}
		times.Add(1)
		return nil
	})
	two := add("fails once")
	until("handed on and tried again", ended, one, two)
	if n := times.Load(); n != 2 || fails.Load() != 2 {
		t.Errorf("%d pieces were worked, one after %d tries", n, fails.Load())
	}
	if err := second.Close(ctx); err != nil {
		t.Fatal(err)
	}

	// a row that says a worker runs it which does not live
	three := add("ends its workers")
	c, err := pgx.Connect(ctx, address)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(ctx)
	for try := 1; try <= tries; try++ {
		if _, err := c.Exec(ctx, `UPDATE river_job SET state = 'running', attempt = $1, attempted_by = array_append(attempted_by, 'gone') WHERE id = $2 AND state = 'available'`, try, three); err != nil {
			t.Fatal(err)
		}
		if try < tries {
			until("back in the queue", func(s Stand) bool { return s.Running == 0 && s.Left[three] }, three)
		}
	}
	until("given up", func(s Stand) bool { _, lost := s.Lost[three]; return lost }, three)
}
