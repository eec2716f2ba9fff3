package sqlite

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"crownassay/practice/visit"
)

// handClock is a clock that the test turns.
type handClock struct {
	sync.Mutex
	at time.Time
}

func (c *handClock) now() time.Time {
	c.Lock()
	defer c.Unlock()
	return c.at
}

func (c *handClock) turn(d time.Duration) {
	c.Lock()
	defer c.Unlock()
	c.at = c.at.Add(d)
}

func visitStore(t *testing.T) (*Store, *handClock) {
	t.Helper()
	c := &handClock{at: time.Date(2026, 3, 2, 10, 0, 0, 0, time.FixedZone("", 3600))}
	s, err := Open(context.Background(), t.TempDir(), c.now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s, c
}

func TestVisits(t *testing.T) {
	ctx := context.Background()
	s, c := visitStore(t)
	plan := visit.Default()
	v, err := s.AddVisit(ctx, visit.Visit{Chair: 2, Dentist: "AB", Material: "leucite"}, plan.First("leucite"))
	if err != nil {
		t.Fatal(err)
	}
	c.turn(4 * time.Minute)
	next, err := plan.Advance(&v)
	if err != nil {
		t.Fatal(err)
	}
	second, err := s.AddTap(ctx, next, v.Last().ID)
	if err != nil {
		t.Fatal(err)
	}
	if want := time.Date(2026, 3, 2, 9, 4, 0, 0, time.UTC); !second.At.Equal(want) || second.At.Location() != time.UTC {
		t.Errorf("tapped at %v, want %v in UTC", second.At, want)
	}
	if _, err := s.AddTap(ctx, next, v.Last().ID); !errors.Is(err, visit.ErrTapped) {
		t.Errorf("a second press: %v, want ErrTapped", err)
	}
	if _, err := s.WithdrawTap(ctx, v.ID, v.Last().ID, "wrong"); !errors.Is(err, visit.ErrTapped) {
		t.Errorf("taking back a tap that is not the newest: %v, want ErrTapped", err)
	}
	if got, err := s.WithdrawTap(ctx, v.ID, second.ID, "wrong"); err != nil || got.Withdrawn != "wrong" {
		t.Errorf("taken back: %+v, %v", got, err)
	}
	c.turn(-time.Hour) // the clock was set back
	third, err := s.AddTap(ctx, next, v.Last().ID)
	if err != nil || third.At.Before(v.Last().At) {
		t.Errorf("after the clock was set back: %+v, %v", third, err)
	}
	if v, err = s.Visit(ctx, v.ID); err != nil || len(v.Taps) != 3 || len(v.Standing()) != 2 || v.Dentist != "AB" || v.Chair != 2 {
		t.Errorf("visit = %+v, %v", v, err)
	}
	if _, err := s.Visit(ctx, 9); !errors.Is(err, visit.ErrNotFound) {
		t.Errorf("visit 9: %v, want ErrNotFound", err)
	}
	if _, err := s.AddTap(ctx, visit.Tap{Visit: 9, Kind: visit.KindEnd}, 0); !errors.Is(err, visit.ErrNotFound) {
		t.Errorf("tap visit 9: %v, want ErrNotFound", err)
	}
	if _, err := s.AddVisit(ctx, visit.Visit{Chair: 1, Case: 7}, plan.First("")); !errors.Is(err, visit.ErrNotFound) {
		t.Errorf("visit of a case that is not there: %v, want ErrNotFound", err)
	}
}

func TestImportVisit(t *testing.T) {
	ctx := context.Background()
	s, c := visitStore(t)
	at := c.now().AddDate(-2, 0, 0)
	v, err := s.ImportVisit(ctx, visit.Visit{Chair: 1, Material: "leucite", Taps: []visit.Tap{
		{Kind: visit.KindStage, Stage: "preparation", At: at}, {Kind: visit.KindEnd, At: at.Add(20 * time.Minute)}}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddVisit(ctx, visit.Visit{Chair: 1}, visit.Default().First("")); err != nil {
		t.Fatal(err)
	}
	all, err := s.Visits(ctx)
	if err != nil || len(all) != 2 || len(all[0].Taps) != 2 || len(all[1].Taps) != 1 {
		t.Fatalf("visits = %+v, %v", all, err)
	}
	if got := all[0].Taps[0]; !got.At.Equal(at) || !got.Added.Equal(c.now()) || got.Visit != v.ID {
		t.Errorf("imported tap = %+v", got)
	}
	if _, err := s.ImportVisit(ctx, visit.Visit{Chair: 1, Taps: []visit.Tap{{Kind: visit.KindStage, Stage: "check", At: c.now().Add(time.Hour)}}}); err == nil {
		t.Error("a tap that has not come yet was imported")
	}
}

// TestTapsStay: what was tapped is never changed.
func TestTapsStay(t *testing.T) {
	ctx := context.Background()
	s, _ := visitStore(t)
	v, err := s.AddVisit(ctx, visit.Visit{Chair: 1}, visit.Default().First(""))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.WithdrawTap(ctx, v.ID, v.Last().ID, "wrong"); err != nil {
		t.Fatal(err)
	}
	for _, q := range []string{`DELETE FROM taps`, `UPDATE taps SET at = 0`, `UPDATE taps SET withdrawn = ''`, `UPDATE visits SET chair = 2`, `DELETE FROM visits`} {
		if _, err := s.db.ExecContext(ctx, q); err == nil {
			t.Errorf("%s was allowed", q)
		}
	}
}

// TestTapsAtOnce: of several that tap at once one is kept.
func TestTapsAtOnce(t *testing.T) {
	ctx := context.Background()
	s, _ := visitStore(t)
	plan := visit.Default()
	v, err := s.AddVisit(ctx, visit.Visit{Chair: 1}, plan.First(""))
	if err != nil {
		t.Fatal(err)
	}
	next, _ := plan.Advance(&v)
	errs := make([]error, 8)
	var all sync.WaitGroup
	for i := range errs {
		all.Go(func() { _, errs[i] = s.AddTap(ctx, next, v.Last().ID) })
	}
	all.Wait()
	kept := 0
	for _, err := range errs {
		if err == nil {
			kept++
		} else if !errors.Is(err, visit.ErrTapped) {
			t.Error(err)
		}
	}
	if kept != 1 {
		t.Errorf("%d of the taps were kept, want 1", kept)
	}
}
