package foreign

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// wholeArch is a row of natural teeth in gingiva.
func wholeArch(neck, exponent, free float64) Field {
	var fs []Field
	half := geom.V(4.4, 4.8, 3.4)
	b := Beside{Curve: 26, Base: 0.6}
	for i := -2; i <= 2; i++ {
		fs = append(fs, Placed(Whole(half, neck, exponent), b.place(9*float64(i))))
	}
	teeth := Union(fs...)
	return Blend(teeth, b.Gingiva(9), free)
}

// seeded is the same source for each case, whichever of them are run.
func seeded() *rand.Rand { return rand.New(rand.NewPCG(3, 3)) }

// TestRefused: surfaces that are no preparation give no numbers.
func TestRefused(t *testing.T) {
	arch := func(f Field) func() *mesh.Mesh {
		return func() *mesh.Mesh {
			return seen(March(f, box(-26, 26, -22, 8, -2, 9), 0.22), geom.V(0, 0, 1))
		}
	}
	around := box(-9, 9, -9, 9, -9, 12)
	inside := with(func(p *Prep) { p.A, p.B, p.Deep = 4.7, 4.3, 0.01 })
	outer := Superellipsoid(geom.V(0, 0, 2), geom.V(5.6, 5.4, 4), 3)
	crown := Less(Less(outer, inside.Field(4)), Below(geom.V(0, 0, 0), geom.V(0, 0, 1)))
	march := func(f Field, b geom.Box, step float64) func() *mesh.Mesh {
		return func() *mesh.Mesh { return March(f, b, step) }
	}
	vase := func(q geom.Vec) float64 {
		return math.Max(math.Hypot(q.X, q.Y)-3.5-1.2*math.Sin(q.Z*0.6), math.Abs(q.Z)-8)
	}
	for i, c := range []struct {
		name string
		make func() *mesh.Mesh
	}{
		{"arch, bulging teeth", arch(wholeArch(0.8, 3, 0.6))},
		{"arch, round teeth", arch(wholeArch(0.85, 2, 0.4))},
		{"arch, boxy teeth", arch(wholeArch(0.9, 6, 0.3))},
		{"arch, free gingiva", arch(wholeArch(0.8, 3, 0.05))},
		{"arch, straight teeth", arch(wholeArch(0.97, 4, 0.05))},
		{"crown", march(crown, around, 0.15)},
		{"crown inside out", func() *mesh.Mesh { return Flipped(March(crown, around, 0.15), 2, seeded()) }},
		{"outer shell of a crown", func() *mesh.Mesh { return seen(March(outer, box(-9, 9, -9, 9, 0, 9), 0.15), geom.V(0, 0, 1)) }},
		{"solid tooth", march(Superellipsoid(geom.V(0, 0, 0), geom.V(5, 4.5, 4), 3), around, 0.2)},
		{"sphere", march(Ball(geom.V(0, 0, 0), 5), around, 0.2)},
		{"half a sphere", march(Ball(geom.V(0, 0, 0), 5), box(-9, 9, -9, 9, 0, 9), 0.2)},
		{"cube", march(RoundedBox(geom.V(0, 0, 0), geom.V(5, 5, 5), 0), around, 0.2)},
		{"cube without base", march(RoundedBox(geom.V(0, 0, 0), geom.V(5, 5, 5), 0), box(-9, 9, -9, 9, -4, 9), 0.2)},
		{"rounded cube", march(RoundedBox(geom.V(0, 0, 0), geom.V(5, 5, 5), 1), around, 0.2)},
		{"plate", func() *mesh.Mesh { return plate(0, 12, 60) }},
		{"block on a plate", march(Union(Below(geom.V(0, 0, 0), geom.V(0, 0, 1)), RoundedBox(geom.V(0, 0, 0), geom.V(4, 4, 5), 0.3)), box(-12, 12, -12, 12, -2, 9), 0.2)},
		{"vase", march(vase, around, 0.2)},
		{"torus", march(Torus(geom.V(0, 0, 0), 5, 2), around, 0.2)},
		{"soup", func() *mesh.Mesh { return Soup(3000, 20, seeded()) }},
		{"cylinder", march(Meet(Tube(0, 0, 4), Below(geom.V(0, 0, 4), geom.V(0, 0, 1)), Below(geom.V(0, 0, -4), geom.V(0, 0, -1))), around, 0.2)},
		{"cone", march(func(q geom.Vec) float64 { return math.Max(math.Hypot(q.X, q.Y)+q.Z*0.3-4, math.Abs(q.Z)-4) }, around, 0.2)},
		{"frustum on a plate", march(Union(Below(geom.V(0, 0, 0), geom.V(0, 0, 1)), func(q geom.Vec) float64 { return math.Max(math.Hypot(q.X, q.Y)+q.Z*0.1-4, q.Z-4) }), box(-12, 12, -12, 12, -2, 9), 0.2)},
	} {
		if !swept(i, 7) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			m := c.make()
			r, back, took, err := run(t, given{prepared: m, mesial: true}, uint64(i))
			if err == nil {
				t.Errorf("%d facets, %v: measured, exit %d; finish line begins at %v", len(m.F), took, r.ExitStatus(), back.Apply(r.FinishLine[0]))
				for _, q := range r.Readings {
					if q.Measured() {
						t.Logf("%s %.3f", q.ID, q.Value)
					}
				}
				return
			}
			t.Logf("%d facets, %v: %v", len(m.F), took, err)
			if !strings.Contains(err.Error(), "prepared.stl") {
				t.Errorf("the message does not name the file: %v", err)
			}
		})
	}
}
