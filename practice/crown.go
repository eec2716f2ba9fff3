package practice

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"crownassay/record"
	"crownassay/tooth"
)

// Crown is one crown that was tried in. A case has several where one was made
// again.
type Crown struct {
	Case     int64
	Tooth    tooth.Tooth
	Patient  string
	Material string
	Date     time.Time // of the try-in
	TryIn    *record.TryInEntry
	Entry    int64             // number of the try-in's entry
	Lots     map[string]string // of record.Things, as kept up to the try-in
	Luting   string            // family; empty where it was not kept
	Recalls  []*record.RecallEntry
}

// Source is where the records are.
type Source interface {
	Cases(ctx context.Context) ([]record.Kept, error)
	Book(id int64) record.Book
}

// Gather reads the crowns of all cases, the oldest first. The error names the
// case whose record is not right; nothing is left out silently.
func Gather(ctx context.Context, s Source) ([]Crown, error) {
	cases, err := s.Cases(ctx)
	if err != nil {
		return nil, err
	}
	var out []Crown
	for _, k := range cases {
		all, err := record.Entries(ctx, s.Book(k.ID))
		if err != nil {
			return nil, fmt.Errorf("read the record of case %d: %w", k.ID, err)
		}
		crowns, err := Of(k, all)
		if err != nil {
			return nil, fmt.Errorf("read the record of case %d: %w", k.ID, err)
		}
		out = append(out, crowns...)
	}
	slices.SortStableFunc(out, func(a, b Crown) int {
		return cmp.Or(a.Date.Compare(b.Date), cmp.Compare(a.Case, b.Case), cmp.Compare(a.Entry, b.Entry))
	})
	return out, nil
}

// Of reads the crowns of one case, in the order they were tried in.
func Of(k record.Kept, all []record.Sealed) ([]Crown, error) {
	t, err := tooth.Parse(k.Tooth, tooth.Numbering(k.Numbering))
	if err != nil {
		return nil, err
	}
	stand := record.Stand(all)
	var out []Crown
	for _, e := range stand.TryIns {
		c := Crown{Case: k.ID, Tooth: t, Patient: k.Patient, Material: k.Material, TryIn: e.TryIn, Entry: e.Number, Lots: map[string]string{}}
		if c.Date, err = time.Parse(time.DateOnly, e.TryIn.Date); err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	slices.SortStableFunc(out, func(a, b Crown) int { return a.Date.Compare(b.Date) })
	for _, e := range stand.Lots {
		for i := range out { // a lot is of the crowns tried in after it, until the next lot
			if e.Number < out[i].Entry || i == len(out)-1 {
				out[i].Lots[e.Lot.Thing] = cmp.Or(e.Lot.Lot, e.Lot.Serial)
			}
		}
	}
	if len(out) == 0 {
		return nil, nil
	}
	if stand.Luting != nil {
		out[len(out)-1].Luting = stand.Luting.Luting.Family
	}
	for _, e := range stand.Recalls {
		give(out, e.Recall)
	}
	return out, nil
}

// give adds a recall to the newest crown that was kept by its date.
func give(crowns []Crown, r *record.RecallEntry) {
	for i := len(crowns) - 1; i >= 0; i-- {
		if c := &crowns[i]; c.Delivered() && c.TryIn.Date <= r.Date {
			c.Recalls = append(c.Recalls, r)
			slices.SortStableFunc(c.Recalls, func(a, b *record.RecallEntry) int { return cmp.Compare(a.Date, b.Date) })
			return
		}
	}
}

// Delivered reports whether the crown was kept.
func (c *Crown) Delivered() bool { return !c.TryIn.Remade }

// daysOfYear is the mean length of a year of the calendar.
const daysOfYear = 365.2425

// Observed is how long the crown was under observation, in years, and why it
// came out of use; empty while it is in use. Recalls after that do not count.
func (c *Crown) Observed() (years float64, end string, err error) {
	last := c.Date
	for _, r := range c.Recalls {
		if last, err = time.Parse(time.DateOnly, r.Date); err != nil {
			return 0, "", err
		}
		if end = r.End; end != "" {
			break
		}
	}
	return last.Sub(c.Date).Hours() / 24 / daysOfYear, end, nil
}

// After is the day that many years after the try-in.
func (c *Crown) After(years float64) time.Time {
	return c.Date.AddDate(0, 0, int(math.Round(years*daysOfYear)))
}
