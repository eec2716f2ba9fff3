package visit

import (
	"context"
	"slices"

	"crownassay/internal/par"
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
// numbers, so that only what going back changes differs. Without it are the
// draws of base, the scene as it stands, in which the visit did not go back.
func (l *Learned) effects(ctx context.Context, base *played, i int) ([]Delay, error) {
	out := []Delay{}
	n := min(effectMost, max(effectLeast, effectDraws/max(1, len(base.visits)*len(l.plan.Backs))))
	for g, b := range l.plan.Backs {
		with := l.set(base.at, base.visits)
		t := with.jobs[i].goings[g].at
		now := false
		switch {
		case t >= 0 && !with.jobs[i].tasks[t].done:
			with.jobs[i].force = g
		case t >= 0 && base.follow[i].Done[b.To]:
			now = true
			with = l.set(base.at, tapped(base.visits, i, Tap{Kind: KindBack, Stage: b.To, Back: b.Name, At: base.at}))
			with.jobs[i].never = g
		default:
			continue
		}
		finish, err := with.finishes(ctx, n, i)
		if err != nil {
			return nil, err
		}
		var later []float64
		for d, f := range finish {
			if base.went[i][g][d] == 0 {
				later = append(later, f-base.finish[i][d])
			}
		}
		if len(later) == 0 { // it went back in every draw
			continue
		}
		out = append(out, Delay{Back: b.Name, Title: b.Title, Chance: l.Chances[g].Mean, Now: now, Later: spreadOf(later)})
	}
	return out, nil
}

// tapped are visits with one more tap of one of them.
func tapped(visits []Visit, i int, t Tap) []Visit {
	out := slices.Clone(visits)
	out[i].Taps = append(slices.Clone(out[i].Taps), t)
	return out
}

// finishes plays the scene n times and returns when a job was over.
func (s *scene) finishes(ctx context.Context, n, job int) ([]float64, error) {
	out := make([]float64, n)
	err := par.Do(ctx, n, drawsChunk, func(lo, hi int) {
		e := newEngine(&s.model, drawsSeed)
		for d := lo; d < hi; d++ {
			e.play(uint64(d))
			out[d] = e.jobs[job].finish
		}
	})
	return out, err
}
