package align

import (
	"context"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/mesh"
)

// Agreement says how far two surfaces lie together as they are.
type Agreement struct {
	Share  float64 // of the smaller surface, within Near of the other and facing the same way
	Median float64 // mm: of the distances of what lies within three times Near
}

// Together says how far two surfaces lie together as they are, without moving
// anything: a light look at samples of the moving surface. Of the options only
// the weights and Near are used. A share near 0 means different frames, or
// different things.
func Together(ctx context.Context, moving *mesh.Mesh, fixed *bvh.Tree, o Options) (Agreement, error) {
	r, err := newRegistration(moving, fixed, o.filled())
	if err != nil {
		return Agreement{}, err
	}
	return r.agreement(ctx, geom.Still())
}

// agreement looks at the surfaces under a motion.
func (r *registration) agreement(ctx context.Context, g geom.Rigid) (Agreement, error) {
	m := newMatching(r.to, pointsOfSamples(r.samples, samplePoints))
	if err := m.find(ctx, g, 3*r.Near); err != nil {
		return Agreement{}, err
	}
	q := m.quality(r.Near, r.Near, r.cover)
	return Agreement{q.Overlap, q.Quantiles[0]}, nil
}
