package gauge

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"crownassay/align"
	"crownassay/bvh"
	"crownassay/fit"
	"crownassay/geom"
	"crownassay/mesh"
)

// sharpTurn is the angle, degrees, between neighbouring facets from which
// their edge is one of the body and not of its tessellation.
const sharpTurn = 15.0

// meshNear is the distance, mm, within which scan and body count as one: ten
// times the error of a poor scanner, so that its own error takes nothing away.
const meshNear = 0.2

// observeMesh lays the scan on the body's mesh and fits what is left of the
// distances: a motion, an even distance of the surface, and a change of size.
func observeMesh(ctx context.Context, b *Body, s *scan) (o observed, err error) {
	tree := bvh.New(b.Mesh)
	r, err := align.RegisterTo(ctx, s.m, tree, align.Options{Near: meshNear, LeaveWithin: -1})
	if err != nil {
		if ctx.Err() != nil {
			return o, ctx.Err()
		}
		return o, &absentError{"the scan does not come to lie on the body's mesh: " + err.Error()}
	}
	pts, dist, normals, err := onMesh(ctx, s, tree, r.Motion)
	if err != nil {
		return o, err
	}
	size := largest(b.Mesh)
	mid := b.Mesh.Box().Center()
	rows := make([][]float64, len(pts))
	for i, p := range pts {
		x, n := p.Sub(mid), normals[i]
		w := x.Cross(n)
		rows[i] = []float64{n.X, n.Y, n.Z, w.X / size, w.Y / size, w.Z / size, 1, x.Dot(n) / size}
	}
	x, q, err := fit.FitLinear(pts, rows, dist, fitOptions)
	if errors.Is(err, fit.ErrOpen) {
		return o, fmt.Errorf("the body's shape does not tell an even distance from a change of size or a motion, as a ball's or a plate's does not; give it as one of the other kinds, or scan more of it")
	}
	if err != nil {
		return o, err
	}
	ref := Length{size, b.SurfaceUM}.standard()
	o.points = q.Points
	o.noise, o.form = spread(kept(pts, q.Distances, q.RMS))
	o.indications = []indication{
		{"surface", "mm", x[6], q.Standard(6), 0, ref, 1},
		{"largest dimension", "mm", size + x[7], q.Standard(7), size, ref, size},
	}
	return o, nil
}

// onMesh looks at the vertices of the scan, as laid on the body, that lie within
// meshNear of it and face the same way. It returns their nearest points on
// the body, whose place has no noise of the scan, the signed distances and the
// body's normals there.
func onMesh(ctx context.Context, s *scan, tree *bvh.Tree, g geom.Rigid) (pts []geom.Vec, dist []float64, normals []geom.Vec, err error) {
	moved := s.m.Move(g)
	step := max(1, len(moved.V)/mostPoints)
	var ask []geom.Vec
	var of []int
	for i := 0; i < len(moved.V); i += step {
		ask, of = append(ask, moved.V[i]), append(of, i)
	}
	sharp := sharpFacets(tree.Mesh())
	hits := make([]bvh.SignedHit, len(ask))
	if err := tree.SignedAll(ctx, ask, meshNear, hits); err != nil {
		return nil, nil, nil, err
	}
	for i, h := range hits {
		if h.Facet < 0 || sharp[h.Facet] || h.BeyondBorder || math.IsInf(h.Dist, 0) {
			continue
		}
		n := tree.FeatureNormal(h.Hit)
		if n == (geom.Vec{}) || g.Turn(s.normal[of[i]]).Dot(n) < cosSide {
			continue
		}
		pts, dist, normals = append(pts, h.Point), append(dist, h.Dist), append(normals, n)
	}
	if len(pts) < leastVertices {
		return nil, nil, nil, &absentError{fmt.Sprintf("only %d points of the scan lie on the body's mesh", len(pts))}
	}
	return pts, dist, normals, nil
}

// sharpFacets marks the facets that touch an edge of the body at which its
// surface turns: near those, noise makes distances that are not even about zero.
func sharpFacets(m *mesh.Mesh) []bool {
	cos := math.Cos(sharpTurn * math.Pi / 180)
	a := mesh.Adjacent(m)
	normal := func(f int32) geom.Vec {
		p, q, r := m.Corner(f)
		return q.Sub(p).Cross(r.Sub(p)).Unit()
	}
	corner := make([]bool, len(m.V))
	for h, o := range a.Opposite {
		if o >= 0 && normal(int32(h)/3).Dot(normal(o/3)) < cos {
			corner[m.From(int32(h))], corner[m.To(int32(h))] = true, true
		}
	}
	out := make([]bool, len(m.F))
	for f, t := range m.F {
		out[f] = corner[t[0]] || corner[t[1]] || corner[t[2]]
	}
	return out
}

// quantile of numbers, by the nearest rank.
func quantile(x []float64, share float64) float64 {
	x = slices.Clone(x)
	slices.Sort(x)
	return x[min(len(x)-1, int(share*float64(len(x))))]
}
