package measure

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// hilly is a square sheet of 20 mm whose height is a sum of waves, with noise.
func hilly(n int, noise float64, r *rand.Rand) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n + 1 {
		for j := range n + 1 {
			x, y := 20*float64(i)/float64(n)-10, 20*float64(j)/float64(n)-10
			m.V = append(m.V, geom.V(x, y, 0.8*math.Sin(x)*math.Cos(0.7*y)+noise*r.NormFloat64()))
		}
	}
	for i := range n {
		for j := range n {
			a := int32(i*(n+1) + j)
			b := a + int32(n) + 1
			m.F = append(m.F, [3]int32{a, b, b + 1}, [3]int32{a, b + 1, a + 1})
		}
	}
	return m
}

// TestPlainGaps: what is read of gaps that are looked for only as far as they
// may matter is what all of them in full give (a slow twin), over near and far
// surfaces, fine and coarse, beyond their border and out of reach.
func TestPlainGaps(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 11))
	for _, c := range []struct {
		cells        int
		noise, above float64
		rim          bool
	}{{120, 0, 1.5, true}, {120, 0.01, 0.3, false}, {25, 0, 1, true}, {12, 0.02, 3, false}, {40, 0, 8.5, true}} {
		name := fmt.Sprintf("%+v", c)
		to := NewSurface(hilly(c.cells, c.noise, r))
		var spots []spot
		for range 4000 {
			p := geom.V(24*r.Float64()-12, 24*r.Float64()-12, 0)
			p.Z = c.above + 0.4*math.Sin(1.3*p.X)
			s := spot{point: p, area: 0.002 + 0.01*r.Float64(), azimuth: wrap(int(math.Atan2(p.Y, p.X) * 180 / math.Pi))}
			if c.rim {
				s.zone.rim = 0.1 * r.Float64()
			}
			spots = append(spots, s)
		}
		slices.SortFunc(spots, func(a, b spot) int { return a.azimuth - b.azimuth }) // near ones follow one another
		got, err := plainGaps(context.Background(), to, spots)
		if err != nil {
			t.Fatal(err)
		}
		want := gapsInFull(to, spots)
		if len(got) != len(want) || area(got) != area(want) {
			t.Fatalf("%s: %d gaps over %v mm^2, want %d over %v", name, len(got), area(got), len(want), area(want))
		}
		g, okG := robustMin(got)
		w, okW := robustMin(want)
		if g != w || okG != okW {
			t.Errorf("%s: robust minimum %+v, %v, want %+v, %v", name, g, okG, w, okW)
		}
		rim := func(i int) float64 { return spots[i].zone.rim }
		if g, w := border(got, g.value, rim), border(want, w.value, rim); g != w {
			t.Errorf("%s: border %v, want %v", name, g, w)
		}
		s := &Site{}
		if g, w := s.lowestPerDegree(got, spots), s.lowestPerDegree(want, spots); !slices.Equal(g, w) {
			t.Errorf("%s: lowest per degree %v, want %v", name, g, w)
		}
		exact := 0
		for i := range got {
			switch {
			case got[i] == want[i]:
				exact++
			case got[i].i != want[i].i || !(got[i].value < want[i].value):
				t.Fatalf("%s: gap %+v is no lower bound of %+v", name, got[i], want[i])
			}
		}
		t.Logf("%s: %d of %d in full", name, exact, len(got))
	}
}

// gapsInFull looks for every gap as far as it may be.
func gapsInFull(to *Surface, spots []spot) []sample {
	var out []sample
	for i, s := range spots {
		if h, ok := to.Tree.Closest(s.point, gapReach); ok {
			out = append(out, sample{to.foot(s.point, h).Dist(s.point), s.area, i})
		}
	}
	return out
}
