package shape

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// near reports closeness within an absolute tolerance.
func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// TestFrustumArea checks the lathe against the area of a cone frustum with
// top, pi (R1 + R2) sqrt(H^2 + (R1-R2)^2) + pi R2^2 (geometry). Facets of edge
// h lose up to a share h^2 / 8 R^2 of each circle.
func TestFrustumArea(t *testing.T) {
	const r1, r2, h, edge = 5.0, 4.0, 3.0, 0.1
	m := Lathe(Round(Path{{0, h}, {r2, h}, {r1, 0}}), edge, 7)
	want := math.Pi*(r1+r2)*math.Hypot(h, r1-r2) + math.Pi*r2*r2
	if got := m.Area(); !near(got, want, want*edge*edge/8/r2/r2*2) || got > want {
		t.Errorf("area = %.6f, want %.6f", got, want)
	}
}

// TestBall checks volume and closedness: 4/3 pi r^3 less at most the area
// times two sagittas of edge h, 2 h^2 / 8 r.
func TestBall(t *testing.T) {
	m := Ball(geom.Vec{}, 2, 0.1)
	want := 4.0 / 3 * math.Pi * 8
	if got := m.Volume(); got > want || !near(got, want, 4*math.Pi*4*0.1*0.1/4/2) {
		t.Errorf("volume = %.4f, want %.4f", got, want)
	}
	if !mesh.Closed(m, mesh.Adjacent(m)) {
		t.Error("ball is not closed")
	}
}

// TestChangesKeepTheSurface: pose, renumbering and refinement keep area and
// the number of border loops.
func TestChangesKeepTheSurface(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 0))
	p := Prep{Radius: 5, Width: 1, Height: 4, Taper: 6, Rim: 0.3, Root: 10, Deep: 2}
	m := Lathe(Round(p.Path()), 0.3, 2)
	for name, n := range map[string]*mesh.Mesh{
		"pose": m.Move(Pose(rng)), "renumbered": Renumbered(m, rng), "refined": Refined(m), "inverted": Inverted(m)} {
		if got, want := n.Area(), m.Area(); !near(got, want, 1e-9*want) {
			t.Errorf("%s: area = %v, want %v", name, got, want)
		}
		if got := len(mesh.Adjacent(n).BorderLoops()); got != 1 {
			t.Errorf("%s: %d border loops, want 1", name, got)
		}
	}
}

// TestEdge: the line angle of a rim lies on its arc where the tangent is at 45
// degrees, and with no taper at R - rim (1 - 1/sqrt 2) by symmetry.
func TestEdge(t *testing.T) {
	p := Prep{Radius: 5, Height: 4, Rim: 1}
	if e := p.Edge(); !near(e.R, 5-(1-math.Sqrt2/2), 1e-12) || !near(e.Z, 4-(1-math.Sqrt2/2), 1e-12) {
		t.Errorf("edge = %v", e)
	}
}
