package bvh

import (
	"context"

	"crownassay/geom"
	"crownassay/internal/par"
)

// ClosestAll writes the nearest point of every query to out, which must be at
// least as long as pts; Facet is -1 and DistSq infinite where nothing is
// within maxDist. The error is the context's.
func (t *Tree) ClosestAll(ctx context.Context, pts []geom.Vec, maxDist float64, out []Hit) error {
	return t.closestAll(ctx, pts, func(int) float64 { return maxDist }, out)
}

// ClosestEach is ClosestAll with a distance for each query; where that is
// negative, nothing is looked for.
func (t *Tree) ClosestEach(ctx context.Context, pts []geom.Vec, maxDist []float64, out []Hit) error {
	return t.closestAll(ctx, pts, func(i int) float64 { return maxDist[i] }, out)
}

func (t *Tree) closestAll(ctx context.Context, pts []geom.Vec, maxDist func(i int) float64, out []Hit) error {
	turn := t.pointTurns(pts)
	t.flat() // before the work is shared, so that all share in this too
	return par.Do(ctx, len(pts), 0, func(lo, hi int) {
		f := t.Finder()
		for k := lo; k < hi; k++ {
			i := turn.at(k)
			out[i], _ = f.Closest(pts[i], maxDist(i))
		}
	})
}

// SignedAll is ClosestAll with signs; Dist is +Inf where there is no answer.
func (t *Tree) SignedAll(ctx context.Context, pts []geom.Vec, maxDist float64, out []SignedHit) error {
	return t.signedAll(ctx, pts, func(int) float64 { return maxDist }, out)
}

// SignedEach is ClosestEach with signs.
func (t *Tree) SignedEach(ctx context.Context, pts []geom.Vec, maxDist []float64, out []SignedHit) error {
	return t.signedAll(ctx, pts, func(i int) float64 { return maxDist[i] }, out)
}

func (t *Tree) signedAll(ctx context.Context, pts []geom.Vec, maxDist func(i int) float64, out []SignedHit) error {
	turn := t.pointTurns(pts)
	t.Ready()
	return par.Do(ctx, len(pts), 0, func(lo, hi int) {
		f := t.Finder()
		for k := lo; k < hi; k++ {
			i := turn.at(k)
			out[i], _ = f.Signed(pts[i], maxDist(i))
		}
	})
}

// RayAll writes the first hit of every ray to out; Facet is -1 and T infinite
// where there is none.
func (t *Tree) RayAll(ctx context.Context, rays []Ray, tMax float64, out []RayHit) error {
	turn := t.rayTurns(rays)
	return par.Do(ctx, len(rays), 0, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			i := turn.at(k)
			out[i], _ = t.Ray(rays[i].Origin, rays[i].Dir, tMax)
		}
	})
}

// SectionAll writes the sections by all planes to out, each as SectionNear
// gives it; an infinite radius takes the whole mesh.
func (t *Tree) SectionAll(ctx context.Context, planes []geom.Plane, center geom.Vec, radius float64, out [][]Polyline) error {
	return par.Do(ctx, len(planes), 8, func(lo, hi int) {
		t.Sections(planes[lo:hi], center, radius, out[lo:hi])
	})
}
