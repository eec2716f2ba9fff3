package phantom

import (
	"context"

	"crownassay/geom"
	"crownassay/mesh"
)

// The purposes of a crown's random numbers, beside those of the arches.
const (
	streamCrown = 20 + iota
	streamCrownOrder
)

// addCrown invents the crown of the spec with its truth.
func (c *Case) addCrown(ctx context.Context) error {
	if c.Spec.Crown == nil {
		return nil
	}
	r, err := c.model.newRestoration(ctx, c.Spec.Crown)
	if err != nil {
		return err
	}
	if c.Crown, err = r.shell(ctx, stream(c.Spec.Seed, streamCrown)); err != nil {
		return err
	}
	c.Crown = c.exported(c.Crown, streamCrownOrder, c.model.pose)
	return r.truth(ctx, &c.Truth)
}

// exported brings a surface into the coordinates and the order of its file.
func (c *Case) exported(m *mesh.Mesh, purpose uint64, pose geom.Rigid) *mesh.Mesh {
	if c.Spec.Shuffled {
		m = shuffled(m, stream(c.Spec.Seed, purpose))
	}
	m = m.Move(pose)
	scale(m, c.Spec.Scale)
	if c.Spec.Float32 {
		single(m)
	}
	return m
}
