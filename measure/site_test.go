package measure

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/align"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
	"crownassay/reading"
)

// posed is a body about the z axis put anywhere, with where it went.
type posed struct {
	move  geom.Rigid
	hand  float64
	exact bool // take the frame as known in place of looking for it
}

// frame is where the exact frame went: axis z through the origin, azimuth 0
// along x.
func (p posed) frame() align.Frame {
	return align.NewFrame(p.move.Apply(geom.Vec{}), p.move.Turn(geom.V(0, 0, 1)), p.move.Turn(geom.V(1, 0, 0)), p.hand)
}

// anywhere is a random pose of the seed; odd seeds are left-handed.
func anywhere(seed uint64) posed {
	return posed{move: shape.Pose(rand.New(rand.NewPCG(seed, 9))), hand: 1 - 2*float64(seed%2)}
}

// near reports closeness within an absolute tolerance.
func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// locate finds the preparation of a surface already in its pose and makes a
// site of it. With exact set the frame is given, else it is looked for.
func (p posed) locate(t testing.TB, m *mesh.Mesh) *Site {
	t.Helper()
	ctx := context.Background()
	s := NewSurface(m)
	scan := finishline.Scan{Tree: s.Tree, Spacing: MedianEdge(m), Borders: s.BorderPoints()}
	want := p.frame()
	found := &finishline.Found{Frame: want}
	var err error
	if !p.exact {
		if found, err = finishline.Locate(ctx, scan, want.Z, nil); err != nil {
			t.Fatalf("locate: %v", err)
		}
	}
	if found, err = finishline.Along(ctx, scan, found, want.X, p.hand); err != nil {
		t.Fatalf("cut about the frame: %v", err)
	}
	site := Site{Prepared: s, Found: found, Mesial: true, Posterior: true, CementSpace: 0.08, LeastThickness: 1, Noise: Noise(s, found)}
	site.Spacing, _ = Spacing(m, found)
	return NewSite(site)
}

// site puts a body in its pose and locates it.
func (p posed) site(t testing.TB, m *mesh.Mesh) *Site {
	t.Helper()
	return p.locate(t, m.Move(p.move))
}

// take returns the reading of an id.
func take(t testing.TB, rs []reading.Reading, id reading.ID) reading.Reading {
	t.Helper()
	for _, r := range rs {
		if r.ID == id {
			if !r.Measured() {
				t.Fatalf("%s is unmeasured: %s", id, r.Reason)
			}
			return r
		}
	}
	t.Fatalf("no reading %s", id)
	return reading.Reading{}
}

// all makes every reading.
func all(t testing.TB, s *Site) []reading.Reading {
	t.Helper()
	rs, err := s.Preparation(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return rs
}

// A needle that is missing leaves a slit, which is no hole; a missing facet is
// one. Widths by hand: a needle of 0.2 x 2e-6 mm, a facet of legs 0.1 mm.
func TestSlitIsNoHole(t *testing.T) {
	m := &mesh.Mesh{V: []geom.Vec{{}, {X: 0.2}, {X: 0.1, Y: 2e-6}, {X: 0.1}, {Y: 0.1}}}
	if got := holes(m, [][]int32{{0, 1, 2}, {0, 3, 4}}); len(got) != 1 || got[0][1] != 3 {
		t.Errorf("holes = %v, want the loop 0 3 4 alone", got)
	}
}
