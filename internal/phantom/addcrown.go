package phantom

import (
	"context"

	"crownassay/geom"
	"crownassay/mesh"
)

// The purposes of a crown's random numbers, beside those of the arches. Each
// surface uses its own and the following ones for order, noise and pose.
const (
	streamCrown    = 20
	streamFinished = 30
	streamBefore   = 40
	streamSeated   = 50
	streamPlan     = 60
)

// addCrown invents the crown of the spec and its companions, with their truth.
func (c *Case) addCrown(ctx context.Context) error {
	s := c.Spec.Crown
	if s == nil {
		return nil
	}
	r, err := c.model.newRestoration(ctx, s)
	if err != nil {
		return err
	}
	if c.Crown, err = c.faulty(ctx, r); err != nil {
		return err
	}
	if c.Truth.Crown, err = r.truth(ctx, &c.Truth, "crown."); err != nil {
		return err
	}
	c.Truth.Crown.Tool = s.Tool
	if s.Finished != nil {
		if r, err = c.addFinished(ctx, r); err != nil {
			return err
		}
	}
	if s.Before != nil {
		if err := c.addBefore(ctx); err != nil {
			return err
		}
	}
	if s.Seated {
		c.Seated, err = c.scannedArch(ctx, c.model.withSheet(newCrowned(r.out, c.model.target.prep)), stream(c.Spec.Seed, streamSeated))
		if err == nil {
			c.Seated = c.scan(c.Seated, streamSeated, c.model.pose)
		}
	}
	return err
}

// addFinished mills a copy of the crown.
func (c *Case) addFinished(ctx context.Context, design *restoration) (*restoration, error) {
	rng := stream(c.Spec.Seed, streamFinished)
	r := design.milled(newWave(c.Spec.Crown.Finished, rng))
	m, err := r.shell(ctx, rng)
	if err != nil {
		return nil, err
	}
	t, err := r.truth(ctx, &c.Truth, "finished.")
	if err != nil {
		return nil, err
	}
	t.Tool = c.Spec.Crown.Tool
	if t.Deviation, err = r.deviation(ctx, design, &c.Truth); err != nil {
		return nil, err
	}
	pose, own := c.ownPose(c.Spec.Crown.Finished.Own, streamFinished)
	t.OwnPose, c.Truth.Finished = own, t
	c.Finished = c.scan(m, streamFinished, pose)
	return r, nil
}

// addBefore scans the arch with the old restoration on.
func (c *Case) addBefore(ctx context.Context) error {
	m := c.model
	old, err := m.oldRestoration(ctx, c.Spec.Crown.Before)
	if err != nil {
		return err
	}
	k, err := newContour(ctx, old, m.survey)
	if err != nil {
		return err
	}
	f := &findings{contour: k, m: m, t: &c.Truth, prefix: "existing."}
	f.outline()
	c.Truth.Existing = k.describe(m, nil)
	b, err := c.scannedArch(ctx, m.withSheet(newCrowned(old, m.target.prep)), stream(c.Spec.Seed, streamBefore))
	if err != nil {
		return err
	}
	pose, own := c.ownPose(c.Spec.Crown.Before.Own, streamBefore)
	c.Truth.Existing.OwnPose = own
	c.Before = c.scan(b, streamBefore, pose)
	return nil
}

// ownPose returns the pose of a surface from the arch, and what moves the
// case's frame to its file when it has a frame of its own.
func (c *Case) ownPose(own bool, purpose uint64) (geom.Rigid, *geom.Rigid) {
	if !own {
		return c.model.pose, nil
	}
	g := poseFrom(stream(c.Spec.Seed, purpose+3))
	return g.After(c.model.pose), &g
}

// scan exports a surface that a scanner saw, with its noise.
func (c *Case) scan(m *mesh.Mesh, purpose uint64, pose geom.Rigid) *mesh.Mesh {
	tidy(m)
	noisy(m, c.Spec.Noise, c.Spec.Correlated, stream(c.Spec.Seed, purpose+2))
	return c.exported(m, purpose+1, pose)
}

// exported brings a surface into the order and the coordinates of its file.
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
