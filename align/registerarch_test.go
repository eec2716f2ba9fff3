package align_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/align"
	"crownassay/geom"
	"crownassay/internal/phantom"
	"crownassay/internal/shape"
	"crownassay/mesh"
)

func invented(t *testing.T, s phantom.Spec) *mesh.Mesh {
	t.Helper()
	c, err := phantom.Build(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	return c.Prepared
}

// cutOff takes a share of a surface off its end in a random direction.
func cutOff(m *mesh.Mesh, share float64, rng *rand.Rand) *mesh.Mesh {
	d := geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Unit()
	b, whole := m.Box(), m.Area()
	lo, hi := -b.Diagonal(), b.Diagonal()
	var out *mesh.Mesh
	for range 12 {
		mid := (lo + hi) / 2
		out = shape.Without(m, func(p geom.Vec) bool { return p.Sub(b.Center()).Dot(d) > mid })
		if out.Area() > (1-share)*whole {
			hi = mid
		} else {
			lo = mid
		}
	}
	return out
}

// missedBy returns the largest distance between the vertices of m under two
// motions, mm, and the angle between the motions, degrees.
func missedBy(got, want geom.Rigid, m *mesh.Mesh) (d, deg float64) {
	for _, v := range m.V {
		d = math.Max(d, got.Apply(v).Dist(want.Apply(v)))
	}
	r := got.R.Times(want.R.Transpose())
	w := geom.V(r[2][1]-r[1][2], r[0][2]-r[2][0], r[1][0]-r[0][1]).Mul(0.5)
	return d, math.Atan2(w.Norm(), (r[0][0]+r[1][1]+r[2][2]-1)/2) * 180 / math.Pi
}

// Two scans of one invented arch, with other facets, 10 um of noise each and
// 15 % of one missing, in any pose: within 10 um everywhere and 0.05 degrees.
func TestRegisterArches(t *testing.T) {
	n := uint64(3)
	if testing.Short() {
		n = 1
	}
	for seed := uint64(1); seed <= n; seed++ {
		rng := rand.New(rand.NewPCG(seed, 12))
		s := phantom.RandomSpec(seed)
		s.RandomPose, s.Triangles, s.Noise = false, 60000, 0.010
		fixed := invented(t, s)
		s.Triangles = 45000
		g := shape.Pose(rng)
		moving := cutOff(invented(t, s), 0.15, rng).Move(g)
		got, err := align.Register(context.Background(), moving, fixed, align.Options{})
		d, deg := missedBy(got.Motion, g.Inverse(), moving)
		if err != nil || d > 0.010 || deg > 0.05 {
			t.Errorf("tooth %s, seed %d: %.4f mm, %.4f degrees off, %v", s.Tooth, seed, d, deg, err)
		}
	}
}

// The crown of another tooth is refused on a crown, and any crown on an arch in
// which its tooth is prepared; the same crown with other facets is not.
func TestRegisterCrowns(t *testing.T) {
	if testing.Short() {
		t.Skip("invents and compares many crowns")
	}
	rng := rand.New(rand.NewPCG(3, 12))
	teeth := []string{"46", "45", "24"}
	shells, arches := map[string]*mesh.Mesh{}, map[string]*mesh.Mesh{}
	for i, tooth := range teeth {
		s := phantom.Spec{Tooth: tooth, Seed: uint64(i), Triangles: 20000, Noise: 0.01}
		arches[tooth] = invented(t, s)
		s.Defects = []phantom.Defect{{Kind: phantom.ClosedShell}}
		shells[tooth] = invented(t, s)
	}
	for i, a := range teeth {
		for _, b := range teeth {
			if a != b {
				refuse(t, fmt.Sprintf("crown %s on crown %s", a, b), shells[a].Move(shape.Pose(rng)), shells[b])
			}
		}
		refuse(t, fmt.Sprintf("crown %s on its arch", a), shells[a].Move(shape.Pose(rng)), arches[a])
		again := invented(t, phantom.Spec{Tooth: a, Seed: uint64(i), Triangles: 15000, Noise: 0.01, Defects: []phantom.Defect{{Kind: phantom.ClosedShell}}})
		g := shape.Pose(rng)
		got, err := align.Register(context.Background(), again.Move(g), shells[a], align.Options{})
		if d, deg := missedBy(got.Motion, g.Inverse(), again.Move(g)); err != nil || d > 0.010 || deg > 0.05 {
			t.Errorf("crown %s on itself: %.4f mm, %.4f degrees off, %v", a, d, deg, err)
		}
	}
}

func refuse(t *testing.T, name string, moving, fixed *mesh.Mesh) {
	t.Helper()
	got, err := align.Register(context.Background(), moving, fixed, align.Options{})
	var refused *align.RefusedError
	if !errors.As(err, &refused) {
		t.Errorf("%s: %v, %v, rms %.3f, overlap %.2f, firm %.2f; want it refused", name, got.Stop, err, got.RMS, got.Overlap, got.Firm)
	}
}

// A crown finds its tooth among others on an arch in which the tooth is whole,
// although its inside, two fifths of it, is nowhere to be seen. An invented
// central incisor has the shape of the one beside it: that is said.
func TestRegisterCrownOnWholeArch(t *testing.T) {
	if testing.Short() {
		t.Skip("invents crowns and arches")
	}
	rng := rand.New(rand.NewPCG(4, 12))
	for i, tooth := range []string{"24", "46", "11"} {
		s := phantom.Spec{Tooth: tooth, Seed: uint64(5 + i), Triangles: 30000, Noise: 0.01}
		s.Defects = []phantom.Defect{{Kind: phantom.NoPreparation}}
		arch := invented(t, s)
		s.Triangles, s.Defects[0].Kind = 20000, phantom.ClosedShell
		crown := invented(t, s)
		for range 3 {
			g := shape.Pose(rng)
			got, err := align.Register(context.Background(), crown.Move(g), arch, align.Options{})
			if tooth == "11" {
				if got.Stop != align.Ambiguous || err == nil {
					t.Errorf("crown %s: %v, want it ambiguous", tooth, got.Stop)
				}
				continue
			}
			if d, deg := missedBy(got.Motion, g.Inverse(), crown.Move(g)); err != nil || d > 0.010 || deg > 0.05 {
				t.Errorf("crown %s: %.4f mm, %.4f degrees off, %v", tooth, d, deg, err)
			}
		}
	}
}
