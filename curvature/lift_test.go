package curvature

import (
	"math"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// facetOn is one facet with corners and normals of a surface.
func facetOn(at func(x, y float64) (p, n geom.Vec), x, y, h float64) (*mesh.Mesh, []geom.Vec) {
	m := &mesh.Mesh{F: [][3]int32{{0, 1, 2}}}
	var normals []geom.Vec
	for _, d := range [][2]float64{{0, 0}, {h, 0.1 * h}, {0.3 * h, 0.9 * h}} {
		p, n := at(x+d[0], y+d[1])
		m.V, normals = append(m.V, p), append(normals, n)
	}
	return m, normals
}

// Points of a facet of a ball come onto the ball up to the fourth order of its
// size, where the facet itself is off by the second: closed form.
func TestLiftReachesTheBall(t *testing.T) {
	const r = 1.0
	ball := func(x, y float64) (p, n geom.Vec) {
		p = geom.V(x, y, math.Sqrt(r*r-x*x-y*y))
		return p, p.Unit()
	}
	for _, h := range []float64{0.1, 0.2, 0.3} {
		m, normals := facetOn(ball, 0.2, -0.1, h)
		a, b, c := m.Corner(0)
		p := a.Mul(0.3).Add(b.Mul(0.3)).Add(c.Mul(0.4))
		l := NewLift(m, normals, 0)
		rise, n := l.At(p), l.Normal
		before, after := r-p.Norm(), math.Abs(p.Add(n.Mul(rise)).Norm()-r)
		if most := h * h * h * h / 8; after > most {
			t.Errorf("edges of %g: %g off the ball, want at most %g (%g unlifted)", h, after, most, before)
		}
	}
}

// A flat facet that meets a round one along an edge stays flat: at the edge
// the normal leans to the round side, at the corner away from it it does not.
func TestLiftLeavesTheFlatBesideARound(t *testing.T) {
	m := &mesh.Mesh{V: []geom.Vec{{}, {X: 0.2}, {X: 0.1, Y: 0.2}}, F: [][3]int32{{0, 1, 2}}}
	lean := geom.V(0, -math.Sin(0.2), math.Cos(0.2))
	normals := []geom.Vec{lean, lean, {Z: 1}}
	l := NewLift(m, normals, 0)
	if rise := l.At(geom.V(0.1, 0.07, 0)); rise != 0 {
		t.Errorf("lift of a flat facet beside a round one = %g, want 0", rise)
	}
}

// A facet with a corner on an edge of the body is not lifted.
func TestLiftLeavesEdges(t *testing.T) {
	m := &mesh.Mesh{V: []geom.Vec{{}, {X: 0.2}, {X: 0.1, Y: 0.2}}, F: [][3]int32{{0, 1, 2}}}
	edge := geom.V(0, -1, 1).Unit()
	inner := geom.V(0, 0.3, 1).Unit()
	l := NewLift(m, []geom.Vec{edge, edge, inner}, 0)
	if rise := l.At(geom.V(0.1, 0.07, 0)); rise != 0 {
		t.Errorf("lift at an edge of 45 degrees = %g, want 0", rise)
	}
}
