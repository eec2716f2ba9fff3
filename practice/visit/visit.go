package visit

import (
	"context"
	"errors"
	"time"
)

// Visit is one visit of the practice and what was tapped in it.
type Visit struct {
	ID       int64
	Chair    int    // 1 and up
	Case     int64  // number of the case on the bench; 0 for none
	Dentist  string // code; may be empty
	Material string // may be empty
	Added    time.Time
	Taps     []Tap // in the order they were kept, those taken back too
}

// Kind is what a tap says.
type Kind string

// The kinds of taps. Each ends the stage that runs.
const (
	KindStage Kind = "stage" // a stage begins
	KindBack  Kind = "back"  // something is done again: the stage that it goes back to begins
	KindWait  Kind = "wait"  // nothing runs: the visit waits
	KindEnd   Kind = "end"   // the visit is over
	KindLeave Kind = "leave" // the visit was broken off; nothing is learned of what ran
)

// Tap is one tap. It is never changed and never removed: a wrong one is taken
// back.
type Tap struct {
	ID        int64
	Visit     int64
	Kind      Kind
	Stage     string // that begins; empty for wait, end and leave
	Back      string // kind of going back; empty for others
	At        time.Time
	Withdrawn string    // why it does not hold; empty while it does
	Added     time.Time // when it was kept: later than At for one that was imported
}

// ErrNotFound says that a visit or a tap is not there.
var ErrNotFound = errors.New("not found")

// ErrTapped says that another tap came in between, as from a second press or
// another screen.
var ErrTapped = errors.New("something else was tapped in between")

// Store keeps visits and their taps. Times are those of the store's clock, in
// UTC, to the microsecond. A visit or tap that is not there is ErrNotFound.
type Store interface {
	// AddVisit keeps a visit with its first tap, whose time is now.
	AddVisit(ctx context.Context, v Visit, first Tap) (Visit, error)
	// Visit returns a visit with its taps.
	Visit(ctx context.Context, id int64) (Visit, error)
	// Visits lists the visits with their taps in the order they were added.
	Visits(ctx context.Context) ([]Visit, error)
	// AddTap keeps a tap of t.Visit, whose time is now. Last is the newest tap
	// that holds, as the one who taps has seen it; another one is ErrTapped.
	AddTap(ctx context.Context, t Tap, last int64) (Tap, error)
	// WithdrawTap takes the newest tap that holds of a visit back.
	WithdrawTap(ctx context.Context, visit, tap int64, why string) (Tap, error)
	// ImportVisit keeps a visit with taps whose times are given: of visits that
	// were noted elsewhere, or invented for a demonstration. Of each tap Kind,
	// Stage, Back and At are read. CheckImport says what is refused.
	ImportVisit(ctx context.Context, v Visit) (Visit, error)
}

// Standing are the taps that hold.
func (v *Visit) Standing() []Tap {
	var out []Tap
	for _, t := range v.Taps {
		if t.Withdrawn == "" {
			out = append(out, t)
		}
	}
	return out
}

// Last is the newest tap that holds; its ID is 0 where there is none.
func (v *Visit) Last() Tap {
	if s := v.Standing(); len(s) > 0 {
		return s[len(s)-1]
	}
	return Tap{}
}

// Open reports whether the visit has begun and is not over.
func (v *Visit) Open() bool {
	k := v.Last().Kind
	return k != "" && k != KindEnd && k != KindLeave
}

// Begun is when the visit began.
func (v *Visit) Begun() time.Time {
	if s := v.Standing(); len(s) > 0 {
		return s[0].At
	}
	return v.Added
}
