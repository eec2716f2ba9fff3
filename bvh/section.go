package bvh

import (
	"math"

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
	c := cutter{t: t}
	return c.section(pl, center, radius)
}

// cutter makes sections; it may be used again for another of the same tree.
type cutter struct {
	t         *Tree
	crossings []crossing
	places    places
	heads     []head
}

// crossing is a facet that the plane cuts.
type crossing struct {
	facet      int32
	start, end int32 // half-edges where its segment begins and ends
	next       int32 // place of the crossing that goes on from end, or -1
	prev       int32
	used       bool
}

func (c *cutter) section(pl geom.Plane, center geom.Vec, radius float64) []Polyline {
	c.crossings = c.crossings[:0]
	if !(radius >= 0) || !pl.Normal.Finite() || math.IsNaN(pl.Offset) {
		return nil
	}
	c.collect(&pl, center, radius)
	c.link()
	return c.chains(&pl)
}

// collect finds the facets that are cut, in leaf order.
func (c *cutter) collect(pl *geom.Plane, center geom.Vec, radius float64) {
	rSq := radius * radius
	abs := geom.Vec{X: math.Abs(pl.Normal.X), Y: math.Abs(pl.Normal.Y), Z: math.Abs(pl.Normal.Z)}
	want := func(b *box32) bool {
		return b.meets(pl, abs) && b.distSq(center.X, center.Y, center.Z) <= rSq*roundSlack
	}
	c.t.walk(want, func(i int32) {
		p, q, r := c.t.corners(i)
		up := [3]bool{pl.Side(*p) >= 0, pl.Side(*q) >= 0, pl.Side(*r) >= 0}
		if up[0] == up[1] && up[1] == up[2] || boxDistSq(p, q, r, &center) > rSq {
			return
		}
		c.crossings = append(c.crossings, newCrossing(c.t.order[i], up))
	})
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

// meets reports whether the plane may cut the box; abs is the plane's normal
// with positive components.
func (b *box32) meets(pl *geom.Plane, abs geom.Vec) bool {
	lo, hi := vec(&b[0]), vec(&b[1])
	mid, half := lo.Add(hi).Mul(0.5), hi.Sub(lo).Mul(0.5)
	size := abs.X*math.Abs(mid.X) + abs.Y*math.Abs(mid.Y) + abs.Z*math.Abs(mid.Z) + math.Abs(pl.Offset)
	return math.Abs(pl.Side(mid)) <= abs.Dot(half)+size*roundGrow
}
