package bvh

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// length is the length of a polyline.
func length(p Polyline) float64 {
	s := 0.0
	for i := range p.Facets {
		s += p.Points[i].Dist(p.Points[(i+1)%len(p.Points)])
	}
	return s
}

// area is the area a closed polyline runs around counter-clockwise, the
// plane's normal n pointing at the viewer (shoelace formula).
func area(p Polyline, n geom.Vec) float64 {
	var s geom.Vec
	for i := range p.Points {
		s = s.Add(p.Points[i].Cross(p.Points[(i+1)%len(p.Points)]))
	}
	return s.Dot(n) / 2
}

// Lengths and areas of plane sections with closed forms.
func TestSectionOfExactShapes(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 1))
	x := geom.V(1, 0, 0)
	// A plane that touches the inner circle of a torus of radii 5 and 2 at
	// right angles cuts two circles of radius 2 when it holds the axis, and the
	// equator's plane two concentric circles, 7 and 3.
	for _, c := range []struct {
		name       string
		m          *mesh.Mesh
		pl         geom.Plane
		lengths    []float64
		areas      []float64
		tolL, tolA float64
	}{
		{"ball", sphere(4, 200), geom.PlaneThrough(geom.V(0, 0, 2), geom.V(0, 0, 1)),
			[]float64{2 * math.Pi * math.Sqrt(12)}, []float64{math.Pi * 12}, 0.01, 0.02},
		{"ball, slanting", sphere(4, 200), geom.PlaneThrough(geom.V(1, 2, 2), geom.V(1, 2, 2).Unit()),
			[]float64{2 * math.Pi * math.Sqrt(7)}, []float64{math.Pi * 7}, 0.01, 0.02},
		{"torus, axial", torus(5, 2, 150), geom.PlaneThrough(geom.V(0.001, 0, 0), x),
			[]float64{4 * math.Pi, 4 * math.Pi}, []float64{4 * math.Pi, 4 * math.Pi}, 0.01, 0.02},
		{"torus, equator", torus(5, 2, 150), geom.PlaneThrough(geom.V(0, 0, 0.001), geom.V(0, 0, 1)),
			[]float64{6 * math.Pi, 14 * math.Pi}, []float64{-9 * math.Pi, 49 * math.Pi}, 0.01, 0.05},
		{"slab", slab3(geom.V(3, 2, 1)), geom.PlaneThrough(geom.V(0.5, 0, 0), x), []float64{12}, []float64{8}, 1e-12, 1e-12},
		{"cone", cone(3, 4, 200), geom.PlaneThrough(geom.V(0, 0, 1), geom.V(0, 0, 1)),
			[]float64{2 * math.Pi * 2.25}, []float64{math.Pi * 2.25 * 2.25}, 0.01, 0.02},
		{"missed", slab3(geom.V(3, 2, 1)), geom.PlaneThrough(geom.V(3.1, 0, 0), x), nil, nil, 0, 0},
	} {
		g := randRigid(r)
		n := g.Turn(c.pl.Normal)
		pl := geom.PlaneThrough(g.Apply(c.pl.Normal.Mul(c.pl.Offset)), n)
		mixed, _ := shuffled(c.m.Move(g), r)
		got := New(mixed).Section(pl)
		if len(got) != len(c.lengths) {
			t.Errorf("%s: %d pieces, want %d", c.name, len(got), len(c.lengths))
			continue
		}
		slices.SortFunc(got, func(p, q Polyline) int { return int(1e6 * (length(p) - length(q))) })
		for i, p := range got {
			if !p.Closed || !within(length(p), c.lengths[i], c.tolL) || !within(area(p, n), c.areas[i], c.tolA) {
				t.Errorf("%s: piece %d: closed %v, length %g, area %g, want %g, %g", c.name, i, p.Closed, length(p), area(p, n), c.lengths[i], c.areas[i])
			}
		}
	}
}

// Whatever the plane, also through vertices and along edges: pieces are clean
// chains of exactly the facets that are cut, on the plane, the right way round.
func TestSectionIsAChainOfTheCutFacets(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 2))
	for name, m := range specimens(r) {
		tree := New(m)
		scale := largest(m.Box())
		for range 40 {
			v, n := m.V[r.IntN(len(m.V))], randVec(r, 1).Unit()
			switch r.IntN(3) {
			case 0:
				n = geom.V(0, 0, 1)
			case 1:
				v = v.Add(randVec(r, 0.1))
			}
			checkSection(t, name, m, geom.PlaneThrough(v, n), tree, scale)
		}
	}
}

func checkSection(t *testing.T, name string, m *mesh.Mesh, pl geom.Plane, tree *Tree, scale float64) {
	t.Helper()
	want := cutFacets(m, pl)
	var got []int32
	for _, p := range tree.Section(pl) {
		if closing := len(p.Points) - len(p.Facets); closing != 1 && !p.Closed || closing != 0 && p.Closed {
			t.Fatalf("%s: %d points, %d facets, closed %v", name, len(p.Points), len(p.Facets), p.Closed)
		}
		for i, f := range p.Facets {
			a, b := p.Points[i], p.Points[(i+1)%len(p.Points)]
			if a == b {
				t.Fatalf("%s: segment without length", name)
			}
			if s := pl.Side(a); math.Abs(s) > 1e-14*scale*16 {
				t.Fatalf("%s: point %g off the plane", name, s)
			}
			ca, cb, cc := m.Corner(f)
			if along := pl.Normal.Cross(geom.TriangleNormal(ca, cb, cc)); along.Dot(b.Sub(a)) < -1e-12*scale*along.Norm() {
				t.Fatalf("%s: segment on facet %d runs backward", name, f)
			}
			got = append(got, f)
		}
	}
	slices.Sort(got)
	if !slices.Equal(got, want) {
		t.Fatalf("%s: plane %v cuts facets %v, want %v", name, pl, got, want)
	}
}

// cutFacets lists the facets with corners on both sides whose two crossing
// points differ, rising.
func cutFacets(m *mesh.Mesh, pl geom.Plane) []int32 {
	var out []int32
	c := cutter{t: &Tree{m: m}}
	for f, t := range m.F {
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
			continue
		}
		var ends []geom.Vec
		for k := range int32(3) {
			if (pl.Side(m.V[t[k]]) >= 0) != (pl.Side(m.V[t[(k+1)%3]]) >= 0) {
				ends = append(ends, c.point(&pl, 3*int32(f)+k))
			}
		}
		if len(ends) == 2 && ends[0] != ends[1] {
			out = append(out, int32(f))
		}
	}
	return out
}

// The plane through two opposite corners of a slab and its middle: cut exactly
// through vertices.
func TestSectionThroughVertices(t *testing.T) {
	tree := New(slab3(geom.V(1, 1, 1)))
	n := geom.V(1, -1, 0).Unit()
	got := tree.Section(geom.PlaneThrough(geom.Vec{}, n))
	if len(got) != 1 || !got[0].Closed || !within(length(got[0]), 4+4*math.Sqrt2, 1e-12) || !within(area(got[0], n), 4*math.Sqrt2, 1e-12) {
		t.Errorf("diagonal section = %v, want one rectangle 2 by 2 sqrt 2", got)
	}
	// Along a face: its vertices count as above, so with the slab below the
	// plane its rim is the section, with the slab above there is none.
	if got := tree.Section(geom.PlaneThrough(geom.V(0, 0, 1), geom.V(0, 0, 1))); len(got) != 1 || !within(length(got[0]), 8, 1e-12) {
		t.Errorf("section along the top face = %v, want its rim", got)
	}
	if got := tree.Section(geom.PlaneThrough(geom.V(0, 0, 1), geom.V(0, 0, -1))); len(got) != 0 {
		t.Errorf("section along the top face, seen from below = %v, want none", got)
	}
}

func TestSectionOfOpenSheet(t *testing.T) {
	tree := New(sheet(6))
	got := tree.Section(geom.PlaneThrough(geom.V(2.5, 0, 0), geom.V(1, 0, 0)))
	if len(got) != 1 || got[0].Closed || !within(length(got[0]), 6, 1e-12) {
		t.Fatalf("section = %v, want one open piece of length 6", got)
	}
	// Plane normal x, outside +z: the outside on the right means along -y.
	if p := got[0].Points; p[0] != geom.V(2.5, 6, 0) || p[len(p)-1] != geom.V(2.5, 0, 0) {
		t.Errorf("from %v to %v, want from y = 6 to y = 0", p[0], p[len(p)-1])
	}
	if got := New(&mesh.Mesh{}).Section(geom.PlaneThrough(geom.Vec{}, geom.V(0, 0, 1))); got != nil {
		t.Errorf("section of the empty mesh = %v", got)
	}
}

// Near sections hold the facets whose box is in reach, no others.
func TestSectionNear(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 3))
	m := lumpy(40)
	tree := New(m)
	for range 100 {
		center, radius := m.V[r.IntN(len(m.V))], 3*r.Float64()
		pl := geom.PlaneThrough(center, randVec(r, 1).Unit())
		var want []int32
		for _, f := range cutFacets(m, pl) {
			a, b, c := m.Corner(f)
			if geom.EmptyBox().Include(a).Include(b).Include(c).DistSq(center) <= radius*radius {
				want = append(want, f)
			}
		}
		var got []int32
		for _, p := range tree.SectionNear(pl, center, radius) {
			got = append(got, p.Facets...)
		}
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Fatalf("SectionNear(%v, %v, %g): facets %v, want %v (seed 5, 3)", pl, center, radius, got, want)
		}
	}
}

func TestSectionBatchIsSingle(t *testing.T) {
	defer func(w int) { par.Workers = w }(par.Workers)
	tree := New(lumpy(40))
	planes := make([]geom.Plane, 100)
	for i := range planes {
		s, c := math.Sincos(float64(i))
		planes[i] = geom.PlaneThrough(geom.V(0.1, 0.2, 0.3), geom.V(c, s, 0))
	}
	out := make([][]Polyline, len(planes))
	for _, par.Workers = range []int{1, 2, 7} {
		check(t, tree.SectionAll(context.Background(), planes, geom.V(0, 0, 3), 4, out))
		for i, pl := range planes {
			if want := tree.SectionNear(pl, geom.V(0, 0, 3), 4); !reflect.DeepEqual(out[i], want) {
				t.Fatalf("%d workers: section %d differs", par.Workers, i)
			}
		}
	}
}
