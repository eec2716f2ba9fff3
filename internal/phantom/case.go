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
	Crown    *mesh.Mesh // nil for none, as the three below
	Finished *mesh.Mesh // milled copy of the crown
	Before   *mesh.Mesh // the arch with the old restoration
	Seated   *mesh.Mesh // the arch with the crown on
	At       geom.Vec   // the occlusal centre of the preparation
	Mesial   geom.Vec   // unit vector
	Truth    Truth

	model *model
}

// model is the geometry behind a case, in arch coordinates.
type model struct {
	prepared, opposing *arch
	target             *tooth
	pose               geom.Rigid
	survey             *survey // of the preparation
}

// The arch curves, mm: half width and depth of the line through the tooth
// axes. The upper one runs outside the lower by half a tooth, so that the
// lower buccal and the upper lingual cusps meet fossae.
const (
	lowerWidth, lowerDepth = 25.0, 40.4
	upperWidth, upperDepth = 27.6, 41.8
	biteDepth              = 1.2 // to begin with, how far the cusp tips of the arches pass each other
	frontOverbite          = 1.0 // how much farther the front teeth do
)

// Build invents the case of a spec.
func Build(ctx context.Context, spec Spec) (*Case, error) {
	c, err := begun(ctx, spec)
	if err != nil {
		return nil, err
	}
	m := c.model
	c.At = m.toFile(geom.Vec{Z: m.target.crown.length - 2})
	c.Mesial = m.turnToFile(geom.Vec{X: 1})
	if m.target.prep != nil {
		c.At = m.toFile(geom.Vec{Z: m.target.prep.centre})
		if err := c.settle(ctx); err != nil {
			return nil, err
		}
	}
	c.scanEffects()
	return c, c.addCrown(ctx)
}

// Scans invents the scans of a preparation alone, without the truth, which
// takes ten times as long: for many cases of a demonstration.
func Scans(ctx context.Context, spec Spec) (*Case, error) {
	c, err := begun(ctx, spec)
	if err != nil {
		return nil, err
	}
	c.scanEffects()
	return c, nil
}

// begun makes the meshes of a case.
func begun(ctx context.Context, spec Spec) (*Case, error) {
	spec, err := spec.complete()
	if err != nil {
		return nil, err
	}
	m, err := newModel(ctx, spec)
	if err != nil {
		return nil, err
	}
	c := &Case{Spec: spec, Tooth: spec.Tooth, Material: spec.Material, model: m}
	return c, c.meshes(ctx)
}

// settle works out the truth and cuts the holes.
func (c *Case) settle(ctx context.Context) (err error) {
	if c.Truth, err = c.model.truth(ctx, c.Spec.Tooth); err != nil {
		return err
	}
	if _, shell := c.Spec.has(ClosedShell); !shell {
		c.Truth.Readings["scan.spacing"] = c.model.spacing(c.Prepared)
		c.Truth.Holes = c.model.cutHoles(c.Prepared, c.Spec.Defects)
	}
	c.Truth.scanned(c.Spec)
	return nil
}

// scanEffects does to the meshes what scanners, exporters and people do.
func (c *Case) scanEffects() {
	for i, m := range []**mesh.Mesh{&c.Prepared, &c.Opposing} {
		rng := stream(c.Spec.Seed, 5+uint64(i))
		tidy(*m)
		noisy(*m, c.Spec.Noise, c.Spec.Correlated, rng)
		if c.Spec.Shuffled {
			*m = shuffled(*m, rng)
		}
		*m = (*m).Move(c.model.pose)
		scale(*m, c.Spec.Scale)
		if c.Spec.Float32 {
			single(*m)
		}
	}
	if _, ok := c.Spec.has(FlippedNormals); ok {
		flip(c.Prepared)
	}
	if _, ok := c.Spec.has(SwappedSurfaces); ok {
		c.Prepared, c.Opposing = c.Opposing, c.Prepared
	}
	if _, ok := c.Spec.has(WrongTooth); ok {
		c.Tooth = otherSide(c.Tooth)
	}
}

// otherSide returns the same tooth of the other side of the jaw.
func otherSide(tooth string) string {
	return string("2143"[tooth[0]-'1']) + tooth[1:]
}

// stream returns the random numbers of one purpose, so that a change of one
// leaves the others alone.
func stream(seed, purpose uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, purpose)) }

// newModel lays out both arches and prepares the tooth.
func newModel(ctx context.Context, spec Spec) (*model, error) {
	quadrant, position, err := spec.place()
	if err != nil {
		return nil, err
	}
	m := &model{pose: geom.Still()}
	if spec.RandomPose {
		m.pose = randomPose(spec.Seed)
	}
	m.seatTeeth(spec, quadrant, position)
	if _, ok := spec.has(NoPreparation); !ok {
		m.target.prep = newPrep(m.target.crown, stream(spec.Seed, 1))
		m.target.prep.spoil(spec.Defects)
	}
	err = m.prepared.finish(ctx, func(t *tooth) func(geom.Vec) float64 { return t.crown.level })
	if err == nil {
		err = m.opposing.finish(ctx, func(t *tooth) func(geom.Vec) float64 { return worn(t, m.prepared) })
	}
	if err == nil && m.target.prep != nil {
		err = m.raise(ctx, spec.Defects)
		m.target.sheet = newPrepSheet(m.target.prep)
	}
	return m, err
}

// seatTeeth places the natural teeth of both arches in occlusion.
func (m *model) seatTeeth(spec Spec, quadrant, position int) {
	list := scanned(position, spec.FullArch)
	jaw, curves := 0, [2]*archCurve{newArchCurve(upperWidth, upperDepth), newArchCurve(lowerWidth, lowerDepth)}
	if quadrant > 2 {
		jaw = 1
	}
	rng := stream(spec.Seed, 7)
	own, other := varied(anatomies[jaw], rng), varied(anatomies[1-jaw], rng)
	for i := range own {
		own[i].length += spec.Tall
	}
	m.prepared = layout(curves[jaw], &own, list, side(quadrant), 1, 0)
	for _, t := range m.prepared.teeth {
		if t.slot == slot(position) {
			m.target = t
		}
	}
	m.opposing = layout(curves[1-jaw], &other, list, side(quadrant), -1, -biteDepth)
	m.opposing.erupt(m.prepared)
	m.prepared.join(curves[jaw], &own, side(quadrant), 1)
	m.opposing.join(curves[1-jaw], &other, side(quadrant), -1)
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
	if c.Prepared, err = c.weave(ctx, c.model.prepared, 2); err != nil {
		return err
	}
	if _, ok := c.Spec.has(ClosedShell); ok {
		if c.Prepared, err = c.model.shell(ctx, 0.1, stream(c.Spec.Seed, 4)); err != nil {
			return err
		}
	}
	c.Opposing, err = c.weave(ctx, c.model.opposing, 3)
	return err
}

func (c *Case) weave(ctx context.Context, a *arch, purpose uint64) (*mesh.Mesh, error) {
	h := c.Spec.Edge
	if h <= 0 {
		var err error
		if h, err = a.spacing(ctx, c.Spec.Triangles, c.Spec.Aligned); err != nil {
			return nil, err
		}
	}
	return a.mesh(ctx, h, c.Spec.Aligned, stream(c.Spec.Seed, purpose))
}
