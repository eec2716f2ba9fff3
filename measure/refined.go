package measure

import (
	"math"
	"slices"

	"crownassay/curvature"
	"crownassay/geom"
	"crownassay/mesh"
)

// How the surface that facets stand for is made of smaller ones.
const (
	refineTo   = 0.001 // mm: the surface lies no farther than this off the facets made, where refineMost allows it
	refineMost = 8     // parts of an edge at most
)

// refined returns some facets of the surface, in smaller ones where the
// surface that they stand for lies off them. They are not joined where it
// leaves a crack, which is narrower than it lies off them.
func (s *Surface) refined(some func(a, b, c geom.Vec) bool) *mesh.Mesh {
	out := &mesh.Mesh{V: slices.Clip(s.Mesh.V)}
	for f, t := range s.Mesh.F {
		if some(s.Mesh.Corner(int32(f))) {
			s.refine(out, int32(f), t)
		}
	}
	return compact(out, out.F)
}

// refine appends the parts of a facet.
func (s *Surface) refine(out *mesh.Mesh, f int32, t [3]int32) {
	l := curvature.NewLift(s.Mesh, s.normals, f)
	a, b, c := s.Mesh.Corner(f)
	off := 0.0
	for _, e := range [3][2]geom.Vec{{a, b}, {b, c}, {c, a}} {
		off = math.Max(off, math.Abs(l.At(e[0].Lerp(e[1], 0.5))))
	}
	n := min(refineMost, int(math.Ceil(math.Sqrt(off/refineTo))))
	if n < 2 {
		out.F = append(out.F, t)
		return
	}
	// Row i has the points at i/n of the way from c, i+1 of them from ca to bc.
	at := func(i, k int) int32 {
		switch {
		case i == 0:
			return t[2]
		case i == n && k == 0:
			return t[0]
		case i == n && k == n:
			return t[1]
		}
		p := c.Lerp(a, float64(i)/float64(n)).Add(b.Sub(a).Mul(float64(k) / float64(n)))
		out.V = append(out.V, onSurface(&l, p))
		return int32(len(out.V) - 1)
	}
	above := []int32{at(0, 0)}
	for i := 1; i <= n; i++ {
		row := make([]int32, i+1)
		for k := range row {
			row[k] = at(i, k)
		}
		for k := range above {
			out.F = append(out.F, [3]int32{row[k], row[k+1], above[k]})
			if k > 0 {
				out.F = append(out.F, [3]int32{above[k-1], row[k], above[k]})
			}
		}
		above = row
	}
}

// cells are those of a grid that are near some points.
type cells struct {
	size float64
	near map[[3]int32]bool
}

// cellsWithin returns cells that hold all within a distance of the points, and
// some more.
func cellsWithin(d float64, pts []geom.Vec) cells {
	const beside = 2 // cells to either side of one that are near it
	c := cells{d / beside, map[[3]int32]bool{}}
	own := map[[3]int32]bool{}
	for _, p := range pts {
		own[c.of(p)] = true
	}
	for o := range own {
		span([3]int32{o[0] - beside, o[1] - beside, o[2] - beside}, [3]int32{o[0] + beside, o[1] + beside, o[2] + beside},
			func(at [3]int32) bool { c.near[at] = true; return true })
	}
	return c
}

// of is the cell that p lies in.
func (c *cells) of(p geom.Vec) [3]int32 {
	at := func(x float64) int32 { return int32(math.Floor(x / c.size)) }
	return [3]int32{at(p.X), at(p.Y), at(p.Z)}
}

// hold reports whether p lies in one of the cells.
func (c *cells) hold(p geom.Vec) bool { return c.near[c.of(p)] }

// meet reports whether the box of a facet meets one of the cells.
func (c *cells) meet(p, q, r geom.Vec) bool {
	b := geom.EmptyBox().Include(p).Include(q).Include(r)
	return !span(c.of(b.Min), c.of(b.Max), func(at [3]int32) bool { return !c.near[at] })
}

// span calls visit for the cells from lo to hi while it returns true, and
// reports whether it always did.
func span(lo, hi [3]int32, visit func([3]int32) bool) bool {
	for x := lo[0]; x <= hi[0]; x++ {
		for y := lo[1]; y <= hi[1]; y++ {
			for z := lo[2]; z <= hi[2]; z++ {
				if !visit([3]int32{x, y, z}) {
					return false
				}
			}
		}
	}
	return true
}
