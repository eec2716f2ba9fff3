package measure

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
)

// TestLowDistances: what is read of a contact from the distances that matter is
// what all of them give (a slow twin): touching lightly, pressed deep, apart,
// under noise and beside a sheet's border.
func TestLowDistances(t *testing.T) {
	ctx := context.Background()
	top := turned(0).Height + turned(0).Cement + turned(0).Top
	c := mustCrown(t, anywhere(41), shape.Lathe(turnedPath, 0.07, 5))
	rng := rand.New(rand.NewPCG(4, 1))
	p := anywhere(41)
	for _, gap := range []float64{-1.2, -0.3, -0.04, 0, 0.2, 1, 2.4} {
		for _, noise := range []float64{0, 0.01} {
			ball := shape.Ball(geom.V(1.2, 0.7, top+3+gap), 3, 0.13)
			cut := shape.Without(ball, func(m geom.Vec) bool { return m.X > 2 || m.Z > top+4 })
			for _, m := range []struct {
				name string
				to   *Surface
			}{{"ball", NewSurface(shape.Noisy(ball, noise, rng).Move(p.move))}, {"cut ball", NewSurface(shape.Noisy(cut, noise, rng).Move(p.move))}} {
				all, err := c.distances(ctx, m.to, c.aboveMargin)
				if err != nil {
					t.Fatal(err)
				}
				low, err := c.lowDistances(ctx, m.to, c.aboveMargin)
				if err != nil {
					t.Fatal(err)
				}
				if n := len(all.samples()); n < 1000 {
					t.Fatalf("only %d distances", n)
				}
				v, at, std, ok := low.dip()
				w, wantAt, wantStd, wantOk := all.dip()
				if v != w || at != wantAt || std != wantStd || ok != wantOk {
					t.Errorf("%s, gap %g, noise %g: %v at %v +- %v, %v, want %v at %v +- %v, %v", m.name, gap, noise, v, at, std, ok, w, wantAt, wantStd, wantOk)
				}
				if got, want := low.touching(c.Cameo.Mesh, 0), all.touching(c.Cameo.Mesh, 0); got != want {
					t.Errorf("%s, gap %g, noise %g: touching %v, want %v", m.name, gap, noise, got, want)
				}
				got, want := contactAreas(c.Cameo.Mesh, low.value, contactGap), contactAreas(c.Cameo.Mesh, all.value, contactGap)
				if !reflect.DeepEqual(got, want) {
					t.Errorf("%s, gap %g, noise %g: contacts %v, want %v", m.name, gap, noise, got, want)
				}
				for i, x := range low.value {
					if !math.IsNaN(x) && x != all.value[i] {
						t.Fatalf("%s: distance %d = %v, want %v", m.name, i, x, all.value[i])
					}
				}
				t.Logf("%s, gap %g, noise %g: %d of %d", m.name, gap, noise, len(low.samples()), len(all.samples()))
			}
		}
	}
}
