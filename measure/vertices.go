package measure

import (
	"context"
	"math"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/mesh"
)

// OverPreparation returns the distance from each vertex of the prepared
// surface inside the finish line to another surface, mm, negative within it
// where signed; NaN where there is none within 8 mm.
func (s *Site) OverPreparation(ctx context.Context, to *Surface, signed bool) ([]float64, error) {
	return vertexGaps(ctx, s.Prepared.Mesh, to, gapReach, signed, s.inside)
}

// inside reports whether a point lies within the finish line in plan and not
// below it.
func (s *Site) inside(p geom.Vec) bool {
	a, r, z := s.Frame.Cylinder(p)
	lr, lz := s.lineAt(a)
	return r < lr+onLine && z > lz-onLine
}

// onLine is how far, mm, a vertex may lie outside the finish line to be shown
// with the preparation: the line runs through facets, and a map would fray at
// its edge.
const onLine = 0.05

// vertexGaps returns the distance from each vertex that keep holds for to a
// surface; NaN elsewhere and beyond reach.
func vertexGaps(ctx context.Context, m *mesh.Mesh, to *Surface, reach float64, signed bool, keep func(geom.Vec) bool) ([]float64, error) {
	out := make([]float64, len(m.V))
	var idx []int
	var pts []geom.Vec
	for i, p := range m.V {
		out[i] = math.NaN()
		if keep(p) {
			idx, pts = append(idx, i), append(pts, p)
		}
	}
	hits, err := to.nearest(ctx, pts, reach)
	if err != nil {
		return nil, err
	}
	for j := range hits {
		if h := &hits[j]; h.Facet >= 0 {
			out[idx[j]] = to.gap(pts[j], h, signed)
		}
	}
	return out, nil
}

// UndercutDepths returns how far each vertex of the axial walls lies nearer
// the axis than a higher point of its section does, mm; NaN off the walls.
func (s *Site) UndercutDepths() []float64 {
	return s.overWalls(func(k, i int) float64 {
		w, f := &s.Walls[k], &s.Profiles[k]
		_, r, z := s.Frame.Cylinder(s.Prepared.Mesh.V[i])
		far := r
		for j := w.Edge; j <= w.Inner && f.Z[j] > z; j++ {
			if !f.Gap[j] {
				far = math.Max(far, f.R[j])
			}
		}
		return far - r
	})
}

// WallAngles returns the angle between the placement axis and the surface at
// each vertex of the axial walls, degrees, positive where the wall leans to
// the axis going up; NaN off the walls.
func (s *Site) WallAngles() []float64 {
	return s.overWalls(func(_, i int) float64 {
		return math.Asin(math.Max(-1, math.Min(1, s.Prepared.normals[i].Dot(s.Frame.Z)))) * 180 / math.Pi
	})
}

// overWalls gives each vertex between the inner end of the finish line and the
// occlusoaxial line angle its value.
func (s *Site) overWalls(value func(k, vertex int) float64) []float64 {
	out := make([]float64, len(s.Prepared.Mesh.V))
	for i, p := range s.Prepared.Mesh.V {
		out[i] = math.NaN()
		a, r, z := s.Frame.Cylinder(p)
		k := wrap(int(math.Round(a)))
		w := &s.Walls[k]
		if lr, _ := s.lineAt(a); w.Ok && r < lr+onLine && z >= w.InnerZ && z <= w.EdgeZ {
			out[i] = value(k, i)
		}
	}
	return out
}

// Thicknesses returns, at each vertex of the crown's mesh m that lies on the
// cameo, the distance to the intaglio, mm; NaN elsewhere. Occlusal takes the
// part above the preparation's line angles, else the axial part.
func (c *Crown) Thicknesses(ctx context.Context, m *mesh.Mesh, occlusal bool) ([]float64, error) {
	edge := bridged(c.EdgeZ)
	_, angle := c.along(func(w *finishline.Wall) (r, z float64) { return w.EdgeR, w.EdgeZ })
	on := vertexSet(c.Cameo.Mesh)
	return vertexGaps(ctx, m, c.Intaglio, gapReach, false, func(p geom.Vec) bool {
		a, _, z := c.Frame.Cylinder(p)
		k := wrap(int(math.Round(a)))
		return on[p] && z > edge[k]+aboveMargin && (z > angle[k]) == occlusal
	})
}

// Fits returns, at each vertex of the crown's mesh m on the intaglio, the
// signed distance to the preparation, mm; NaN elsewhere.
func (c *Crown) Fits(ctx context.Context, m *mesh.Mesh) ([]float64, error) {
	on := vertexSet(c.Intaglio.Mesh)
	return vertexGaps(ctx, m, c.Prepared, gapReach, true, func(p geom.Vec) bool { return on[p] })
}

// ContactDistances returns, at each vertex of the crown's mesh m on the cameo,
// the signed distance to the tooth at azimuth 0 or 180, or to the opposing
// teeth for another azimuth, as the contact readings take it: mm, NaN
// elsewhere. Nil says that there is no such tooth.
func (c *Crown) ContactDistances(ctx context.Context, m *mesh.Mesh, azimuth int) ([]float64, error) {
	to, keep := c.Opposing, c.aboveMargin
	if azimuth == 0 || azimuth == 180 {
		if !c.Mesial {
			return nil, nil
		}
		to = c.neighbourSurface(azimuth)
		keep = c.toward(azimuth)
	}
	if to == nil {
		return nil, nil
	}
	f, err := c.distances(ctx, to, keep)
	if err != nil {
		return nil, err
	}
	at := make(map[geom.Vec]float64, len(f.p))
	for i, p := range f.p {
		at[p] = f.value[i]
	}
	return valuesAt(m, at), nil
}

// Deviations returns the signed distance of each vertex of a made crown's mesh
// from the design, mm; NaN where it is another surface.
func (c *Crown) Deviations(ctx context.Context, m *mesh.Mesh) ([]float64, error) {
	return vertexGaps(ctx, m, c.Shell, deviationReach, true, func(geom.Vec) bool { return true })
}

func vertexSet(m *mesh.Mesh) map[geom.Vec]bool {
	out := make(map[geom.Vec]bool, len(m.V))
	for _, p := range m.V {
		out[p] = true
	}
	return out
}

// valuesAt gives each vertex the value at its place; NaN where there is none.
func valuesAt(m *mesh.Mesh, at map[geom.Vec]float64) []float64 {
	out := make([]float64, len(m.V))
	for i, p := range m.V {
		out[i] = math.NaN()
		if v, ok := at[p]; ok {
			out[i] = v
		}
	}
	return out
}
