package phantom

import (
	"context"
	"math"
	"slices"
	"sync"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// soundCrown is one case that several tests look at.
var soundCrown = sync.OnceValues(func() (*Case, error) {
	return Build(context.Background(), Spec{Tooth: "46", Seed: 3, Triangles: 20000, Tall: 1, Crown: &Crown{Triangles: 30000}})
})

func sound(t *testing.T) *Case {
	t.Helper()
	c, err := soundCrown()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// restorationOf lays out the crown of a case again, to look inside.
func restorationOf(t *testing.T, c *Case) *restoration {
	t.Helper()
	r, err := c.model.newRestoration(context.Background(), c.Spec.Crown)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// checkShell wants a closed, outward shell of one piece: no border, Euler
// characteristic 2, positive volume.
func checkShell(t *testing.T, what string, m *mesh.Mesh) {
	t.Helper()
	if b := checkSheet(t, what, m); b != 0 {
		t.Errorf("%s: %d border edges, want none", what, b)
	}
	if x := len(m.V) - len(m.F)/2; x != 2 {
		t.Errorf("%s: Euler characteristic %d, want 2", what, x)
	}
	if v := m.Volume(); v < 30 || v > 700 {
		t.Errorf("%s: volume %g mm^3, want something between 30 and 700", what, v)
	}
}

func TestCrownIsAShell(t *testing.T) {
	c := sound(t)
	checkShell(t, "sound", c.Crown)
	if n := len(c.Crown.F); math.Abs(float64(n)-30000) > 1500 {
		t.Errorf("%d facets, want about 30000", n)
	}
	if n := crossings(c.Crown); n != 0 {
		t.Errorf("%d pairs of facets cross, want none", n)
	}
}

// crossings counts the pairs of facets without a common vertex that cross: an
// edge of one goes through the other. Facets meet in a grid of cells.
func crossings(m *mesh.Mesh) int {
	const cell = 0.5
	cells := map[[3]int][]int32{}
	for f := range m.F {
		lo, hi := cellsOf(m, int32(f), cell)
		for x := lo[0]; x <= hi[0]; x++ {
			for y := lo[1]; y <= hi[1]; y++ {
				for z := lo[2]; z <= hi[2]; z++ {
					k := [3]int{x, y, z}
					cells[k] = append(cells[k], int32(f))
				}
			}
		}
	}
	bad := map[[2]int32]bool{}
	for _, l := range cells {
		for i, f := range l {
			for _, g := range l[:i] {
				if !shares(m.F[f], m.F[g]) && (pierces(m, f, g) || pierces(m, g, f)) {
					bad[[2]int32{min(f, g), max(f, g)}] = true
				}
			}
		}
	}
	return len(bad)
}

func cellsOf(m *mesh.Mesh, f int32, cell float64) (lo, hi [3]int) {
	a, b, c := m.Corner(f)
	box := geom.EmptyBox().Include(a).Include(b).Include(c)
	for i, v := range [][2]float64{{box.Min.X, box.Max.X}, {box.Min.Y, box.Max.Y}, {box.Min.Z, box.Max.Z}} {
		lo[i], hi[i] = int(math.Floor(v[0]/cell)), int(math.Floor(v[1]/cell))
	}
	return lo, hi
}

func shares(a, b [3]int32) bool {
	return slices.ContainsFunc(a[:], func(v int32) bool { return slices.Contains(b[:], v) })
}

// pierces reports whether an edge of f goes through g, by the signs of the
// volumes of tetrahedra.
func pierces(m *mesh.Mesh, f, g int32) bool {
	a, b, c := m.Corner(g)
	volume := func(p, q, r, s geom.Vec) float64 { return q.Sub(p).Cross(r.Sub(p)).Dot(s.Sub(p)) }
	p := [3]geom.Vec{}
	p[0], p[1], p[2] = m.Corner(f)
	for k := range 3 {
		u, v := p[k], p[(k+1)%3]
		if (volume(a, b, c, u) > 0) == (volume(a, b, c, v) > 0) {
			continue
		}
		x, y, z := volume(u, v, a, b) > 0, volume(u, v, b, c) > 0, volume(u, v, c, a) > 0
		if x == y && y == z {
			return true
		}
	}
	return false
}

// A cavity that keeps one distance everywhere is an offset surface: gap, mean
// and smallest internal distance are that distance (offset surfaces, do Carmo,
// Differential Geometry, from memory), whatever the preparation's shape. The
// cavity's points stay in their half planes, which costs up to 2 um where the
// line angle turns most.
func TestEvenCementSpace(t *testing.T) {
	const space = 0.08
	c := build(t, Spec{Tooth: "46", Seed: 3, Triangles: 20000, Tall: 1, Crown: &Crown{
		Triangles: 20000, Wall: space, Occlusal: space, Gap: Round{Base: space}, Overhang: Round{Base: 0.03}}})
	r := c.Truth.Readings
	within(t, "marginal gap mean", r["crown.fit.marginal_gap.mean"], space, 1e-4)
	within(t, "marginal gap max", r["crown.fit.marginal_gap.max"], space, 2e-4)
	within(t, "internal mean", r["crown.fit.internal.mean"], space, 1e-4)
	within(t, "closest", r["crown.fit.closest"], space, 2e-3)
	within(t, "interference", r["crown.fit.interference"], 0, 0)
}

// On a body of revolution the sections are the half planes of the formula: the
// overhang is what was asked, and the margin edge lies off the finish line by
// the gap along the chamfer's normal and by the rest along its tangent.
func TestMarginOfFrustum(t *testing.T) {
	p := round(6*degree, 1, 4)
	c, err := (Crown{Gap: Round{Base: 0.05}, Wall: 0.05, Occlusal: 0.05}).complete()
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range []float64{-0.1, 0, 0.2} {
		i, err := newIntaglio(context.Background(), p, c, func(float64) float64 { return h })
		if err != nil {
			t.Fatal(err)
		}
		m := i.profile(1, i.end.at(1))
		within(t, "reach", m.r-5, h, 1e-9)
		f := p.section(1)
		n := f.cFillet.from(f.end[segRoot]) // the chamfer's centre lies along its normal
		d := point2{m.r - f.end[segRoot].r, m.z - f.end[segRoot].z}
		if h < 0 {
			// Short of the finish line the edge keeps the gap off the arc.
			within(t, "gap", f.rFillet-math.Hypot(m.r-f.cFillet.r, m.z-f.cFillet.z), 0.05, 1e-9)
			continue
		}
		within(t, "gap", d.r*n.r+d.z*n.z, 0.05, 1e-6)
		within(t, "vertical", d.z, (0.05-d.r*n.r)/n.z, 1e-6)
	}
}

// The thickness at its place agrees with the nearest of a million points of
// the cavity, without grid or refinement.
func TestThicknessAgainstPlainSearch(t *testing.T) {
	c := sound(t)
	r := restorationOf(t, c)
	var inner []geom.Vec
	for i := range 1000 {
		for k := range 1000 {
			inner = append(inner, c.model.toFile(r.in.point(2*math.Pi*float64(i)/1000, r.in.lEdge*float64(k)/999)))
		}
	}
	for _, id := range []string{"crown.thickness.occlusal", "crown.thickness.axial"} {
		want, p := math.Inf(1), vec(c.Truth.Places[id])
		for _, q := range inner {
			want = math.Min(want, p.Dist(q))
		}
		within(t, id, c.Truth.Readings[id], want, 1e-3)
	}
}

// No place of a proximal surface is nearer to the neighbour than the contact
// says, by plain search over points of both surfaces.
func TestContactAgainstPlainSearch(t *testing.T) {
	c := build(t, Spec{Tooth: "46", Seed: 3, Triangles: 20000, Tall: 1, Crown: &Crown{
		Triangles: 20000, Mesial: &Touch{0.2, 2.2}, Distal: &Touch{0.12, 2.2}}})
	r := restorationOf(t, c)
	within(t, "mesial", c.Truth.Readings["crown.contact.mesial"], 0.2, 1e-4)
	within(t, "distal", c.Truth.Readings["crown.contact.distal"], 0.12, 1e-4)
	for i, want := range []float64{0.2, 0.12} {
		th := r.sides[i].teeth[0]
		n := th.sheet.(*natural)
		best := math.Inf(1)
		var other []geom.Vec
		for k := range 400 {
			for j := range 200 {
				p := th.frame.toArch(n.crownPoint(2*math.Pi*float64(k)/400, float64(j)/200))
				if q := c.model.target.frame.toTooth(p); math.Abs(math.Abs(q.X)-c.model.target.crown.md/2) < 0.7 {
					other = append(other, q)
				}
			}
		}
		for k := range 100 {
			for j := range 100 {
				p := r.out.at(math.Pi*float64(i)+(float64(k)/50-1), 0.3+0.65*float64(j)/100)
				for _, q := range other {
					best = math.Min(best, p.Dist(q))
				}
			}
		}
		// The points lie up to 0.06 mm apart: half of that, squared, over twice
		// the distance between the surfaces.
		if best < want-1e-4 || best > want+0.01 {
			t.Errorf("contact %d: plain search finds %g, want %g", i, best, want)
		}
	}
}

func TestCrownRefusals(t *testing.T) {
	for _, c := range []Crown{
		{Wall: 0.5}, {Wall: -0.1}, {Gap: Round{Base: -0.05}}, {Overhang: Round{Base: 2}},
		{Overhang: Round{Arcs: []Arc{{Value: -0.5, Extent: 20}}}}, {Seal: 4}, {Tool: 9}, {Mesial: &Touch{Distance: -30, Half: 1}},
	} {
		if _, err := Build(context.Background(), Spec{Triangles: 20000, Crown: &c}); err == nil {
			t.Errorf("Build with crown %+v gave no error", c)
		}
	}
	if _, err := Build(context.Background(), Spec{Crown: &Crown{}, Defects: []Defect{{Kind: NoPreparation}}}); err == nil {
		t.Error("a crown without preparation gave no error")
	}
}
