package shape

import (
	"math"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/mesh"
)

// Lathe turns a path around the z axis. The path at every azimuth (degrees)
// must have the same number of knots; edge is the facets' edge length, mm.
// Rows are turned against one another by random angles of the seed, so that
// no column of vertices runs along a section.
func Lathe(at func(azimuth float64) Path, edge float64, seed uint64) *mesh.Mesh {
	l := lathe{at: at, edge: edge, rng: rand.New(rand.NewPCG(seed, 1)), m: &mesh.Mesh{}}
	var before ring
	for i, row := range l.rows() {
		next := l.ring(row)
		if i > 0 {
			l.stitch(before, next)
		}
		before = next
	}
	return l.m
}

// Round returns a path that is the same at every azimuth.
func Round(p Path) func(float64) Path { return func(float64) Path { return p } }

type lathe struct {
	at   func(float64) Path
	edge float64
	rng  *rand.Rand
	m    *mesh.Mesh
}

// row is a place on the path: share t of the way from a knot to the next.
type row struct {
	knot int
	t    float64
}

func (r row) on(p Path) Point {
	if r.t == 0 {
		return p[r.knot]
	}
	return p[r.knot].To(p[r.knot+1], r.t)
}

// rows divides the path so that no facet is longer than edge anywhere.
func (l *lathe) rows() []row {
	longest := make([]float64, len(l.at(0))-1)
	for a := range 360 {
		p := l.at(float64(a))
		for k := range longest {
			longest[k] = math.Max(longest[k], p[k].Dist(p[k+1]))
		}
	}
	var out []row
	for k, d := range longest {
		n := max(1, int(math.Ceil(d/l.edge-1e-9)))
		for i := range n {
			out = append(out, row{k, float64(i) / float64(n)})
		}
	}
	return append(out, row{len(longest), 0})
}

// ring is a row of vertices round the axis, or one vertex on it.
type ring struct {
	first   int32
	azimuth []float64 // ascending
}

func (l *lathe) ring(r row) ring {
	out := ring{first: int32(len(l.m.V))}
	widest := 0.0
	for a := range 360 {
		widest = math.Max(widest, r.on(l.at(float64(a))).R)
	}
	n := 1
	if widest > 1e-9 {
		n = max(6, int(math.Ceil(2*math.Pi*widest/l.edge)))
	}
	shift := l.rng.Float64()
	for j := range n {
		a := 360 * (float64(j) + shift) / float64(n)
		out.azimuth = append(out.azimuth, a)
		l.m.V = append(l.m.V, r.on(l.at(a)).At(a))
	}
	return out
}

func (r ring) vertex(j int) int32 { return r.first + int32(j%len(r.azimuth)) }

func (r ring) angle(j int) float64 {
	n := len(r.azimuth)
	return r.azimuth[j%n] + 360*float64(j/n)
}

// stitch fills the band between a ring and the next one outward.
func (l *lathe) stitch(a, b ring) {
	na, nb := len(a.azimuth), len(b.azimuth)
	if na == 1 {
		na = 0
	}
	if nb == 1 {
		nb = 0
	}
	for i, j := 0, 0; i < na || j < nb; {
		if i == na || (j < nb && b.angle(j+1) <= a.angle(i+1)) {
			l.m.F = append(l.m.F, [3]int32{a.vertex(i), b.vertex(j), b.vertex(j + 1)})
			j++
		} else {
			l.m.F = append(l.m.F, [3]int32{a.vertex(i), b.vertex(j), a.vertex(i + 1)})
			i++
		}
	}
}

// Ball returns a sphere about c.
func Ball(c geom.Vec, radius, edge float64) *mesh.Mesh {
	knots := max(9, int(math.Ceil(math.Pi*radius/edge))+1)
	p := Path{}.Arc(Point{}, radius, 90, -90, knots)
	p[0].R, p[knots-1].R = 0, 0
	return Lathe(Round(p), edge, 1).Move(geom.Rigid{R: geom.Identity(), T: c})
}

// Plate returns a square sheet of the given half width at height z about the
// axis, facing up.
func Plate(z, half, edge float64) *mesh.Mesh {
	n := int(math.Ceil(2 * half / edge))
	m := &mesh.Mesh{}
	for j := range n + 1 {
		for i := range n + 1 {
			m.V = append(m.V, geom.V(half*(2*float64(i)/float64(n)-1), half*(2*float64(j)/float64(n)-1), z))
		}
	}
	for j := range n {
		for i := range n {
			p := int32(j*(n+1) + i)
			q := p + int32(n) + 1
			m.F = append(m.F, [3]int32{p, p + 1, q + 1}, [3]int32{p, q + 1, q})
		}
	}
	return m
}
