package phantom

import (
	"context"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/mesh"
)

// Case is one invented case in the coordinates of its files.
type Case struct {
	Spec     Spec
	Tooth    string
	Material string
	Prepared *mesh.Mesh
	Opposing *mesh.Mesh
	At       geom.Vec // the occlusal centre of the preparation
	Mesial   geom.Vec // unit vector
	Truth    Truth

	model *model
}

// model is the geometry behind a case, in arch coordinates.
type model struct {
	prepared, opposing *arch
	target             *tooth
	pose               geom.Rigid
}

// The arch curves, mm: half width and depth of the line through the tooth
// axes. The upper one runs outside the lower by half a tooth, so that the
// lower buccal and the upper lingual cusps meet fossae.
const (
	lowerWidth, lowerDepth = 25.0, 39.0
	upperWidth, upperDepth = 27.6, 41.8
	biteDepth              = 1.45 // how far the cusp tips of the arches pass each other
)

// Build invents the case of a spec.
func Build(ctx context.Context, spec Spec) (*Case, error) {
	spec = spec.withDefaults()
	m, err := newModel(ctx, spec)
	if err != nil {
		return nil, err
	}
	c := &Case{Spec: spec, Tooth: spec.Tooth, Material: spec.Material, model: m}
	if err := c.meshes(ctx); err != nil {
		return nil, err
	}
	if c.Truth, err = m.truth(ctx, spec.Tooth); err != nil {
		return nil, err
	}
	c.Prepared, c.Opposing = c.Prepared.Move(m.pose), c.Opposing.Move(m.pose)
	c.At = m.toFile(geom.Vec{Z: m.target.prep.centre})
	c.Mesial = m.turnToFile(geom.Vec{X: 1})
	return c, nil
}

// stream returns the random numbers of one purpose, so that a change of one
// leaves the others alone.
func stream(seed, purpose uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, purpose)) }

// newModel lays out both arches.
func newModel(ctx context.Context, spec Spec) (*model, error) {
	quadrant, position, err := spec.place()
	if err != nil {
		return nil, err
	}
	list := scanned(position, spec.FullArch)
	jaw, curves := 0, [2]*archCurve{newArchCurve(upperWidth, upperDepth), newArchCurve(lowerWidth, lowerDepth)}
	if quadrant > 2 {
		jaw = 1
	}
	m := &model{pose: geom.Still()}
	if spec.RandomPose {
		m.pose = randomPose(spec.Seed)
	}
	m.prepared = layout(curves[jaw], &anatomies[jaw], list, side(quadrant), 1, 0)
	m.opposing = layout(curves[1-jaw], &anatomies[1-jaw], list, side(quadrant), -1, -biteDepth)
	for _, t := range m.prepared.teeth {
		if t.slot == slot(position) {
			m.target = t
		}
	}
	m.target.prep = newPrep(m.target.crown, stream(spec.Seed, 1))
	err = m.prepared.finish(ctx, func(t *tooth) func(geom.Vec) float64 { return t.crown.level })
	if err == nil {
		err = m.opposing.finish(ctx, func(t *tooth) func(geom.Vec) float64 { return worn(t, m.prepared) })
	}
	return m, err
}

// scanned lists the places of a quadrant scan round the position, or of a
// full arch.
func scanned(position int, full bool) []slot {
	if full {
		return slots(-7, 7)
	}
	first := slot(position - 2)
	if first < 1 {
		first -= 1
	}
	return slots(first, slot(min(8, position+2)))
}

// meshes weaves both arches.
func (c *Case) meshes(ctx context.Context) (err error) {
	weave := func(a *arch, purpose uint64) (*mesh.Mesh, error) {
		h, err := a.spacing(ctx, c.Spec.Triangles, c.Spec.Aligned)
		if err != nil {
			return nil, err
		}
		return a.mesh(ctx, h, c.Spec.Aligned, stream(c.Spec.Seed, purpose))
	}
	if c.Prepared, err = weave(c.model.prepared, 2); err != nil {
		return err
	}
	c.Opposing, err = weave(c.model.opposing, 3)
	return err
}
