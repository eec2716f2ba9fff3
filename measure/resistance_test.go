package measure

import (
	"math"
	"testing"

	"crownassay/finishline"
	"crownassay/internal/shape"
)

// TestLimitingTaper: Parker's limiting average taper (Parker et al. 1988,
// 1993; formula from memory): B 10, H 3 gives a total convergence of 17.458,
// which Goodacre, Campagni, Aquilino, J Prosthet Dent 85 (2001) 363, cite as
// 17.4 (read); no limit where the wall is as high as the base.
func TestLimitingTaper(t *testing.T) {
	for _, c := range []struct{ h, b, toc, tol float64 }{
		{3, 10, 17.458, 0.0005},
		{3, 10, 17.4, 0.1},
		{10, 10, 90, 0},
		{12, 10, 90, 0},
	} {
		if got := 2 * LimitingTaper(c.h, c.b); !near(got, c.toc, c.tol) {
			t.Errorf("2 LimitingTaper(%v, %v) = %.4f, want %v", c.h, c.b, got, c.toc)
		}
	}
}

// TestWoolseyMatich: dies of B 10 and H 3 mm held at 10 degrees of total
// convergence and not at 20 (Woolsey and Matich, J Am Dent Assoc 97 (1978)
// 978, read second-hand). The measured limit must part the two.
func TestWoolseyMatich(t *testing.T) {
	for _, c := range []struct {
		toc   float64
		holds bool
	}{{10, true}, {20, false}} {
		p := shape.Prep{Radius: 5, Height: 3, Taper: c.toc / 2, Root: 45, Deep: 2}
		a := anywhere(3)
		a.exact = true
		s := a.site(t, shape.Lathe(shape.Round(p.Path()), 0.1, 4))
		r := s.resistanceLimit()
		if got := *r.OwnLimit.Min <= r.Value; got != c.holds {
			t.Errorf("TOC %v: own mean taper %.2f against a limit of %.2f: holds = %v, want %v", c.toc, *r.OwnLimit.Min, r.Value, got, c.holds)
		}
		if !near(*r.OwnLimit.Min, c.toc/2, 0.05) || !near(2*r.Value, 17.458, 0.2) {
			t.Errorf("TOC %v: own taper %.3f, limit %.3f, want %v and 8.729", c.toc, *r.OwnLimit.Min, r.Value, c.toc/2)
		}
	}
}

// footHeights are the heights from which a wall resists on a base of 10 mm,
// (B/2) sin 2T: foot of the perpendicular, Lewis and Owen 1959 (agreement with
// Zuckerman's circle: Parker 2004, Dent Clin N Am 48:387, read; values
// computed).
var footHeights = []struct{ taper, z float64 }{
	{3, 0.5226}, {5, 0.8682}, {8, 1.3782}, {10, 1.7101}, {15, 2.5000},
}

func TestResistsAbove(t *testing.T) {
	for _, c := range footHeights {
		if got := ResistsAbove(c.taper, 10); !near(got, c.z, 0.00005) {
			t.Errorf("ResistsAbove(%v, 10) = %.5f, want %.4f", c.taper, got, c.z)
		}
	}
}

// frustum is a cone frustum 10 mm wide at its foot and 4 mm high, whose wall
// runs out to the finish line, so that the hinge is the wall's own foot.
func frustum(t *testing.T, taper float64) *Site {
	p := shape.Prep{Radius: 5, Height: 4, Taper: taper, Root: 50, Deep: 2}
	a := anywhere(uint64(taper))
	a.exact = true
	return a.site(t, shape.Lathe(shape.Round(p.Path()), 0.1, 2))
}

// gridStep is what the wall grid's rows can hide of a share, %: half a row,
// and a twentieth of a millimetre of 4 at the wall's two ends.
const gridStep = 100 * (0.5/finishline.Rows + 0.05/4)

// TestBlockingHeight: of the wall straight across from the hinge the part
// above z* blocks. Weighted by the circumference at each height the share is
// 1 - z*/H to first order; the exact integral of R - z tan T is used.
func TestBlockingHeight(t *testing.T) {
	const h = 4.0
	for _, c := range footHeights {
		s := frustum(t, c.taper)
		var across []finishline.Patch
		for _, p := range s.Patches {
			if p.Azimuth >= 179 && p.Azimuth <= 181 {
				across = append(across, p)
			}
		}
		s.Patches = across
		area := func(z float64) float64 { return 5*z - z*z/2*math.Tan(c.taper*math.Pi/180) }
		want := 100 * (1 - area(c.z)/area(h))
		if got := s.blocked(0); !near(got, want, gridStep) {
			t.Errorf("T %v: share across = %.2f, want %.2f (1 - z*/H = %.2f) within %.2f", c.taper, got, want, 100*(1-c.z/h), gridStep)
		}
	}
}

// halfWallShare is the share, %, of the half of a cone frustum's wall opposite
// to the hinge that blocks tipping. At an azimuth phi from the point across,
// with c = cos phi, a wall point moves against its outward normal from the
// height R/2 (1 + 1/c) sin 2T on: the condition (axis x (P - hinge)) . n < 0
// solved for z; at c = 1 it is Lewis and Owen's z*.
func halfWallShare(r, h, taper float64) float64 {
	tan := math.Tan(taper * math.Pi / 180)
	area := func(z float64) float64 { return r*z - z*z/2*tan }
	const n = 4000
	sum := 0.0
	for k := range n {
		c := math.Cos((float64(k) + 0.5) / n * math.Pi / 2)
		sum += 1 - area(math.Min(h, r/2*(1+1/c)*math.Sin(2*taper*math.Pi/180)))/area(h)
	}
	return 100 * sum / n
}

func TestResistanceShare(t *testing.T) {
	for _, c := range footHeights {
		s := frustum(t, c.taper)
		want := halfWallShare(5, 4, c.taper)
		if got := s.resistanceShare().Value; !near(got, want, gridStep) {
			t.Errorf("T %v: share = %.2f, want %.2f within %.2f", c.taper, got, want, gridStep)
		}
	}
}
