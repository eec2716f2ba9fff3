package bvh

import (
	"slices"

	"crownassay/geom"
)

// link finds the successor of every crossing: the crossing of the facet on
// the other side of the edge where its segment ends.
func (c *cutter) link() {
	c.places.fill(c.crossings)
	adj := c.t.adjacency()
	for i := range c.crossings {
		o := adj.Opposite[c.crossings[i].end]
		if o < 0 {
			continue
		}
		if j := c.places.of(c.crossings, o/3); j >= 0 {
			c.crossings[i].next, c.crossings[j].prev = j, int32(i)
		}
	}
}

// chains turns linked crossings into polylines.
func (c *cutter) chains(pl *geom.Plane) []Polyline {
	var out []Polyline
	points := make([]geom.Vec, 0, len(c.crossings)+4)
	facets := make([]int32, 0, len(c.crossings))
	c.heads = c.heads[:0]
	for i := range c.crossings {
		if !c.crossings[i].used {
			c.heads = append(c.heads, c.head(int32(i)))
		}
	}
	slices.SortFunc(c.heads, func(a, b head) int { return int(a.lowest) - int(b.lowest) })
	for _, h := range c.heads {
		p, f := len(points), len(facets)
		points, facets = c.chain(pl, h, points, facets)
		if n := len(facets); n > f {
			out = append(out, Polyline{points[p:len(points):len(points)], facets[f:n:n], h.closed})
		}
	}
	return out
}

// head is where a chain starts.
type head struct {
	first  int32 // place of its first crossing
	lowest int32 // facet
	closed bool
}

// head finds the start of the chain of crossing i and marks its crossings: a
// closed one starts on its lowest facet.
func (c *cutter) head(i int32) head {
	h := head{first: i, lowest: c.crossings[i].facet}
	at, low := i, i
	for at >= 0 && !c.crossings[at].used {
		low = c.mark(at, low)
		at = c.crossings[at].next
	}
	h.closed = at == i
	for !h.closed && c.crossings[h.first].prev >= 0 {
		h.first = c.crossings[h.first].prev
		low = c.mark(h.first, low)
	}
	if h.lowest = c.crossings[low].facet; h.closed {
		h.first = low
	}
	return h
}

// mark marks a crossing as used and returns the lower of it and another.
func (c *cutter) mark(at, low int32) int32 {
	c.crossings[at].used = true
	if c.crossings[at].facet < c.crossings[low].facet {
		return at
	}
	return low
}

// chain appends the points and facets of the chain that starts at h;
// nothing if all its segments are without length.
func (c *cutter) chain(pl *geom.Plane, h head, points []geom.Vec, facets []int32) ([]geom.Vec, []int32) {
	base, last := len(points), h.first
	for at := h.first; at >= 0; {
		x := &c.crossings[at]
		last = at
		if at = x.next; at == h.first {
			at = -1
		}
		p := c.point(pl, x.start)
		if n := len(points); n > base && points[n-1] == p {
			facets[len(facets)-1] = x.facet
			continue
		}
		points, facets = append(points, p), append(facets, x.facet)
	}
	end := points[base]
	if !h.closed {
		end = c.point(pl, c.crossings[last].end)
	}
	if n := len(points); points[n-1] == end {
		facets = facets[:len(facets)-1]
		if h.closed || n == base+1 {
			points = points[:n-1]
		}
	} else if !h.closed {
		points = append(points, end)
	}
	return points, facets
}

// point returns where half-edge h meets the plane, the same digits for both
// half-edges of an edge.
func (c *cutter) point(pl *geom.Plane, h int32) geom.Vec {
	a, b := c.t.m.From(h), c.t.m.To(h)
	if a > b {
		a, b = b, a
	}
	p, q := c.t.m.V[a], c.t.m.V[b]
	s, e := pl.Side(p), pl.Side(q)
	return p.Lerp(q, s/(s-e))
}

// places finds crossings by facet: a hash table with open addressing of
// places + 1.
type places struct {
	table []int32
	shift uint
}

// fill enters all crossings.
func (p *places) fill(xs []crossing) {
	size, shift := 4, uint(30)
	for size < 2*len(xs) {
		size, shift = 2*size, shift-1
	}
	if cap(p.table) < size {
		p.table = make([]int32, size)
	}
	p.table, p.shift = p.table[:size], shift
	clear(p.table)
	for i := range xs {
		at := p.slot(xs[i].facet)
		for p.table[at] != 0 {
			at = (at + 1) & (size - 1)
		}
		p.table[at] = int32(i) + 1
	}
}

// slot is Fibonacci hashing: the upper bits of the product with 2^32 / phi.
func (p *places) slot(facet int32) int { return int(uint32(facet) * 0x9E3779B1 >> p.shift) }

// of returns the place of the crossing of a facet, or -1.
func (p *places) of(xs []crossing, facet int32) int32 {
	for at := p.slot(facet); p.table[at] != 0; at = (at + 1) & (len(p.table) - 1) {
		if i := p.table[at] - 1; xs[i].facet == facet {
			return i
		}
	}
	return -1
}
