package curvature

import (
	"math"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// Around a vertex of a ball, with neighbours at unlike distances and angles,
// the normal is the radius: closed form.
func TestSphereNormalsOnABall(t *testing.T) {
	const r = 0.5
	on := func(x, y float64) geom.Vec { return geom.V(x, y, math.Sqrt(r*r-x*x-y*y)) }
	m := &mesh.Mesh{V: []geom.Vec{on(0, 0)}}
	for _, a := range [][2]float64{{0, 0.05}, {50, 0.22}, {110, 0.1}, {190, 0.25}, {230, 0.06}, {300, 0.18}} {
		sn, cs := math.Sincos(a[0] * math.Pi / 180)
		m.V = append(m.V, on(a[1]*cs, a[1]*sn))
	}
	for k := range 6 {
		m.F = append(m.F, [3]int32{0, int32(1 + k), int32(1 + (k+1)%6)})
	}
	n := SphereNormals(m)[0]
	if off := math.Acos(math.Min(1, n.Z)) * 180 / math.Pi; off > 1e-5 {
		t.Errorf("normal off the radius by %g degrees, want 0", off)
	}
	byAngle := math.Acos(Normals(m)[0].Z) * 180 / math.Pi
	if byAngle < 0.5 {
		t.Errorf("normal by angles off by %g degrees: the example shows nothing", byAngle)
	}
}
