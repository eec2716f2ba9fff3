package phantom

import (
	"context"
	"math"
	"math/rand/v2"

	"crownassay/mesh"
)

// restoration is the geometry of a crown in the tooth's frame.
type restoration struct {
	spec  *Crown
	model *model
	in    *intaglio
	out   *cameo
	sides [2]*target // mesial and distal; nil where no tooth stands
	bite  *target

	outerFacets int // of the shell, the first ones
}

// newRestoration lays out cavity and outer surface and brings the contacts to
// the wanted distances.
func (m *model) newRestoration(ctx context.Context, c *Crown) (*restoration, error) {
	r := &restoration{spec: c, model: m}
	p := *m.target.prep
	if c.Cavity > 0 {
		p.round = &band{base: even(math.Max(0.01, c.Cavity-(c.Wall+c.Occlusal)/2))}
	}
	h := c.Overhang.band()
	var err error
	r.in, err = newIntaglio(ctx, &p, c, func(a float64) float64 { return h.at(a) - c.Edge*math.Cos(bevelLean) })
	if err != nil {
		return nil, err
	}
	r.in.press(c.Tight)
	r.out, err = newCameo(ctx, m.natural(cameoFade), m.target.prep, r.in.margin)
	if err != nil {
		return nil, err
	}
	for _, k := range c.Hills {
		r.out.raise(k)
	}
	if err := r.meet(); err != nil {
		return nil, err
	}
	return r, r.hollow(ctx)
}

// natural is the shape of the lost crown.
func (m *model) natural(fade float64) outer {
	return outer{m.target.crown.level, m.target.crown.length, fade}
}

// press lays changes of the cement space on the cavity: their heights are
// shares of the profile from the finish line to the middle.
func (i *intaglio) press(list []Hill) {
	for _, t := range list {
		a := t.Azimuth * degree
		s := i.prep.section(a)
		p, _, _ := i.foot(&s, i.lEdge*(1-math.Min(1, t.Height)))
		i.tight = append(i.tight, bulge{spin(a, p), t.Half, t.Rise})
	}
}

// shell weaves the closed surface: outer surface and cavity, joined along the
// margin edge, in arch coordinates.
func (r *restoration) shell(ctx context.Context, rng *rand.Rand) (*mesh.Mesh, error) {
	perOut, perIn := perimeters(r.out), perimeters(r.in)
	lo, hi := 0.02, 1.0
	for range 30 {
		h := math.Sqrt(lo * hi)
		n := planned(plan(r.out, perOut, h, false), rimCount(h)) + planned(plan(r.in, perIn, 1.2*h, true), rimCount(h))
		if n > r.spec.Triangles {
			lo = h
		} else {
			hi = h
		}
	}
	return r.weave(ctx, hi, perOut, perIn, rng)
}

// rimCount is how many vertices a margin edge of about 30 mm gets.
func rimCount(h float64) int { return int(30 / (0.7 * h)) }

func (r *restoration) weave(ctx context.Context, h float64, perOut, perIn []float64, rng *rand.Rand) (*mesh.Mesh, error) {
	f := &r.model.target.frame
	out := &mesh.Mesh{}
	rim := rimRow(out, f, rimCount(h), r.out.margin, rng)
	turned := f.leftHanded()
	if err := appendSheet(ctx, out, r.out, plan(r.out, perOut, h, false), rim, f, turned, rng); err != nil {
		return nil, err
	}
	r.outerFacets = len(out.F)
	return out, appendSheet(ctx, out, r.in, plan(r.in, perIn, 1.2*h, true), rim, f, !turned, rng)
}

// rimRow adds n vertices of a closed curve, unevenly spaced.
func rimRow(out *mesh.Mesh, f *frame, n int, at func(a float64) point2, rng *rand.Rand) row {
	var r row
	for i := range n {
		a := -math.Pi + 2*math.Pi*(float64(i)+0.5+0.4*(rng.Float64()-0.5))/float64(n)
		r.az = append(r.az, a)
		r.index = append(r.index, int32(len(out.V)))
		out.V = append(out.V, f.toArch(spin(a, at(a))))
	}
	return r
}

// appendSheet weaves a sheet to the border row, which is already in the mesh.
func appendSheet(ctx context.Context, out *mesh.Mesh, s sheet, rings []ring, border row, f *frame, turned bool, rng *rand.Rand) error {
	first := int32(len(out.V))
	b := row{border.az, append([]int32{}, border.index...)}
	for k := range b.index {
		b.index[k] -= first
	}
	w, _, err := weave(ctx, s, rings, b, rng, true)
	if err == nil {
		appendTurned(out, w, f, turned)
	}
	return err
}
