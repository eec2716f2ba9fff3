package bvh

import "math"

// Ranges are parted where the surface area heuristic is least among the
// bounds of equal bins along the widest axis of their box.
// Source: I. Wald, On fast construction of SAH-based bounding volume
// hierarchies, IEEE Symposium on Interactive Ray Tracing 2007.

// maxBins is how many bins a long range gets; short ones get fewer.
const maxBins = 16

type bin struct {
	span  span
	count int
}

// split parts prims[lo:hi] in place and returns where, and the boxes of the
// two sides.
func (b *builder) split(lo, hi, depth int, box *box32) (mid int, left, right box32) {
	ps := b.prims[lo:hi]
	if depth < heuristicDepth {
		for _, g := range [2]grid{boxGrid(box, len(ps)), {}} {
			if g.bins == 0 {
				g = centerGrid(ps)
			}
			if n, l, r := g.part(ps); n > 0 && n < len(ps) {
				return lo + n, l, r
			}
		}
	}
	n := len(ps) / 2
	return lo + n, bounds(ps[:n]), bounds(ps[n:])
}

func bounds(ps []prim) box32 {
	s := noSpan
	for i := range ps {
		s.include(&ps[i].span)
	}
	return s.box()
}

// grid lays bins along an axis; positions are doubled centres.
type grid struct {
	axis      int
	lo, scale float32
	bins      int
}

func newGrid(axis int, lo, hi float32, bins int) grid {
	g := grid{axis: axis, lo: lo, scale: float32(bins) / (hi - lo), bins: bins}
	if !(g.scale > 0) || math.IsInf(float64(g.scale), 0) {
		g.scale = 0 // no extent: all in the first bin
	}
	return g
}

// boxGrid spans the box of the range, which costs no look at its facets.
func boxGrid(box *box32, n int) grid {
	k := box.widest()
	return newGrid(k, 2*box[0][k], 2*box[1][k], min(4+n/4, maxBins))
}

// centerGrid spans the centres, for ranges whose boxes are much wider.
func centerGrid(ps []prim) grid {
	c := emptyBox32()
	for i := range ps {
		for k := range 3 {
			x := ps[i].span.center2(k)
			c[0][k], c[1][k] = min(c[0][k], x), max(c[1][k], x)
		}
	}
	k := c.widest()
	return newGrid(k, c[0][k], c[1][k], maxBins)
}

func (g *grid) slot(p *prim) int32 {
	x := p.span.center2(g.axis)
	return min(max(int32(float32((x-g.lo)*g.scale)), 0), int32(g.bins-1))
}

// part moves the facets left of the cheapest cut to the front and returns
// their number and the boxes of both sides.
func (g *grid) part(ps []prim) (n int, left, right box32) {
	var store [maxBins]bin
	bs := store[:g.bins]
	for i := range bs {
		bs[i] = bin{span: noSpan}
	}
	for i := range ps {
		ps[i].bin = g.slot(&ps[i])
		j := &bs[ps[i].bin]
		j.span.include(&ps[i].span)
		j.count++
	}
	cut, left, right := cheapest(bs)
	return partition(ps, cut), left, right
}

// cheapest returns the first bin of the right side of the best cut, the lowest
// of equal ones, and the boxes of both sides.
func cheapest(bs []bin) (cut int, left, right box32) {
	var rights [maxBins]span
	var costs [maxBins]float32
	acc, n := noSpan, 0
	for i := len(bs) - 1; i > 0; i-- {
		acc.include(&bs[i].span)
		n += bs[i].count
		rights[i], costs[i] = acc, acc.area()*float32(n)
	}
	acc, n = noSpan, 0
	var best span
	cut, cost := 1, float32(math.Inf(1))
	for i := 1; i < len(bs); i++ {
		acc.include(&bs[i-1].span)
		n += bs[i-1].count
		if c := float32(acc.area()*float32(n)) + costs[i]; c < cost {
			cut, cost, best = i, c, acc
		}
	}
	return cut, best.box(), rights[cut].box()
}

// partition moves the facets in bins below cut to the front and returns their
// number.
func partition(ps []prim, cut int) int {
	i, j := 0, len(ps)
	for i < j {
		if ps[i].bin < int32(cut) {
			i++
			continue
		}
		j--
		ps[i], ps[j] = ps[j], ps[i]
	}
	return i
}
