package phantom

import (
	"context"
	"math"

	"crownassay/geom"
	"crownassay/internal/par"
)

// seatingReach is how far above its seat a crown begins, mm (the definition's).
const seatingReach = 8.0

// seating fills the least clearance on the way down the placement axis.
func (r *restoration) seating(ctx context.Context, f *findings, out *CrownTruth) error {
	d, h, p, err := r.wayOverWalls(ctx, f)
	if err != nil {
		return err
	}
	out.BindsOn = "preparation"
	f.t.Readings[f.prefix+"seating.clearance/preparation"] = d
	least := math.Inf(1)
	for i, name := range []string{"mesial", "distal"} {
		if r.sides[i] == nil {
			continue
		}
		v, at, height := r.wayPast(f, i)
		least = math.Min(least, v)
		if v < d {
			d, h, p, out.BindsOn = v, height, r.out.at(at.a, at.q).Add(f.s.axis.Mul(height)), name
		}
	}
	f.t.Readings[f.prefix+"seating.clearance/neighbours"] = least
	f.put("seating.clearance", d, p)
	out.BindsAt = h
	return nil
}

// wayPast finds the smallest signed distance of the lifted outer surface to a
// neighbour: the best of a grid of places and heights, then smaller steps.
func (r *restoration) wayPast(f *findings, side int) (float64, param, float64) {
	const turns, steps, lifts = 40, 36, 80
	w := proximalWindow
	w.azimuth = math.Pi * float64(side)
	t, frame, axis := r.sides[side], &f.m.target.frame, f.s.axis
	about := func(a, s, h float64) float64 {
		return t.about(frame.toArch(r.out.at(a, s).Add(axis.Mul(h))))
	}
	best, at, height := math.Inf(1), param{}, 0.0
	for i := range turns * steps {
		a := w.azimuth + w.half*(2*(float64(i/steps)+0.5)/turns-1)
		s := w.from + (w.to-w.from)*(float64(i%steps)+0.5)/steps
		p := r.out.at(a, s)
		for k := range lifts + 1 {
			h := seatingReach * float64(k) / lifts
			if v := t.levels(frame.toArch(p.Add(axis.Mul(h)))); v < best {
				best, at, height = v, param{a, s}, h
			}
		}
	}
	best = about(at.a, at.q, height)
	for step := 0.2; step > 1e-4; {
		moved := false
		for _, m := range [][3]float64{{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}, {0, 1, 1}, {0, -1, -1}} {
			a, s, h := at.a+m[0]*step/4, math.Min(1, math.Max(0, at.q+m[1]*step/r.out.runs)), math.Max(0, height+m[2]*step)
			if v := about(a, s, h); v < best {
				best, at, height, moved = v, param{a, s}, h, true
			}
		}
		if !moved {
			step /= 2
		}
	}
	return t.signed(frame.toArch(r.out.at(at.a, at.q).Add(axis.Mul(height)))), at, height
}

// levels is the lowest level of the teeth at p (arch).
func (t *target) levels(p geom.Vec) float64 {
	best := math.Inf(1)
	for _, th := range t.teeth {
		if q := th.frame.toTooth(p); th.crown.couldHold(q) {
			best = math.Min(best, th.sheet.(*natural).level(q))
		}
	}
	return best
}

// wayOverWalls finds the smallest signed distance between the lifted cavity
// and the axial walls. Over walls free of undercut every lift widens it, so
// that the seat alone is looked at.
func (r *restoration) wayOverWalls(ctx context.Context, f *findings) (least, height float64, place geom.Vec, err error) {
	lifts := 1
	if len(r.model.target.prep.dents) > 0 || !f.s.free {
		lifts = 60
	}
	cavity := newCloud(r.in, surfaceTurns/2, surfaceSteps/2)
	var walls []patch
	for i := 0; i < 360; i += 3 {
		for k := 0; k < len(f.s.wall[i]); k += 3 {
			walls = append(walls, f.s.wall[i][k])
		}
	}
	d, h := make([]float64, len(walls)), make([]float64, len(walls))
	err = par.Do(ctx, len(walls), 32, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			d[i], h[i] = r.wayOf(cavity, walls[i].p, f.s.axis, lifts)
		}
	})
	least = math.Inf(1)
	for i := range walls {
		if d[i] < least {
			least, height, place = d[i], h[i], walls[i].p
		}
	}
	return least, height, place, err
}

// wayOf lowers a wall's point through the cavity instead of lifting the crown.
func (r *restoration) wayOf(cavity *cloud, p, axis geom.Vec, lifts int) (least, height float64) {
	least = math.Inf(1)
	for k := range lifts {
		h := 3 * float64(k) / 60
		q := p.Sub(axis.Mul(h))
		i, c := cavity.coarse(q)
		if c > least+0.15 && c > 0.3 {
			continue
		}
		w, d := cavity.fine(q, i)
		if v := math.Copysign(d, r.in.roomAt(w, q)); v < least {
			least, height = v, h
		}
	}
	return least, height
}

// roomAt is positive when q lies on the cavity's side of the place w.
func (i *intaglio) roomAt(w param, q geom.Vec) float64 {
	const e = 1e-4
	lo, hi := math.Max(0, w.q-e), math.Min(i.lEdge, w.q+e)
	x := i.point(w.a+e, w.q).Sub(i.point(w.a-e, w.q))
	y := i.point(w.a, hi).Sub(i.point(w.a, lo))
	return i.point(w.a, w.q).Sub(q).Dot(y.Cross(x))
}
