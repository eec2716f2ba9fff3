package finishline

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
)

// drawn is an operator's line: n points around the finish line of prep, off it
// by a known amount outward and down, where the surface is near.
func drawn(n int, r, z float64) []geom.Vec {
	var out []geom.Vec
	for k := range n {
		out = append(out, shape.Point{R: r, Z: z}.At(360*float64(k)/float64(n)))
	}
	return out
}

// moveAll moves points.
func moveAll(g geom.Rigid, pts []geom.Vec) []geom.Vec {
	out := make([]geom.Vec, len(pts))
	for i, p := range pts {
		out[i] = g.Apply(p)
	}
	return out
}

// TestFromLine: a line drawn 0.2 mm beside the edge is snapped to the surface,
// at whatever number of points and direction around; chords of a circle of 5
// mm with 60 points lie within 0.007 mm of it.
func TestFromLine(t *testing.T) {
	m := shape.Lathe(shape.Round(prep.Path()), 0.1, 1)
	g := shape.Pose(rand.New(rand.NewPCG(4, 1)))
	s := scanOf(m.Move(g), 0.1)
	line := moveAll(g, drawn(60, 5.2, 0.1))
	back := slices.Clone(line)
	slices.Reverse(back)
	for name, pts := range map[string][]geom.Vec{"in order": line, "reversed": back} {
		f, err := FromLine(context.Background(), s, g.Turn(geom.V(0, 0, 1)), pts)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if off := f.Frame.Origin.Dist(g.Apply(geom.Vec{})); off > 0.02 {
			t.Errorf("%s: origin %.4f mm off", name, off)
		}
		for k := range Sections {
			_, r, z := home.Cylinder(g.Inverse().Apply(f.Line.Point(f.Frame, k)))
			if !within(r, 5, 0.05) || !within(z, 0, 0.05) {
				t.Fatalf("%s: azimuth %d at (%.3f, %.3f), want (5, 0)", name, k, r, z)
			}
			if !f.Line.Legible[k] {
				t.Fatalf("%s: the sharp edge is not legible at %d", name, k)
			}
		}
	}
}

// TestFromLineRefuses: a line that belongs elsewhere, with its point named, or
// that does not run once around.
func TestFromLineRefuses(t *testing.T) {
	s := scanOf(shape.Lathe(shape.Round(prep.Path()), 0.1, 1), 0.1)
	up := geom.V(0, 0, 1)
	lifted := drawn(40, 5, 0)
	lifted[6] = lifted[6].Add(geom.V(0, 0, 30))
	twice := append(drawn(40, 5, 0), drawn(40, 5, 0)...)
	for _, c := range []struct {
		name string
		pts  []geom.Vec
		want string
	}{
		{"point too far", lifted, "point 7"},
		{"other unit", drawn(40, 0.5, 0), "mm from the prepared surface"},
		{"half of it", drawn(40, 5, 0)[:15], "after point 15"},
		{"twice around", twice, "once around"},
	} {
		_, err := FromLine(context.Background(), s, up, c.pts)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want one with %q", c.name, err, c.want)
		}
	}
}

// TestLocateTilted: from an occlusal direction 20 degrees off the axis and the
// line's centre are found, and every point of the line within 0.05 mm (the mean
// error that points may have).
func TestLocateTilted(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for _, p := range []shape.Prep{prep, {Radius: 4, Width: 0.5, Height: 3, Taper: 12, Rim: 0.3, Root: 10, Deep: 2}} {
		g := shape.Pose(rng)
		z := g.Turn(geom.V(0, 0, 1))
		f, err := Locate(context.Background(), scanOf(shape.Lathe(shape.Round(p.Path()), 0.1, 2).Move(g), 0.1), searchFrom(z, 20, rng), nil)
		if err != nil {
			t.Fatal(err)
		}
		if off := math.Acos(f.Frame.Z.Dot(z)) * 180 / math.Pi; off > 0.1 {
			t.Errorf("axis %.3f degrees off", off)
		}
		for k := range Sections {
			_, r, h := home.Cylinder(g.Inverse().Apply(f.Line.Point(f.Frame, k)))
			if math.Hypot(r-p.Radius, h) > 0.05 {
				t.Fatalf("azimuth %d at (%.3f, %.3f), want (%v, 0)", k, r, h, p.Radius)
			}
		}
	}
}

// TestLocateRefuses: what has no finish line below a wall is no preparation.
func TestLocateRefuses(t *testing.T) {
	mound := shape.Path{}.Arc(shape.Point{}, 5, 90, 0, 20)
	mound[0].R = 0
	for name, path := range map[string]shape.Path{
		"level sheet": {{R: 0, Z: 0}, {R: 9, Z: 0}},
		"half ball":   mound,
	} {
		_, err := Locate(context.Background(), scanOf(shape.Lathe(shape.Round(path), 0.15, 1), 0.15), geom.V(0, 0, 1), nil)
		if _, ok := err.(*NotFoundError); !ok {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestTwoPreparations: alike rings are told apart by a point on one.
func TestTwoPreparations(t *testing.T) {
	a := shape.Lathe(shape.Round(prep.Path()), 0.12, 1)
	away := geom.Rigid{R: geom.Identity(), T: geom.V(14, 0, 0)}
	s := scanOf(shape.Joined(a, a.Move(away)), 0.12)
	_, err := Locate(context.Background(), s, geom.V(0, 0, 1), nil)
	if e, ok := err.(*NotFoundError); !ok || !e.Several {
		t.Fatalf("two preparations: %v", err)
	}
	at := geom.V(13, 1, 4)
	f, err := Locate(context.Background(), s, geom.V(0, 0, 1), &at)
	if err != nil || f.Frame.Origin.Dist(away.T) > 0.05 {
		t.Errorf("at the second: %v, %v", f, err)
	}
}
