package visit

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"
)

// PlanSetting is the name of the bench's setting that holds the practice's own
// plan as YAML text.
const PlanSetting = "visit.plan"

// Room joins the store and the plan: what is tapped is checked and kept.
type Room struct {
	Store Store
	Plan  *Plan
}

// plans are those that were read, by their text: the same text is read once.
var plans sync.Map

// Kept is the plan with the practice's own text, as the setting holds it, laid
// over the default.
func Kept(text string) (*Plan, error) {
	if p, ok := plans.Load(text); ok {
		return p.(*Plan), nil
	}
	p, err := With("the practice's own plan of the visit", text)
	if err == nil {
		plans.Store(text, p)
	}
	return p, err
}

// Start begins a visit with its first stage, or with the one of a name.
func (r *Room) Start(ctx context.Context, v Visit, stage string) (Visit, error) {
	v.Dentist, v.Material = strings.TrimSpace(v.Dentist), strings.TrimSpace(v.Material)
	all, err := r.Store.Visits(ctx)
	if err != nil {
		return v, err
	}
	if err := r.Plan.Check(&v, all); err != nil {
		return v, err
	}
	if v.Case == 0 { // a case has what its own limits may have added
		if err := r.Plan.knows(v.Material); err != nil {
			return v, err
		}
	}
	first := r.Plan.First(v.Material)
	if stage != "" {
		if names := r.Plan.stageNames(v.Material); !slices.Contains(names, stage) {
			return v, refuse("this visit has no stage %q: it is one of %s", stage, strings.Join(names, ", "))
		}
		first.Stage = stage
	}
	return r.Store.AddVisit(ctx, v, first)
}

// Press is what is tapped.
type Press struct {
	Kind  Kind   // "" for the next stage or, when none is left, the end
	Stage string // of kind stage: another stage than the next
	Back  string // of kind back
	Last  int64  // the newest tap that holds, as the one who taps has seen it; 0 for any
}

// Tap keeps a tap of a visit.
func (r *Room) Tap(ctx context.Context, id int64, press Press) (Tap, error) {
	v, err := r.Store.Visit(ctx, id)
	if err != nil {
		return Tap{}, err
	}
	t, err := r.tap(&v, press)
	if err != nil {
		return t, err
	}
	last := press.Last
	if last == 0 {
		last = v.Last().ID
	}
	return r.Store.AddTap(ctx, t, last)
}

func (r *Room) tap(v *Visit, press Press) (Tap, error) {
	switch press.Kind {
	case "":
		return r.Plan.Advance(v)
	case KindStage:
		return r.Plan.To(v, press.Stage)
	case KindBack:
		return r.Plan.Going(v, press.Back)
	case KindWait, KindEnd, KindLeave:
		return r.Plan.Ending(v, press.Kind)
	}
	return Tap{}, refuse("tap of unknown kind %q", press.Kind)
}

// Undo takes the newest tap of a visit back. Last is that tap as the one who
// undoes has seen it; 0 for any.
func (r *Room) Undo(ctx context.Context, id, last int64, why string) (Tap, error) {
	if strings.TrimSpace(why) == "" {
		why = "taken back"
	}
	if len(why) > mostWhy {
		return Tap{}, refuse("the reason is longer than %d bytes", mostWhy)
	}
	v, err := r.Store.Visit(ctx, id)
	if err != nil {
		return Tap{}, err
	}
	if last == 0 {
		last = v.Last().ID
	}
	if !v.Open() && v.Last().ID != 0 { // it opens again
		all, err := r.Store.Visits(ctx)
		if err != nil {
			return Tap{}, err
		}
		if err := r.Plan.Check(&v, all); err != nil {
			return Tap{}, fmt.Errorf("take the end of visit %d back: %w", id, err)
		}
	}
	return r.Store.WithdrawTap(ctx, id, last, why)
}

// mostWhy is the longest reason, bytes.
const mostWhy = 400

// Now plays what is left of the open visits.
func (r *Room) Now(ctx context.Context, at time.Time) (*Forecast, error) {
	all, err := r.Store.Visits(ctx)
	if err != nil {
		return nil, err
	}
	return r.Plan.Learn(all).Forecast(ctx, all, at)
}

// Book says how long has to be booked.
func (r *Room) Book(ctx context.Context, at time.Time, w Wanted) (*Booking, error) {
	all, err := r.Store.Visits(ctx)
	if err != nil {
		return nil, err
	}
	if err := r.Plan.knows(w.Material); err != nil {
		return nil, err
	}
	return r.Plan.Learn(all).Book(ctx, all, at, w)
}

// Import keeps visits that were noted elsewhere, each with its taps, and says
// how many. One that is there already, of the same chair and with the same first
// tap, is passed over, so that the same file can be read again.
func (r *Room) Import(ctx context.Context, visits []Visit) (kept int, err error) {
	all, err := r.Store.Visits(ctx)
	if err != nil {
		return 0, err
	}
	type mark struct {
		chair int
		begun int64
	}
	had := map[mark]bool{}
	for i := range all {
		if len(all[i].Taps) > 0 {
			had[mark{all[i].Chair, all[i].Taps[0].At.UnixMicro()}] = true
		}
	}
	for i, v := range visits {
		if len(v.Taps) > 0 && had[mark{v.Chair, v.Taps[0].At.UnixMicro()}] {
			continue
		}
		if _, err := r.Store.ImportVisit(ctx, v); err != nil {
			return kept, fmt.Errorf("visit %d of the file: %w", i+1, err)
		}
		kept++
	}
	return kept, nil
}
