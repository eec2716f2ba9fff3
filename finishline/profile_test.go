package finishline

import (
	"math"
	"testing"

	"crownassay/align"
	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
)

// home is the frame of bodies left where they were made.
var home = align.NewFrame(geom.Vec{}, geom.V(0, 0, 1), geom.V(1, 0, 0), 1)

// prep is a preparation with a level ledge and sharp rim.
var prep = shape.Prep{Radius: 5, Width: 1, Height: 4, Taper: 6, Root: 10, Deep: 2}

func pieceOf(p ...point) piece { return p }

// joined is the profile of pieces within 10 mm.
func joined(p []piece, azimuth float64) Profile {
	return (&slicer{reach: 10}).join(&sampler{}, p, azimuth)
}

// TestJoin chains pieces in any order from the axis outward and bridges gaps
// up to 3 mm in a straight line, marked.
func TestJoin(t *testing.T) {
	top, wall := pieceOf(point{0, 4}, point{3, 4}), pieceOf(point{3, 4}, point{4, 0})
	far, near := pieceOf(point{8, 0}, point{9, 0}), pieceOf(point{5.5, 0}, point{7, 0})
	p := joined([]piece{far, wall, near, top}, 12)
	length, gap := 0.0, 0.0
	for i := 1; i < p.Len(); i++ {
		d := point{p.R[i], p.Z[i]}.dist(point{p.R[i-1], p.Z[i-1]})
		length += d
		if p.Gap[i] {
			gap += d
		}
		if d > Step+1e-9 {
			t.Fatalf("samples %d apart by %v", i, d)
		}
	}
	want := 3 + math.Hypot(1, 4) + 1.5 + 1.5 + 1 + 1
	if p.Azimuth != 12 || !within(length, want, 2*Step) || !within(gap, 2.5, 2*Step) {
		t.Errorf("length = %.3f, want %.3f; gap = %.3f, want 2.5", length, want, gap)
	}
	if last := p.Len() - 1; !within(p.R[last], 9, Step) {
		t.Errorf("ends at %v, want 9", p.R[last])
	}
}

// TestJoinEnds: beyond 3 mm a profile ends, and none begins that far away.
func TestJoinEnds(t *testing.T) {
	p := joined([]piece{pieceOf(point{0, 4}, point{3, 4}), pieceOf(point{6.1, 4}, point{8, 4})}, 0)
	if r := p.R[p.Len()-1]; !within(r, 3, Step) {
		t.Errorf("profile goes on to %v over a gap of 3.1 mm", r)
	}
	if p := joined([]piece{pieceOf(point{3.1, 4}, point{8, 4})}, 0); p.Len() != 0 {
		t.Errorf("a profile of %d samples without a beginning", p.Len())
	}
}

// TestClip cuts pieces at the axis and at the reach.
func TestClip(t *testing.T) {
	got := (&slicer{reach: 10}).clip(nil, pieceOf(point{-2, 0}, point{2, 4}, point{12, 4}, point{8, 0}))
	want := []piece{{{0, 2}, {2, 4}, {10, 4}}, {{10, 2}, {8, 0}}}
	if len(got) != len(want) {
		t.Fatalf("%d pieces, want %d: %v", len(got), len(want), got)
	}
	for i := range want {
		for j := range want[i] {
			if len(got[i]) != len(want[i]) || got[i][j].dist(want[i][j]) > 1e-12 {
				t.Errorf("piece %d = %v, want %v", i, got[i], want[i])
				break
			}
		}
	}
}

// TestCutBoth: opposite profiles of a turned body run from the axis over the
// top and down, at the radii and heights of the half section, on either hand.
func TestCutBoth(t *testing.T) {
	tree := bvh.New(shape.Lathe(shape.Round(prep.Path()), 0.1, 1))
	for _, hand := range []float64{1, -1} {
		f := align.NewFrame(geom.Vec{}, geom.V(0, 0, 1), geom.V(1, 0, 0), hand)
		a, b := (&slicer{scan: Scan{Tree: tree}, frame: f, reach: Reach}).cutBoth(33)
		if b.Azimuth != 213 {
			t.Errorf("opposite of 33 is %v", b.Azimuth)
		}
		for _, p := range []Profile{a, b} {
			if !within(p.R[0], 0, 1e-9) || !within(p.Z[0], 4, 1e-9) || p.Z[p.Len()-1] > -1.9 {
				t.Fatalf("hand %v: profile runs from (%v, %v) to height %v", hand, p.R[0], p.Z[0], p.Z[p.Len()-1])
			}
			for i := range p.R {
				if d := distance(prep.Path(), p.R[i], p.Z[i]); d > 0.001 {
					t.Fatalf("hand %v: sample %d lies %.4f mm off the half section", hand, i, d)
				}
			}
		}
	}
}

// distance is how far (r, z) lies from a path.
func distance(path shape.Path, r, z float64) float64 {
	best := math.Inf(1)
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		q, _ := geom.ClosestOnTriangle(geom.V(r, z, 0), geom.V(a.R, a.Z, 0), geom.V(b.R, b.Z, 0), geom.V(b.R, b.Z, 0))
		best = math.Min(best, q.Dist(geom.V(r, z, 0)))
	}
	return best
}

// corner is a profile of two straight lines that turn by the given degrees at
// sample 80.
func corner(turn float64) Profile {
	s, c := math.Sincos(-turn * math.Pi / 180)
	return joined([]piece{pieceOf(point{0, 0}, point{2, 0}, point{2 + 2*c, 2 * s})}, 0)
}

// TestTurn: the turn of straight lines is their angle, convex positive, for
// any window; an inclination is read in degrees from straight down.
func TestTurn(t *testing.T) {
	for _, turn := range []float64{-60, 0, 20, 45, 90, 120} {
		p := corner(turn)
		for _, half := range []int{4, 8, 16} {
			if got := p.TurnAt(80, half); !within(got, turn, 0.01) {
				t.Errorf("TurnAt(80, %d) = %.4f, want %v", half, got, turn)
			}
		}
		if got := p.Steep(120, 4); !within(got, 90-turn, 1e-6) {
			t.Errorf("turned by %v: Steep = %v, want %v", turn, got, 90-turn)
		}
	}
	if p := corner(90); p.TurnAt(3, 8) != 0 {
		t.Error("a turn at the profile's end")
	}
}

// TestBend: a circle of radius r bends by 1/r.
func TestBend(t *testing.T) {
	for _, r := range []float64{0.3, 1, 3} {
		var arc piece
		for _, q := range (shape.Path{}).Arc(shape.Point{}, r, 90, 0, 400) {
			arc = append(arc, point{q.R, q.Z})
		}
		p := joined([]piece{arc}, 0)
		if got, _ := p.Bend(p.Len()/2, 4); !within(got*r, 1, 0.02) {
			t.Errorf("radius %v: bend = %.4f, want %.4f", r, got, 1/r)
		}
	}
}

// TestTurnWindow: 0.2 mm by definition, 1.3 facets where they are coarse.
func TestTurnWindow(t *testing.T) {
	for _, c := range []struct {
		spacing float64
		far     int
	}{{0.05, 8}, {0.15, 8}, {0.4, 21}} {
		if got := turnWindow(c.spacing).far; got != c.far {
			t.Errorf("turnWindow(%v) looks %d samples away, want %d", c.spacing, got, c.far)
		}
	}
}

// scanOf makes of a mesh what tracing needs.
func scanOf(m *mesh.Mesh, spacing float64) Scan { return Scan{Tree: bvh.New(m), Spacing: spacing} }
