package visit

import (
	"context"
	"slices"
	"time"
)

// Delay is what going back does to a visit.
type Delay struct {
	Back   string  `json:"back"`
	Title  string  `json:"title"`
	Chance float64 `json:"chance"` // of the next time that it could happen
	Now    bool    `json:"now"`    // going back at once; else at the end of the stage where it shows
	Later  Spread  `json:"later"`  // minutes that the visit is ready later
}

// effects compares, for each kind of going back that can still happen in a
// visit, the visit with it and without it. Both are played with the same random
// numbers, so that only what going back changes differs.
func (l *Learned) effects(ctx context.Context, planned []Visit, i int, at time.Time) ([]Delay, error) {
	out := []Delay{}
	f := l.plan.Following(&planned[i])
	for g, b := range l.plan.Backs {
		with, without := l.set(at, planned), l.set(at, planned)
		t := with.jobs[i].goings[g].at
		now := false
		switch {
		case t >= 0 && !with.jobs[i].tasks[t].done:
			with.jobs[i].force, without.jobs[i].never = g, g
		case t >= 0 && f.Done[b.To]:
			now = true
			without.jobs[i].never = g
			with = l.set(at, tapped(planned, i, Tap{Kind: KindBack, Stage: b.To, Back: b.Name, At: at}))
			with.jobs[i].never = g
		default:
			continue
		}
		later, err := compare(ctx, with, without, i)
		if err != nil {
			return nil, err
		}
		c := l.Chances[g]
		out = append(out, Delay{Back: b.Name, Title: b.Title, Chance: c.Mean, Now: now, Later: later})
	}
	return out, nil
}

// tapped are visits with one more tap of one of them.
func tapped(visits []Visit, i int, t Tap) []Visit {
	out := slices.Clone(visits)
	out[i].Taps = append(slices.Clone(out[i].Taps), t)
	return out
}

// compare is how much later a visit is ready in one scene than in another.
func compare(ctx context.Context, with, without *scene, i int) (Spread, error) {
	a, err := with.play(ctx, effectDraws)
	if err != nil {
		return Spread{}, err
	}
	b, err := without.play(ctx, effectDraws)
	if err != nil {
		return Spread{}, err
	}
	later := make([]float64, effectDraws)
	for d := range later {
		later[d] = a.finish[i][d] - b.finish[i][d]
	}
	return spreadOf(later), nil
}
