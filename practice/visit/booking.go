package visit

import (
	"context"
	"math"
	"slices"
	"time"
)

// Wanted is a visit that is to be booked.
type Wanted struct {
	Chair    int
	Dentist  string
	Material string
	At       time.Time // it would begin
	Alone    bool      // without the visits that are open
	Sure     float64   // probability that the time suffices, such as 0.9
}

// Booking is how long has to be booked.
type Booking struct {
	Minutes   float64    `json:"minutes"` // rounded up to the plan's step
	Until     time.Time  `json:"until"`
	Sure      float64    `json:"sure"`
	Left      Spread     `json:"left"`                       // minutes that the visit lasts
	Alone     Spread     `json:"alone"`                      // that it would last without the others
	Conflicts []Conflict `json:"conflicts" nullable:"false"` // in which it or another visit waits
	Default   bool       `json:"default"`                    // more than half of its stages rest on defaults alone
}

// wantedID is the number of the visit that is asked about: it has none yet.
const wantedID = math.MaxInt64

// Book says at a time how long has to be booked for a visit that begins then or
// later, beside those that are open now.
func (l *Learned) Book(ctx context.Context, all []Visit, at time.Time, w Wanted) (*Booking, error) {
	if !(w.Sure > 0.5 && w.Sure < 1) {
		return nil, refuse("book with a probability of %g: give one over 0.5 and below 1, such as 0.9", w.Sure)
	}
	v := Visit{ID: wantedID, Chair: w.Chair, Dentist: w.Dentist, Material: w.Material, Added: w.At}
	if n := l.plan.Count(Chair); v.Chair < 1 || v.Chair > n {
		return nil, refuse("there is no chair %d: the plan has %d", v.Chair, n)
	}
	if w.At.Before(at) {
		return nil, refuse("book from %s: that is over; give a time from now on", w.At.Format(time.RFC3339))
	}
	alone, err := l.set(w.At, []Visit{v}).play(ctx, Draws)
	if err != nil {
		return nil, err
	}
	b := &Booking{Sure: w.Sure, Conflicts: []Conflict{}}
	b.Alone = spreadOf(alone.finish[0])
	beside := alone
	if !w.Alone {
		if beside, err = l.beside(ctx, all, at, v); err != nil {
			return nil, err
		}
	}
	i := len(beside.jobs) - 1
	lasts := make([]float64, beside.n)
	for d := range lasts {
		lasts[d] = beside.finish[i][d] - beside.jobs[i].ready
	}
	slices.Sort(lasts)
	b.Left = spreadOf(lasts)
	b.Minutes = math.Ceil(quantile(lasts, w.Sure)/l.plan.Step-1e-9) * l.plan.Step
	b.Until = w.At.Add(long(b.Minutes))
	b.Conflicts = slices.DeleteFunc(beside.conflicts(), func(c Conflict) bool { return c.Visit != wantedID && c.Holder != wantedID })
	b.Default = l.mostlyDefault(w.Material)
	return b, nil
}

// beside plays a visit after the open ones, which began earlier and go first.
// Those that cannot be planned are left out.
func (l *Learned) beside(ctx context.Context, all []Visit, at time.Time, v Visit) (*played, error) {
	open := slices.DeleteFunc(byPriority(all), func(o Visit) bool { return l.stale(&o, at) != "" })
	return l.set(at, append(open, v)).play(ctx, Draws)
}

// mostlyDefault reports whether more than half of a material's stages have no
// runs of the practice's own.
func (l *Learned) mostlyDefault(material string) bool {
	stages := l.plan.For(material)
	n := 0
	for _, s := range stages {
		if len(l.logs[keyOf(s, material, false)]) == 0 {
			n++
		}
	}
	return 2*n > len(stages)
}
