package bvh

import (
	"math"

	"crownassay/geom"
)

// steps is a grid over a tree's box. Whole numbers of its steps tell how far
// boxes are from a query, never too far, in fewer instructions than floats: a
// maximum of whole numbers needs no branch.
type steps struct {
	lo    geom.Vec
	scale float64 // steps a mm
}

// The root's box is stepsAcross steps wide, 1 um each for a full arch, and begins
// at stepsBefore, so that all that is near it is told in 16 bits: small nodes
// are read faster. Queries farther out than stepsMost steps are taken to be
// there, so that squares stay within 63 bits.
const (
	stepsAcross = 1<<16 - 2*stepsBefore
	stepsBefore = 4
	stepsMost   = 1 << 29
)

// newSteps lays the grid over the root's boxes.
func newSteps(root *[2]box32) steps {
	b := geom.EmptyBox()
	for i := range root {
		b = b.Include(vec(&root[i][0])).Include(vec(&root[i][1]))
	}
	s := b.Size()
	scale := stepsAcross / max(s.X, s.Y, s.Z)
	if !(scale > 0 && !math.IsInf(scale, 1)) { // no extent, or more than any number of steps
		scale = 1
	}
	d := stepsBefore / scale
	return steps{b.Min.Sub(geom.V(d, d, d)), scale}
}

// below returns the last step at or before x along an axis that begins at lo.
func (g *steps) below(x, lo float64) int64 {
	return int64(math.Floor(max(-stepsMost, min(stepsMost, (x-lo)*g.scale))))
}

// cell is the cell that p lies in.
func (g *steps) cell(p geom.Vec) [3]int64 {
	return [3]int64{g.below(p.X, g.lo.X), g.below(p.Y, g.lo.Y), g.below(p.Z, g.lo.Z)}
}

// squared returns, in steps, the squared distance that no box within dist
// exceeds.
func (g *steps) squared(dist float64) int64 {
	d := dist * g.scale * (1 + 1.0/(1<<40))
	if !(d < stepsMost) {
		return math.MaxInt64
	}
	return int64(d*d) + 1
}

// stepNode is a node in steps, for searches.
type stepNode struct {
	lo, hi [2][3]uint16
	ref    [2]int32
}

// node returns n in steps. A cell reaches from its number to the next, and
// boxes are grown by one more for rounding.
func (g *steps) node(n *node) stepNode {
	out := stepNode{ref: n.ref}
	for i := range n.box {
		lo, hi := g.cell(vec(&n.box[i][0])), g.cell(vec(&n.box[i][1]))
		for k := range lo {
			out.lo[i][k], out.hi[i][k] = uint16(lo[k]-2), uint16(hi[k]+2)
		}
	}
	return out
}

// distSq returns squared distances, in steps, from the cell at (x, y, z) to
// both boxes, or less.
func (n *stepNode) distSq(x, y, z int64) (a, b int64) {
	px, qx := beside(x, n.lo[0][0], n.hi[0][0]), beside(x, n.lo[1][0], n.hi[1][0])
	py, qy := beside(y, n.lo[0][1], n.hi[0][1]), beside(y, n.lo[1][1], n.hi[1][1])
	pz, qz := beside(z, n.lo[0][2], n.hi[0][2]), beside(z, n.lo[1][2], n.hi[1][2])
	return px*px + py*py + pz*pz, qx*qx + qy*qy + qz*qz
}

// beside is how far x lies outside [lo, hi], 0 inside.
func beside(x int64, lo, hi uint16) int64 { return max(int64(lo)-x, x-int64(hi), 0) }
