package curvature

import (
	"context"
	"math"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// torus is a closed torus of radii R (ring) and r (tube), n x n quads.
func torus(R, r float64, n int) *mesh.Mesh {
	m := &mesh.Mesh{}
	at := func(i, j int) int32 { return int32((i%n)*n + j%n) }
	for i := range n {
		for j := range n {
			u, v := 2*math.Pi*float64(i)/float64(n), 2*math.Pi*float64(j)/float64(n)
			w := R + r*math.Cos(v)
			m.V = append(m.V, geom.V(w*math.Cos(u), w*math.Sin(u), r*math.Sin(v)))
			m.F = append(m.F, [3]int32{at(i, j), at(i+1, j), at(i+1, j+1)}, [3]int32{at(i, j), at(i+1, j+1), at(i, j+1)})
		}
	}
	return m
}

// On a torus the principal curvatures are 1/r and cos v / (R + r cos v)
// (closed form), positive where convex; the normal points off the tube.
func TestTorus(t *testing.T) {
	const R, r, n = 5.0, 2.0, 200
	m := torus(R, r, n)
	cs, err := Principal(context.Background(), m, 0.35)
	if err != nil {
		t.Fatal(err)
	}
	for k, c := range cs {
		v := 2 * math.Pi * float64(k%n) / n
		ring := math.Cos(v) / (R + r*math.Cos(v))
		if !c.OK || math.Abs(c.K1-1/r) > 0.01 || math.Abs(c.K2-ring) > 0.01 {
			t.Fatalf("vertex %d: k1 %.4f, k2 %.4f, want %.4f, %.4f", k, c.K1, c.K2, 1/r, ring)
		}
	}
}

// Vertex normals of the torus point off the tube.
func TestNormals(t *testing.T) {
	const R, r, n = 5.0, 2.0, 120
	m := torus(R, r, n)
	for k, got := range Normals(m) {
		u, v := 2*math.Pi*float64(k/n)/n, 2*math.Pi*float64(k%n)/n
		want := geom.V(math.Cos(v)*math.Cos(u), math.Cos(v)*math.Sin(u), math.Sin(v))
		if got.Dist(want) > 0.005 {
			t.Fatalf("vertex %d: normal %v, want %v", k, got, want)
		}
	}
}

// A quadric is fitted without residual to points of one, and its principal
// curvatures at the vertex are the coefficients doubled.
func TestQuadricIsExact(t *testing.T) {
	var pts []geom.Vec
	for i := -3; i <= 3; i++ {
		for j := -3; j <= 3; j++ {
			x, y := 0.1*float64(i), 0.1*float64(j)
			pts = append(pts, geom.V(x, y, -0.4*x*x+0.15*y*y))
		}
	}
	f, ok := Quadric(pts, geom.V(0, 0, 0), geom.V(0, 0, 1))
	if !ok || f.RMS > 1e-12 || math.Abs(f.K1-0.8) > 1e-9 || math.Abs(f.K2+0.3) > 1e-9 {
		t.Errorf("fit %+v, ok %v, want k1 0.8, k2 -0.3, no residual", f, ok)
	}
	if _, ok := Quadric(pts[:5], geom.V(0, 0, 0), geom.V(0, 0, 1)); ok {
		t.Error("five points determined a quadric of six coefficients")
	}
}
