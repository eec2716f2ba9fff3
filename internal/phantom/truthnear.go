package phantom

import (
	"context"
	"math"
	"slices"

	"crownassay/geom"
	"crownassay/internal/par"
)

// target is the crowns of some natural teeth, for shortest distances to their
// formulae: a cloud of points on them in a plan grid to start from, and the
// formula itself to finish with. Arch coordinates.
type target struct {
	teeth []*tooth
	cloud []spot
	cells map[[2]int]*cloudColumn
}

// cloudColumn is what lies over one cell of the plan grid, within a box.
type cloudColumn struct {
	spots []int32
	box   geom.Box
}

// spot is a crown point with the ray that found it.
type spot struct {
	p     geom.Vec
	tooth int
	a, e  float64
}

const cloudCell = 0.4 // mm

func newTarget(teeth []*tooth) *target {
	t := &target{teeth: teeth, cells: map[[2]int]*cloudColumn{}}
	for i, th := range teeth {
		n := th.sheet.(*natural)
		for k := range 2 * tableTurns {
			a := 2 * math.Pi * float64(k) / (2 * tableTurns)
			for j := range tableSteps {
				e, r := n.lookup(a, (float64(j)+0.5)/tableSteps)
				t.cloud = append(t.cloud, spot{th.frame.toArch(n.on(a, e, r)), i, a, e})
			}
		}
	}
	for i, s := range t.cloud {
		k := cellOf(s.p)
		if t.cells[k] == nil {
			t.cells[k] = &cloudColumn{box: geom.EmptyBox()}
		}
		t.cells[k].spots = append(t.cells[k].spots, int32(i))
		t.cells[k].box = t.cells[k].box.Include(s.p)
	}
	return t
}

func cellOf(p geom.Vec) [2]int {
	return [2]int{int(math.Floor(p.X / cloudCell)), int(math.Floor(p.Y / cloudCell))}
}

// coarse returns the cloud point nearest to p, searching rings of cells until
// none can be nearer, and its distance.
func (t *target) coarse(p geom.Vec) (int32, float64) {
	c, best, where := cellOf(p), math.Inf(1), int32(-1)
	for ring := 0; ring < 100 && float64(ring-1)*cloudCell < best; ring++ {
		for x := -ring; x <= ring; x++ {
			stepY := 2 * ring
			if x == -ring || x == ring || ring == 0 {
				stepY = 1
			}
			for y := -ring; y <= ring; y += stepY {
				cell := t.cells[[2]int{c[0] + x, c[1] + y}]
				if cell == nil || cell.box.DistSq(p) > best*best {
					continue
				}
				for _, i := range cell.spots {
					if d := t.cloud[i].p.Dist(p); d < best {
						best, where = d, i
					}
				}
			}
		}
	}
	return where, best
}

// fine walks from a cloud point to the nearest point of the formula: a
// parabola through nine distances, and again on a smaller stencil. The
// stencil ends at 1e-4 radians, so what is left is below 1e-6 mm.
func (t *target) fine(p geom.Vec, from int32) (geom.Vec, float64) {
	s := t.cloud[from]
	th := t.teeth[s.tooth]
	n := th.sheet.(*natural)
	q := th.frame.toTooth(p)
	a, e, r := s.a, s.e, s.p.Dist(th.frame.toArch(geom.Vec{Z: n.centre}))
	at := func(a, e float64) (geom.Vec, float64) {
		margin, _ := n.lookup(a, 1) // the gingiva hides what lies below
		e = math.Max(e, margin)
		x := n.on(a, e, n.cast(a, e, r))
		return x, x.Dist(q)
	}
	x, d := at(a, e)
	for h := 0.02; h > 1e-4; {
		na, ne := parabolaStep(func(i, j float64) float64 { _, v := at(a+i*h/math.Cos(e), e+j*h); return v })
		nx, nd := at(a+na*h/math.Cos(e), e+ne*h)
		if nd < d {
			a, e, x, d = a+na*h/math.Cos(e), e+ne*h, nx, nd
			if na*na+ne*ne > 0.25 {
				continue
			}
		}
		h /= 3
	}
	return th.frame.toArch(x), d
}

// parabolaStep returns where the quadratic through the 3 x 3 stencil is
// lowest, kept within one and a half steps; the best corner when it has no
// lowest point.
func parabolaStep(f func(i, j float64) float64) (x, y float64) {
	var v [3][3]float64
	bi, bj := 0, 0
	for i := range 3 {
		for j := range 3 {
			v[i][j] = f(float64(i-1), float64(j-1))
			if v[i][j] < v[bi][bj] {
				bi, bj = i, j
			}
		}
	}
	gx, gy := (v[2][1]-v[0][1])/2, (v[1][2]-v[1][0])/2
	xx, yy := v[2][1]+v[0][1]-2*v[1][1], v[1][2]+v[1][0]-2*v[1][1]
	xy := (v[2][2] - v[2][0] - v[0][2] + v[0][0]) / 4
	if det := xx*yy - xy*xy; xx > 0 && det > 0 {
		x, y = (xy*gy-yy*gx)/det, (xy*gx-xx*gy)/det
		if math.Abs(x) < 1.5 && math.Abs(y) < 1.5 {
			return x, y
		}
	}
	return float64(bi - 1), float64(bj - 1)
}

// probe is one sample of a surface with its area and the distance found.
type probe struct {
	p    geom.Vec
	area float64
	zone int
	d    float64
	near int32
}

// measure fills the distances of the probes and sorts them.
func (t *target) measure(ctx context.Context, probes []probe, zones int) error {
	return settle(ctx, probes, zones, 2.5, t.coarse, func(p geom.Vec, from int32) float64 {
		_, d := t.fine(p, from)
		return d
	})
}

// settle fills the coarse distances of the probes, then makes the lowest ones
// exact, all that could lie below the robust minimum of their zone: spare times
// its area. The probes come back sorted.
func settle(ctx context.Context, probes []probe, zones int, spare float64,
	coarse func(geom.Vec) (int32, float64), fine func(p geom.Vec, from int32) float64) error {
	err := par.Do(ctx, len(probes), 128, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			probes[i].near, probes[i].d = coarse(probes[i].p)
		}
	})
	if err != nil {
		return err
	}
	slices.SortStableFunc(probes, func(a, b probe) int { return compare(a.d, b.d) })
	var pick []int
	area := make([]float64, zones)
	for i := range probes {
		if z := probes[i].zone; area[z] < spare*robustArea {
			area[z] += probes[i].area
			pick = append(pick, i)
		}
	}
	err = par.Do(ctx, len(pick), 8, func(lo, hi int) {
		for _, i := range pick[lo:hi] {
			probes[i].d = fine(probes[i].p, probes[i].near)
		}
	})
	slices.SortStableFunc(probes, func(a, b probe) int { return compare(a.d, b.d) })
	return err
}

// robustMin is the value that 0.05 mm^2 of the sorted probes of the wanted
// zones goes below, and the place of the probe there.
func robustMin(sorted []probe, want func(zone int) bool) (float64, geom.Vec) {
	area, last := 0.0, math.NaN()
	for _, p := range sorted {
		if !want(p.zone) {
			continue
		}
		area += p.area
		last = p.d
		if area >= robustArea {
			return p.d, p.p
		}
	}
	return last, geom.Vec{}
}
