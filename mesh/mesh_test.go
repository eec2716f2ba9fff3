package mesh

import (
	"math"
	"slices"
	"testing"

	"crownassay/geom"
)

// Euler's polyhedron formula V - E + F = 2 - 2g for closed surfaces, and
// 0 for a band; border counts by looking at the shape.
func TestShapes(t *testing.T) {
	for _, c := range []struct {
		name                   string
		m                      *Mesh
		euler, shells, borders int
		closed                 bool
	}{
		{"tetrahedron", tetrahedron(), 2, 1, 0, true},
		{"cube", cube(geom.Vec{}), 2, 1, 0, true},
		{"torus", wrapped(12, 8, false, true), 0, 1, 0, true},
		{"grid", grid(4, 3), 1, 1, 1, false},
		{"annulus", wrapped(9, 2, false, false), 0, 1, 2, false},
		{"moebius strip", wrapped(11, 2, true, false), 0, 1, 1, false},
		{"cubes sharing an edge", cubesAtEdge(), 14 - (2*18 - 1) + 24, 1, 0, true},
		{"nothing", &Mesh{}, 0, 0, 0, false},
	} {
		a := Adjacent(c.m)
		euler := len(c.m.V) - edges(c.m, a) + len(c.m.F)
		if euler != c.euler {
			t.Errorf("%s: V-E+F = %d, want %d", c.name, euler, c.euler)
		}
		if _, n := Shells(c.m, a); n != c.shells {
			t.Errorf("%s: shells = %d, want %d", c.name, n, c.shells)
		}
		if n := len(a.BorderLoops()); n != c.borders {
			t.Errorf("%s: borders = %d, want %d", c.name, n, c.borders)
		}
		if got := Closed(c.m, a); got != c.closed {
			t.Errorf("%s: Closed = %v, want %v", c.name, got, c.closed)
		}
	}
}

func TestOppositeCodes(t *testing.T) {
	sheet := grid(1, 1) // facets 0 1 3 and 0 3 2 joined at 0-3
	a := Adjacent(sheet)
	if want := []int32{-1, -1, 3, 2, -1, -1}; !slices.Equal(a.Opposite, want) {
		t.Errorf("grid: Opposite = %v, want %v", a.Opposite, want)
	}
	a = Adjacent(flip(sheet, 1)) // 0 3 2 becomes 0 2 3: both run 3 to 0
	if want := []int32{-1, -1, Flipped, -1, -1, Flipped}; !slices.Equal(a.Opposite, want) {
		t.Errorf("flipped: Opposite = %v, want %v", a.Opposite, want)
	}
	fin := &Mesh{V: append(sheet.V, geom.V(0, 0, 1)), F: append(slices.Clone(sheet.F), [3]int32{0, 3, 4})}
	a = Adjacent(fin)
	if a.Opposite[2] != NonManifold || a.Around[2] != 3 || a.Around[3] != 6 || a.Around[6] != 2 {
		t.Errorf("fin: Opposite[2] = %d, ring 2 -> %d", a.Opposite[2], a.Around[2])
	}
	gap := &Mesh{V: sheet.V, F: append(slices.Clone(sheet.F), [3]int32{0, 0, 3})}
	if a = Adjacent(gap); a.Opposite[2] != 3 || a.Opposite[6] != Collapsed {
		t.Errorf("collapsed: Opposite = %v", a.Opposite)
	}
}

func TestBorderLoops(t *testing.T) {
	bowTie := &Mesh{V: make([]geom.Vec, 5), F: [][3]int32{{0, 1, 2}, {2, 3, 4}}}
	twoHoles := grid(4, 4) // without the squares (1,1) and (2,2)
	twoHoles.F = slices.Delete(slices.Delete(twoHoles.F, 20, 22), 10, 12)
	fin := &Mesh{V: make([]geom.Vec, 5), F: [][3]int32{{0, 1, 2}, {1, 0, 3}, {0, 1, 4}}}
	for _, c := range []struct {
		name string
		m    *Mesh
		want [][]int32
	}{
		{"one facet", &Mesh{V: make([]geom.Vec, 3), F: [][3]int32{{2, 0, 1}}}, [][]int32{{2, 0, 1}}},
		{"sheet", grid(1, 1), [][]int32{{0, 1, 3, 2}}},
		{"sheet, facet turned at the border", flip(grid(1, 1), 1), [][]int32{{0, 1, 3, 2}}},
		{"bow tie", bowTie, [][]int32{{0, 1, 2}, {2, 3, 4}}},
		{"three sheets at an edge", fin, [][]int32{{1, 2, 0}, {0, 3, 1}, {1, 4, 0}}},
	} {
		if got := Adjacent(c.m).BorderLoops(); !equalLoops(got, c.want) {
			t.Errorf("%s: BorderLoops = %v, want %v", c.name, got, c.want)
		}
	}
	loops := Adjacent(twoHoles).BorderLoops()
	sizes := []int{}
	for _, l := range loops {
		sizes = append(sizes, len(l))
	}
	if slices.Sort(sizes); !slices.Equal(sizes, []int{4, 4, 16}) {
		t.Errorf("two holes touching at a vertex: loops %v", loops)
	}
}

func equalLoops(a, b [][]int32) bool {
	return slices.EqualFunc(a, b, func(x, y []int32) bool { return slices.Equal(x, y) })
}

func TestIncidence(t *testing.T) {
	r := Incidence(grid(1, 1))
	for v, want := range [][]int32{{0, 1}, {0}, {1}, {0, 1}} {
		if got := r.At(int32(v)); !slices.Equal(got, want) {
			t.Errorf("At(%d) = %v, want %v", v, got, want)
		}
	}
	r = Incidence(&Mesh{V: make([]geom.Vec, 2), F: [][3]int32{{0, 1, 0}, {1, 1, 1}}})
	if !slices.Equal(r.At(0), []int32{0}) || !slices.Equal(r.At(1), []int32{0, 1}) {
		t.Errorf("vertex named twice: %v", r)
	}
}

func TestOriented(t *testing.T) {
	torus := wrapped(12, 8, false, true)
	if torus.Volume() < 0 {
		t.Fatal("the torus of the test faces inward")
	}
	inward := make([]int, len(torus.F))
	for f := range inward {
		inward[f] = f
	}
	two := cubesAtEdge()
	for _, c := range []struct {
		name    string
		m       *Mesh
		flipped int
		same    *Mesh // what must come out
	}{
		{"good torus", torus, 0, torus},
		{"five facets turned", flip(torus, 3, 4, 77, 78, 100), 5, torus},
		{"inside out", flip(torus, inward...), len(torus.F), torus},
		{"inside out but five", flip(torus, inward[5:]...), len(torus.F) - 5, torus},
		{"open sheet facing down", flip(grid(1, 1), 0, 1), 0, flip(grid(1, 1), 0, 1)},
		{"tie: the lowest facet decides", flip(grid(1, 1), 1), 1, grid(1, 1)},
		{"one of two cubes inside out", flip(two, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23), 12, two},
	} {
		got, n := Oriented(c.m)
		if n != c.flipped {
			t.Errorf("%s: turned %d, want %d", c.name, n, c.flipped)
		}
		for f := range got.F {
			if !sameCycle(got.F[f], c.same.F[f]) {
				t.Errorf("%s: facet %d = %v, want %v", c.name, f, got.F[f], c.same.F[f])
				break
			}
		}
	}
	if v := two.Volume(); math.Abs(v-2) > 1e-12 {
		t.Errorf("two unit cubes: Volume = %g, want 2", v)
	}
}

// sameCycle reports whether s is t, begun at any corner.
func sameCycle(s, t [3]int32) bool {
	return s == t || s == [3]int32{t[1], t[2], t[0]} || s == [3]int32{t[2], t[0], t[1]}
}

func TestDefects(t *testing.T) {
	g := grid(2, 2)
	bad := &Mesh{V: append(slices.Clone(g.V), geom.V(9, 9, 9), geom.V(0.5, 0, 0)), F: slices.Clone(g.F)}
	bad.F = append(bad.F, [3]int32{0, 0, 1}, [3]int32{g.F[3][1], g.F[3][0], g.F[3][2]}, [3]int32{0, 10, 1})
	all := make([]int, 12)
	for f := range all {
		all[f] = f
	}
	for _, c := range []struct {
		name string
		m    *Mesh
		want []Defect
	}{
		{"clean", g, []Defect{}},
		{"moebius strip", wrapped(11, 2, true, false), []Defect{{OneSided, 1, 0}}},
		{"two cubes", cubesAtEdge(), []Defect{{NonManifoldEdges, 1, 7}}},
		{"turned", flip(wrapped(12, 8, false, true), 70, 20), []Defect{{FlippedFacets, 2, 20}}},
		{"cube inside out", flip(cube(geom.Vec{}), all...), []Defect{{InsideOut, 1, 0}}},
		{"several", bad, []Defect{{DegenerateFacets, 2, 8}, {DuplicateFacets, 1, 9}, {NonManifoldEdges, 3, 0}, {UnusedVertices, 1, 9}}},
	} {
		got := Defects(c.m, Adjacent(c.m))
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: Defects = %v, want %v", c.name, got, c.want)
		}
	}
}
