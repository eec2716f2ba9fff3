package bvh

import (
	"math"
	"sync"

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
// of center; pieces end where these end.
func (t *Tree) SectionNear(pl geom.Plane, center geom.Vec, radius float64) []Polyline {
	var out [1][]Polyline
	t.Sections([]geom.Plane{pl}, center, radius, out[:])
	return out[0]
}

// Sections writes the sections by some planes to out, each as SectionNear
// gives it. It takes the tree's walk only once for planes that are a bundle:
// in order about a line, by less than half a turn, or parallel.
func (t *Tree) Sections(planes []geom.Plane, center geom.Vec, radius float64, out [][]Polyline) {
	c := cutters.Get().(*cutter)
	c.t = t
	defer func() {
		c.t = nil
		cutters.Put(c)
	}()
	if bundled(planes, center) {
		c.sections(planes, center, radius, out)
		return
	}
	for i := range planes {
		c.sections(planes[i:i+1], center, radius, out[i:])
	}
}

// cutter makes sections; it may be used again for others of the same tree.
type cutter struct {
	t         *Tree
	cut       [][]crossing // by plane
	crossings []crossing   // those of the plane at hand
	places    places
	heads     []head
}

// cutters are ready to be used again, with room for what they hold.
var cutters = sync.Pool{New: func() any { return new(cutter) }}

// crossing is a facet that the plane cuts.
type crossing struct {
	facet      int32
	start, end int32 // half-edges where its segment begins and ends
	next       int32 // place of the crossing that goes on from end, or -1
	prev       int32
	used       bool
}

// sections cuts by a bundle of planes.
func (c *cutter) sections(planes []geom.Plane, center geom.Vec, radius float64, out [][]Polyline) {
	for len(c.cut) < len(planes) {
		c.cut = append(c.cut, nil)
	}
	for i := range planes {
		c.cut[i], out[i] = c.cut[i][:0], nil
		if !planes[i].Normal.Finite() || math.IsNaN(planes[i].Offset) {
			return // a single one, since it is no bundle
		}
	}
	if !(radius >= 0) || c.t.Empty() || len(planes) == 0 {
		return
	}
	c.collect(planes, center, radius)
	for i := range planes {
		c.crossings = c.cut[i]
		c.link()
		out[i] = c.chains(&planes[i])
	}
}

// collect finds the facets that each plane of a bundle cuts, in leaf order.
func (c *cutter) collect(planes []geom.Plane, center geom.Vec, radius float64) {
	t, rSq := c.t, radius*radius
	lean := newLean(planes, t.box)
	var stack [maxDepth + 1]int32
	stack[0] = t.root
	for top := 0; top >= 0; {
		ref := stack[top]
		top--
		if ref < 0 {
			c.leaf(ref, planes, &lean, &center, rSq)
			continue
		}
		n := &t.nodes[ref]
		for k := 1; k >= 0; k-- {
			if b := &n.box[k]; lean.meets(b) && b.distSq(center.X, center.Y, center.Z) <= rSq*roundSlack {
				top++
				stack[top] = n.ref[k]
			}
		}
	}
}

// leaf finds the facets of a leaf that the planes cut.
func (c *cutter) leaf(ref int32, planes []geom.Plane, lean *lean, center *geom.Vec, rSq float64) {
	first, end := c.t.leaf(ref)
	for i := first; i < end; i++ {
		p, q, r := c.t.corners(i)
		if len(planes) > 2 && lean.passes(p, q, r) {
			continue
		}
		near := false
		for k := range planes {
			pl := &planes[k]
			up := [3]bool{pl.Side(*p) >= 0, pl.Side(*q) >= 0, pl.Side(*r) >= 0}
			if up[0] == up[1] && up[1] == up[2] {
				continue
			}
			if near = near || p.DistSq(*center) <= rSq || boxDistSq(p, q, r, center) <= rSq; !near {
				break
			}
			c.cut[k] = append(c.cut[k], newCrossing(c.t.order[i], up))
		}
	}
}

// boxDistSq returns the squared distance from o to the box of a facet.
func boxDistSq(a, b, c, o *geom.Vec) float64 {
	x := max(min(a.X, b.X, c.X)-o.X, o.X-max(a.X, b.X, c.X), 0)
	y := max(min(a.Y, b.Y, c.Y)-o.Y, o.Y-max(a.Y, b.Y, c.Y), 0)
	z := max(min(a.Z, b.Z, c.Z)-o.Z, o.Z-max(a.Z, b.Z, c.Z), 0)
	return float64(x*x) + float64(y*y) + float64(z*z)
}

// newCrossing finds the half-edges that lead down through the plane, where
// the segment begins, and up again.
func newCrossing(f int32, up [3]bool) crossing {
	x := crossing{facet: f, next: -1, prev: -1}
	for k := range int32(3) {
		switch next := (k + 1) % 3; {
		case up[k] && !up[next]:
			x.start = 3*f + k
		case !up[k] && up[next]:
			x.end = 3*f + k
		}
	}
	return x
}
