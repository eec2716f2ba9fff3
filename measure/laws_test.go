package measure

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"crownassay/internal/par"
	"crownassay/internal/shape"
	"crownassay/mesh"
	"crownassay/reading"
	"crownassay/unit"
)

// odd is a preparation that no symmetry helps: oval, its walls and
// ledge different at every azimuth.
func odd(edge float64) *mesh.Mesh {
	path := func(az float64) shape.Path {
		s, c := math.Sincos(az * math.Pi / 180)
		return shape.Prep{Radius: 4.5 + 0.4*c*c + 0.2*s, Width: 0.9 + 0.15*s, Height: 4.2,
			Taper: 7 + 2*c + 1.5*s*s, Rim: 0.35, Root: 10, Deep: 2}.Path()
	}
	return shape.Lathe(path, edge, 5)
}

// oddSite looks for odd's preparation from scratch in a pose and measures it
// under a plate.
func oddSite(t testing.TB, p posed, change func(*mesh.Mesh) *mesh.Mesh) []reading.Reading {
	s := p.locate(t, change(odd(0.12).Move(p.move)))
	s.Opposing = NewSurface(change(shape.Inverted(shape.Plate(5.4, 7, 0.4)).Move(p.move)))
	return all(t, s)
}

func same(m *mesh.Mesh) *mesh.Mesh { return m }

// slack is how far a reading may move under a change that leaves the shape as
// it is: a fifth of what it may be off, 0.05 mm for lengths and 0.5 degrees,
// and 0.5 % of areas. The axis search stops at 0.01 degrees and the frame at
// 0.08 (finishline.settled), which is where these come from.
func slack(r reading.Reading) float64 {
	for _, m := range reading.Measurands {
		if m.ID != r.ID {
			continue
		}
		switch m.Unit {
		case unit.Millimetre:
			return 0.01
		case unit.Degree:
			return 0.1
		case unit.Percent:
			return 1
		case unit.One:
			return 0.002
		}
	}
	return 0.005 * r.Value
}

func compare(t *testing.T, name string, got, want []reading.Reading, times float64) {
	t.Helper()
	for i, r := range want {
		g := got[i]
		if g.ID != r.ID || g.Measured() != r.Measured() || !near(g.Value, r.Value, times*slack(r)) {
			t.Errorf("%s: %s = %v (%s), want %v within %v", name, g.ID, g.Value, g.Reason, r.Value, times*slack(r))
		}
	}
}

// TestLaws: a rigid motion and another numbering change nothing that counts;
// facets cut into four keep the surface, so only what looks at the spacing may
// move, and it by twice as much.
func TestLaws(t *testing.T) {
	home := posed{move: anywhere(20).move, hand: 1}
	want := oddSite(t, home, same)
	rng := rand.New(rand.NewPCG(1, 2))
	for seed := range uint64(3) {
		compare(t, "moved", oddSite(t, posed{move: anywhere(30 + seed).move, hand: 1}, same), want, 1)
	}
	compare(t, "renumbered", oddSite(t, home, func(m *mesh.Mesh) *mesh.Mesh { return shape.Renumbered(m, rng) }), want, 1)
	refined := oddSite(t, home, shape.Refined)
	for i := range refined {
		if id := refined[i].ID; id == "scan.spacing" {
			if !near(refined[i].Value, want[i].Value/2, 0.1*want[i].Value) {
				t.Errorf("refined: spacing = %v, want half of %v", refined[i].Value, want[i].Value)
			}
			refined[i].Value = want[i].Value
		}
	}
	compare(t, "refined", refined, want, 2)
}

// TestWorkers: one worker or many, the same readings to the bit.
func TestWorkers(t *testing.T) {
	defer func() { par.Workers = 0 }()
	par.Workers = 1
	want := oddSite(t, posed{move: anywhere(20).move, hand: 1}, same)
	for _, n := range []int{2, 7} {
		par.Workers = n
		if got := oddSite(t, posed{move: anywhere(20).move, hand: 1}, same); !reflect.DeepEqual(got, want) {
			t.Errorf("%d workers give other readings than one", n)
		}
	}
}
