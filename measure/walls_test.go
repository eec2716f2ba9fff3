package measure

import (
	"math"
	"testing"

	"crownassay/internal/shape"
	"crownassay/reading"
)

// TestRoundPreparation measures preparations turned from a half section whose
// readings are closed forms: convergence 2T, window T, the ledge's width, the
// height of the point at 45 degrees on the rim, H/B, and the circumference.
// Tolerances for angles, widths and heights are a tenth of what the readings
// may be off on invented cases (0.5 degrees, 0.05 mm), since these surfaces
// are exact; the height has half of it for the rim's chords.
func TestRoundPreparation(t *testing.T) {
	for seed, p := range []shape.Prep{
		{Radius: 5, Width: 1, Height: 4, Taper: 6, Rim: 0.3, Root: 10, Deep: 2},
		{Radius: 4, Width: 0.5, Height: 3, Taper: 15, Rim: 0.5, Root: 5, Deep: 2},
		{Radius: 3, Width: 0.8, Height: 6, Taper: 2, Rim: 0.2, Root: 20, Deep: 2},
		{Radius: 5.5, Width: 1.2, Height: 2.5, Taper: 25, Rim: 0.4, Root: 0, Deep: 2},
	} {
		rs := all(t, anywhere(uint64(seed)).site(t, shape.Lathe(shape.Round(p.Path()), 0.1, uint64(seed))))
		for _, c := range []struct {
			id        reading.ID
			want, tol float64
		}{
			{"preparation.convergence.mesiodistal", 2 * p.Taper, 0.05},
			{"preparation.convergence.buccolingual", 2 * p.Taper, 0.05},
			{"preparation.convergence.mean", 2 * p.Taper, 0.05},
			{"preparation.placement.window", p.Taper, 0.1},
			{"preparation.height.min", p.Edge().Z, 0.025},
			{"preparation.height_to_base", p.Edge().Z / (2 * p.Radius), 0.025 / (2 * p.Radius)},
			{"preparation.undercut.depth", 0, 0},
			{"preparation.undercut.area", 0, 0},
			{"finish_line.width.min", p.Width, 0.005},
			{"finish_line.width.mean", p.Width, 0.005},
			{"finish_line.length", 2 * math.Pi * p.Radius, 2 * math.Pi * 0.005},
			{"finish_line.legible", 100, 0},
		} {
			if got := take(t, rs, c.id).Value; !near(got, c.want, c.tol) {
				t.Errorf("%+v: %s = %.4f, want %.4f within %g", p, c.id, got, c.want, c.tol)
			}
		}
	}
}

// TestRetentionArea: the side of a cone frustum is pi (R1 + R2) sqrt(H^2 +
// (R1-R2)^2) (geometry). With a sharp rim and no fillet the wall runs from the
// ledge to the top. The inclination is fitted over 0.1 mm to either side, so
// each end is known within 0.05 mm of wall.
func TestRetentionArea(t *testing.T) {
	for seed, p := range []shape.Prep{
		{Radius: 5, Width: 1, Height: 4, Taper: 6, Root: 10, Deep: 2},
		{Radius: 4, Width: 0.6, Height: 3, Taper: 20, Root: 10, Deep: 2},
	} {
		s := anywhere(uint64(seed)).site(t, shape.Lathe(shape.Round(p.Path()), 0.1, 3))
		r1, r2 := p.WallAt(0), p.WallAt(p.Height)
		want := math.Pi * (r1 + r2) * math.Hypot(p.Height, r1-r2)
		tol := 2 * 0.05 * math.Pi * (r1 + r2)
		if got := s.retention().Value; !near(got, want, tol) {
			t.Errorf("%+v: area = %.3f, want %.3f within %.3f", p, got, want, tol)
		}
	}
}

// tilted is a preparation whose wall leans differently at each azimuth:
// T = mean + swing cos(azimuth). Its fan of normals is that of a round wall
// about another axis to first order only, so the frame is taken as known.
func tilted(mean, swing float64) (func(float64) shape.Path, func(float64) float64) {
	taper := func(a float64) float64 { return mean + swing*math.Cos(a*math.Pi/180) }
	return func(a float64) shape.Path {
		return shape.Prep{Radius: 5, Width: 1, Height: 4, Taper: taper(a), Rim: 0.3, Root: 10, Deep: 2}.Path()
	}, taper
}

// TestOneWallSteeper: with known axis each pair of walls adds up to twice the
// mean, each wall to its own taper. The sections cut the wall's rulings, which
// run toward the axis, without error.
func TestOneWallSteeper(t *testing.T) {
	path, taper := tilted(8, 5)
	p := anywhere(2)
	p.exact = true
	s := p.site(t, shape.Lathe(path, 0.1, 5))
	rs := s.convergence()
	for _, r := range rs {
		if !near(r.Value, 16, 0.05) {
			t.Errorf("%s = %.3f, want 16", r.ID, r.Value)
		}
	}
	for i, a := range []float64{0, 180} {
		if got := rs[0].Subs[i].Value; !near(got, taper(a), 0.05) {
			t.Errorf("wall at %v = %.3f, want %.3f", a, got, taper(a))
		}
	}
}

// groove is a wall of taper T with a cosine groove: at share u of the height
// between 1 and 2.5 mm the wall lies depth (1 - cos 2 pi u)/2 nearer the axis.
func groove(p shape.Prep, depth float64) (wall []shape.Point, undercut float64) {
	low := math.Inf(1)
	for k := 60; k >= 0; k-- {
		u := float64(k) / 60
		z := 1 + 1.5*u
		wall = append(wall, shape.Point{R: p.WallAt(z) - depth*(1-math.Cos(2*math.Pi*u))/2, Z: z})
	}
	for k := len(wall) - 1; k >= 0; k-- {
		low = math.Min(low, wall[k].R)
		undercut = math.Max(undercut, wall[k].R-low)
	}
	return wall, undercut
}

// TestUndercutOfGroove: a groove all round is undercut by what its upper flank
// comes out again, found by search over the exact profile. 0.02 mm is what an
// undercut may be off.
func TestUndercutOfGroove(t *testing.T) {
	for _, depth := range []float64{0.1, 0.2, 0.35} {
		p := shape.Prep{Radius: 5, Width: 1, Height: 4, Taper: 3, Rim: 0.3, Root: 10, Deep: 2}
		wall, want := groove(p, depth)
		a := anywhere(6)
		a.exact = true
		s := a.site(t, shape.Lathe(shape.Round(p.PathWith(wall)), 0.08, 6))
		got := take(t, s.undercut(), "preparation.undercut.depth")
		if !near(got.Value, want, 0.02) {
			t.Errorf("groove %.2f: undercut = %.4f, want %.4f", depth, got.Value, want)
		}
	}
}

// TestUndercutWall: a wall that leans outward by T all round is undercut by H
// tan T over its whole area, which is that of a frustum.
func TestUndercutWall(t *testing.T) {
	p := shape.Prep{Radius: 5, Width: 1, Height: 4, Taper: -3, Root: 10, Deep: 2}
	a := anywhere(8)
	a.exact = true
	s := a.site(t, shape.Lathe(shape.Round(p.Path()), 0.1, 6))
	rs := s.undercut()
	want := p.Height * math.Tan(3*math.Pi/180)
	if got := take(t, rs, "preparation.undercut.depth").Value; !near(got, want, 0.02) {
		t.Errorf("depth = %.4f, want %.4f", got, want)
	}
	r1, r2 := p.WallAt(0), p.WallAt(p.Height)
	area := math.Pi * (r1 + r2) * math.Hypot(p.Height, r1-r2)
	if got := take(t, rs, "preparation.undercut.area").Value; !near(got, area, 0.1*math.Pi*(r1+r2)) {
		t.Errorf("area = %.3f, want %.3f", got, area)
	}
}
