package align

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// sample is a small piece of a surface: its middle, its mean unit normal and
// its area, mm^2, times its weight in the registration.
type sample struct {
	p, n geom.Vec
	area float64
}

// plainNormal is the length of a piece's mean normal below which it holds two
// sides of a thin edge or a crease, and its normal means little.
const plainNormal = 0.7

// samplesOf gathers the surface in cubes of the given edge, mm, in the order
// of their lowest facet. Facets longer than a cube are cut. The weight of a
// facet is the mean of its corners'; nil means 1. What has no weight is left
// out.
func samplesOf(m *mesh.Mesh, weight []float64, cube float64) []sample {
	g := gatherer{cube: cube, at: map[[3]int32]int32{}}
	for f, v := range m.F {
		w := facetWeight(weight, v)
		if w <= 0 {
			continue
		}
		a, b, c := m.Corner(int32(f))
		g.facet(a, b, c, w)
	}
	return g.done()
}

func facetWeight(weight []float64, v [3]int32) float64 {
	if weight == nil {
		return 1
	}
	return (weight[v[0]] + weight[v[1]] + weight[v[2]]) / 3
}

// gatherer sums pieces of facets up by cubes.
type gatherer struct {
	cube float64
	at   map[[3]int32]int32
	sum  []sample // area-weighted sums, weight included
	area []float64
}

// finestCut is into how many parts the edge of a long facet is cut at most.
const finestCut = 64

// facet adds the facet abc, cut into n^2 parts no longer than a cube.
func (g *gatherer) facet(a, b, c geom.Vec, w float64) {
	long := math.Sqrt(max(a.DistSq(b), b.DistSq(c), c.DistSq(a)))
	n := int(min(math.Ceil(long/g.cube), finestCut))
	n = max(n, 1)
	normal := geom.TriangleNormal(a, b, c).Mul(0.5 / float64(n*n))
	u, v := b.Sub(a).Mul(1/float64(n)), c.Sub(a).Mul(1/float64(n))
	for i := range n {
		for j := range n - i {
			corner := a.Add(u.Mul(float64(i))).Add(v.Mul(float64(j)))
			g.part(corner.Add(u.Add(v).Mul(1.0/3)), normal, w)
			if i+j < n-1 {
				g.part(corner.Add(u.Add(v).Mul(2.0/3)), normal, w)
			}
		}
	}
}

// part adds a piece with its middle and its normal, as long as its area.
func (g *gatherer) part(p, normal geom.Vec, w float64) {
	key := [3]int32{cubeOf(p.X, g.cube), cubeOf(p.Y, g.cube), cubeOf(p.Z, g.cube)}
	i, ok := g.at[key]
	if !ok {
		i = int32(len(g.sum))
		g.at[key] = i
		g.sum, g.area = append(g.sum, sample{}), append(g.area, 0)
	}
	area := normal.Norm()
	s := &g.sum[i]
	s.p, s.n = s.p.Add(p.Mul(area)), s.n.Add(normal)
	s.area += float64(area * w)
	g.area[i] += area
}

func cubeOf(x, cube float64) int32 { return int32(math.Floor(x / cube)) }

// leastFilled is the share of a cube's face that a sample must have: slivers
// at the rim of a cube lie far from where the other surface's samples do.
const leastFilled = 0.1

// done returns the samples with plain normals.
func (g *gatherer) done() []sample {
	var out []sample
	for i, s := range g.sum {
		a := g.area[i]
		if a < float64(leastFilled*g.cube)*g.cube || s.n.Norm() < plainNormal*a {
			continue
		}
		out = append(out, sample{s.p.Mul(1 / a), s.n.Unit(), s.area})
	}
	return out
}

// weightedArea returns the area of a surface under weights, mm^2.
func weightedArea(m *mesh.Mesh, weight []float64) float64 {
	s := 0.0
	for f, v := range m.F {
		s += float64(facetWeight(weight, v) * geom.TriangleArea(m.Corner(int32(f))))
	}
	return s
}
