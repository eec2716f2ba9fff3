package bvh

import (
	"math"
	"slices"

	"crownassay/geom"
)

// Polyline is one connected piece of a section.
//
// With the plane's normal pointing at the viewer, the outside of the surface
// lies on the right of the direction of travel: the section of a closed shell
// runs counter-clockwise around its inside. That is, each segment runs along
// plane normal x facet normal.
type Polyline struct {
	Points []geom.Vec // a closed one does not repeat its first point
	Facets []int32    // Facets[i] holds the segment from point i to point i+1
	Closed bool
}

// Section cuts the mesh by a plane. Pieces come in the order of their lowest
// facet; a closed one starts on it. Segments are chained through the mesh's
// edges, never by coordinates; a chain ends at borders and at edges that have
// more than two facets or disagree about the outside.
//
// A vertex exactly on the plane counts as lying on the positive side
// (H. Edelsbrunner, E. P. Muecke, Simulation of simplicity, ACM Transactions
// on Graphics 9 (1990) 66-104), so every facet is cut in one segment or none.
// Segments without length, which arise there, are left out.
func (t *Tree) Section(pl geom.Plane) []Polyline {
	return t.SectionNear(pl, geom.Vec{}, math.Inf(1))
}

// SectionNear is Section for those facets only whose box comes within radius
// of center.
func (t *Tree) SectionNear(pl geom.Plane, center geom.Vec, radius float64) []Polyline {
	c := cut{t: t, pl: pl}
	c.collect(center, radius)
	return c.chains()
}

// cut is a section on its way.
type cut struct {
	t      *Tree
	pl     geom.Plane
	facets []int32 // crossed facets, rising
	used   []bool
}

// collect finds the crossed facets.
func (c *cut) collect(center geom.Vec, radius float64) {
	if len(c.t.nodes) == 0 || !(radius >= 0) {
		return
	}
	rSq := radius * radius
	want := func(n *node, k int) bool {
		return n.distSq(k, &center) <= rSq*roundSlack && n.meets(k, &c.pl)
	}
	c.t.walk(want, func(f int32) {
		if _, _, ok := c.crossing(f); !ok {
			return
		}
		a, b, d := c.t.m.Corner(f)
		if geom.EmptyBox().Include(a).Include(b).Include(d).DistSq(center) <= rSq {
			c.facets = append(c.facets, f)
		}
	})
	slices.Sort(c.facets)
	c.used = make([]bool, len(c.facets))
}

// meets reports whether the plane may cross the box of child k.
func (n *node) meets(k int, pl *geom.Plane) bool {
	lo, hi := &n.lo[k], &n.hi[k]
	mid := [3]float64{}
	half := [3]float64{}
	for i := range 3 {
		mid[i] = 0.5 * (float64(lo[i]) + float64(hi[i]))
		half[i] = 0.5 * (float64(hi[i]) - float64(lo[i]))
	}
	nx, ny, nz := math.Abs(pl.Normal.X), math.Abs(pl.Normal.Y), math.Abs(pl.Normal.Z)
	reach := float64(nx*half[0]) + float64(ny*half[1]) + float64(nz*half[2])
	size := float64(nx*math.Abs(mid[0])) + float64(ny*math.Abs(mid[1])) + float64(nz*math.Abs(mid[2])) + math.Abs(pl.Offset)
	return math.Abs(pl.Side(geom.Vec{X: mid[0], Y: mid[1], Z: mid[2]})) <= reach+size*roundGrow
}

// above reports on which side a vertex counts.
func (c *cut) above(v int32) bool { return c.pl.Side(c.t.m.V[v]) >= 0 }

// crossing returns the corners from which the two crossed half-edges of f
// start: from above to below where the segment begins, and back where it ends.
func (c *cut) crossing(f int32) (start, end int32, ok bool) {
	v := &c.t.m.F[f]
	up := [3]bool{c.above(v[0]), c.above(v[1]), c.above(v[2])}
	if up[0] == up[1] && up[1] == up[2] {
		return 0, 0, false
	}
	for k := range int32(3) {
		switch next := (k + 1) % 3; {
		case up[k] && !up[next]:
			start = k
		case !up[k] && up[next]:
			end = k
		}
	}
	return start, end, true
}

// point returns where half-edge h meets the plane, the same digits for both
// half-edges of an edge.
func (c *cut) point(h int32) geom.Vec {
	a, b := c.t.m.From(h), c.t.m.To(h)
	if a > b {
		a, b = b, a
	}
	p, q := c.t.m.V[a], c.t.m.V[b]
	s, e := c.pl.Side(p), c.pl.Side(q)
	return p.Lerp(q, s/(s-e))
}

// across returns the place in c.facets of the facet on the other side of
// half-edge h, or -1.
func (c *cut) across(h int32) int {
	o := c.t.pseudo().adj.Opposite[h]
	if o < 0 {
		return -1
	}
	if i, ok := slices.BinarySearch(c.facets, o/3); ok {
		return i
	}
	return -1
}

func (c *cut) chains() []Polyline {
	var out []Polyline
	for i := range c.facets {
		if c.used[i] {
			continue
		}
		first, closed := c.rewind(i)
		if p := c.chain(first, closed); len(p.Facets) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// rewind walks back from place i to the first segment of its chain, or around
// to i itself if the chain is closed.
func (c *cut) rewind(i int) (first int, closed bool) {
	for at := i; ; {
		f := c.facets[at]
		start, _, _ := c.crossing(f)
		prev := c.across(3*f + start)
		if prev < 0 {
			return at, false
		}
		if prev == i {
			return i, true
		}
		at = prev
	}
}

// chain walks forward from place i, marking what it uses.
func (c *cut) chain(i int, closed bool) Polyline {
	p := Polyline{Closed: closed}
	for at := i; at >= 0 && !c.used[at]; {
		f := c.facets[at]
		c.used[at] = true
		start, end, _ := c.crossing(f)
		p.add(c.point(3*f+start), f)
		at = c.across(3*f + end)
		if at < 0 || c.used[at] {
			p.finish(c.point(3*f + end))
		}
	}
	return p
}

// add appends the start of a segment on facet f; a segment before it that has
// no length is replaced.
func (p *Polyline) add(start geom.Vec, f int32) {
	if n := len(p.Points); n > 0 && p.Points[n-1] == start {
		p.Facets[n-1] = f
		return
	}
	p.Points = append(p.Points, start)
	p.Facets = append(p.Facets, f)
}

// finish ends the polyline at point e.
func (p *Polyline) finish(e geom.Vec) {
	n := len(p.Facets)
	if p.Points[n-1] == e {
		p.Facets = p.Facets[:n-1]
		if p.Closed {
			p.Points = p.Points[:n-1]
		}
		return
	}
	if !p.Closed {
		p.Points = append(p.Points, e)
	}
}
