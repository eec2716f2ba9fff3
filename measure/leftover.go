package measure

import (
	"cmp"
	"context"
	"math"
	"slices"

	"crownassay/geom"
	"crownassay/internal/par"
)

// solveBatch is how many probes are solved between two looks at which of the
// others may still be deeper. It does not depend on the number of workers.
const solveBatch = 64

// leftover asks how far probes lie beyond an opening.
type leftover struct {
	o      *opening
	probes []probe
	at     []geom.Vec // where the ball touches the surface at each probe
	cuts   []bool     // whether it cuts into the material there: then the probe is not reached so
	into   []float64  // how deep, mm
	d      []float64  // distance of each probe from the nearest place known, mm; an upper bound
	solved []geom.Vec // places found around probes
	done   []bool
}

// leftAt puts the ball to every probe. Known are places found before.
func (o *opening) leftAt(ctx context.Context, probes []probe, known []geom.Vec) (*leftover, error) {
	l := &leftover{o: o, probes: probes, at: make([]geom.Vec, len(probes)), cuts: make([]bool, len(probes)), into: make([]float64, len(probes)),
		d: make([]float64, len(probes)), done: make([]bool, len(probes))}
	for i := range probes {
		l.at[i] = o.first(&probes[i])
	}
	hits := newHits(len(probes))
	if err := o.tree.ClosestAll(ctx, l.at, o.r-openSlack, hits); err != nil {
		return nil, err
	}
	for i := range probes {
		l.cuts[i] = hits[i].Facet >= 0
		if l.done[i] = !l.cuts[i]; l.done[i] {
			l.d[i] = l.at[i].Dist(probes[i].p)
		} else {
			l.d[i], l.into[i] = math.Inf(1), o.r-math.Sqrt(hits[i].DistSq)
		}
	}
	l.learn(known)
	return l, nil
}

// learn lowers the bounds by places that were found.
func (l *leftover) learn(places []geom.Vec) {
	for i := range l.d {
		if !l.cuts[i] {
			continue
		}
		for _, c := range places {
			if x := c.DistSq(l.probes[i].p); x < l.d[i]*l.d[i] {
				l.d[i] = math.Sqrt(x)
			}
		}
	}
}

// deepest returns the probe that lies farthest beyond the opening and how far:
// 0 and less where the ball reaches all. Only probes that may be the
// deepest are solved; a place found for one bounds all. The nearest of all
// places counts, so that one that is nearest only among those around it
// does no harm. The index is -1 where the ball fits nowhere.
func (l *leftover) deepest(ctx context.Context) (int, float64, error) {
	sure := -1
	for {
		i := highest(l.d)
		if i < 0 || i == sure {
			break
		}
		if l.done[i] {
			l.againstAll(i)
			sure = i
			continue
		}
		if err := l.solve(ctx, l.next()); err != nil {
			return -1, 0, err
		}
	}
	if sure < 0 || math.IsInf(l.d[sure], 1) {
		return -1, 0, nil
	}
	return sure, l.d[sure] - l.o.r, nil
}

// againstAll compares a probe with the places of all probes that the ball
// reaches.
func (l *leftover) againstAll(i int) {
	for k, c := range l.at {
		if !l.cuts[k] {
			l.d[i] = math.Min(l.d[i], c.Dist(l.probes[i].p))
		}
	}
}

// next returns the probes not solved that have the highest bounds; at the
// beginning, when nothing is known, some from all over.
func (l *leftover) next() []int {
	var open []int
	for i, done := range l.done {
		if !done {
			open = append(open, i)
		}
	}
	if len(open) <= solveBatch {
		return open
	}
	if len(l.solved) == 0 {
		for k := range solveBatch {
			open[k] = open[k*len(open)/solveBatch]
		}
		return open[:solveBatch]
	}
	slices.SortStableFunc(open, func(a, b int) int { return cmp.Compare(l.d[b], l.d[a]) })
	return open[:solveBatch]
}

// solve finds the nearest places for some probes.
func (l *leftover) solve(ctx context.Context, some []int) error {
	found, fits := make([]geom.Vec, len(some)), make([]bool, len(some))
	err := par.Do(ctx, len(some), 8, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			found[k], fits[k] = l.o.around(l.probes[some[k]].p, l.at[some[k]])
		}
	})
	var places []geom.Vec
	for k, i := range some {
		l.done[i] = true
		if fits[k] {
			places = append(places, found[k])
		}
	}
	l.solved = append(l.solved, places...)
	l.learn(places)
	return err
}
