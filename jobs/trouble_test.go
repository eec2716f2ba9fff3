package jobs

import (
	"context"
	"errors"
	"slices"
	"testing"
)

// TestTroubleIsToldOnce: what fails again and again is told when it begins, and
// anew after it was over; the program's end is no trouble.
func TestTroubleIsToldOnce(t *testing.T) {
	var told []error
	f := &Fleet{trouble: func(err error) { told = append(told, err) }}
	gone, away := errors.New("the server is gone"), errors.New("no such table")
	for _, err := range []error{nil, gone, gone, away, nil, gone} {
		f.tell(context.Background(), err)
	}
	ended, stop := context.WithCancel(context.Background())
	stop()
	f.tell(ended, context.Canceled)
	if !slices.EqualFunc(told, []error{gone, away, gone}, errors.Is) {
		t.Errorf("told %v, want each trouble once, and again after it was over", told)
	}
	(&Fleet{}).tell(context.Background(), gone) // nobody listens
}
