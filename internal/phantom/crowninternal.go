package phantom

import (
	"context"
	"math"

	"crownassay/geom"
	"crownassay/internal/par"
)

// internalFrom is how far from the margin edge the internal gap begins, mm
// (the definition's).
const internalFrom = 1.0

// prepared is the preparation's sheet down to the sulcus floor.
type prepared struct{ *prepSheet }

func (p prepared) span() float64               { return p.from[segFloor] }
func (p prepared) point(a, q float64) geom.Vec { return p.prep.point(a, p.u(q)) }

// The samples of the cavity: the gap is as smooth as its formula, so that a
// third of the outer surface's density does.
const (
	cavityTurns = 180
	cavitySteps = 80
)

// internal fills the mean internal gap and the deepest penetration.
func (r *restoration) internal(ctx context.Context, f *findings) error {
	probes, at, err := sampled(ctx, r.in, cavityTurns, cavitySteps)
	if err != nil {
		return err
	}
	base := prepared{newPrepSheet(r.model.target.prep)}
	err = par.Do(ctx, len(probes), 64, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			probes[i].d = r.in.over(base, at[i])
		}
	})
	if err != nil {
		return err
	}
	sum, area, deepest := 0.0, 0.0, 0
	edge := r.edgePoints()
	for i := range probes {
		if probes[i].d < probes[deepest].d {
			deepest = i
		}
		if offLine(probes[i].p, edge) > internalFrom {
			sum += probes[i].area * math.Abs(probes[i].d)
			area += probes[i].area
		}
	}
	f.t.Readings[f.prefix+"fit.internal.mean"] = sum / area
	r.interference(base, at[deepest], f)
	return nil
}

// over is the signed distance of the cavity's point w from the preparation,
// searched from the place the cavity was moved off.
func (i *intaglio) over(base prepared, w param) float64 {
	p := i.point(w.a, w.q)
	from := math.Min(w.q/i.lEdge*i.end.at(w.a), i.lEdge-1e-6)
	at, d := foot(base, p, param{w.a, from}, 0.05)
	return math.Copysign(d, i.outside(p, base, at))
}

// outside is positive when p lies on the outer side of the preparation at w.
func (i *intaglio) outside(p geom.Vec, base prepared, w param) float64 {
	u := math.Min(base.u(w.q), uFinish+1)
	return p.Sub(base.point(w.a, w.q)).Dot(base.prep.normalAt(w.a, math.Min(u, i.uEdge-1e-6)))
}

// edgePoints samples the margin edge.
func (r *restoration) edgePoints() []geom.Vec {
	out := make([]geom.Vec, 720)
	for i := range out {
		a := 2 * math.Pi * float64(i) / float64(len(out))
		out[i] = spin(a, r.out.margin(a))
	}
	return out
}

func offLine(p geom.Vec, line []geom.Vec) float64 {
	best := math.Inf(1)
	for _, q := range line {
		best = math.Min(best, p.DistSq(q))
	}
	return math.Sqrt(best)
}

// interference settles on the deepest place near w and fills the penetration:
// 0 where the cavity stays off the preparation everywhere.
func (r *restoration) interference(base prepared, w param, f *findings) {
	gap := func(a, q float64) float64 { return r.in.over(base, param{a, math.Max(0, q)}) }
	d := gap(w.a, w.q)
	for h := 0.1; h > 1e-3; {
		na, nq := parabolaStep(func(i, j float64) float64 { return gap(w.a+i*h/4, w.q+j*h) })
		if v := gap(w.a+na*h/4, w.q+nq*h); v < d {
			w, d = param{w.a + na*h/4, math.Max(0, w.q+nq*h)}, v
			if na*na+nq*nq > 0.25 {
				continue
			}
		}
		h /= 3
	}
	f.put("fit.interference", math.Max(0, -d), r.in.point(w.a, w.q))
	f.put("fit.closest", d, r.in.point(w.a, w.q))
}
