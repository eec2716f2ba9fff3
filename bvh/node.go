package bvh

import "math"

// node holds its two children beside one another, so that one cache line
// decides about both.
type node struct {
	box [2]box32 // grown outward, see roundGrow
	ref [2]int32 // inner node if >= 0, else leaf number ^ref
	_   [2]int32 // fills the line of 64 bytes
}

// distSq returns the squared distances from (x, y, z) to both boxes, as bits:
// those of floats that are not negative are in the same order.
func (n *node) distSq(x, y, z float32) (a, b int32) {
	p, q := &n.box[0], &n.box[1]
	px, qx := excess32(x, p[0][0], p[1][0]), excess32(x, q[0][0], q[1][0])
	py, qy := excess32(y, p[0][1], p[1][1]), excess32(y, q[0][1], q[1][1])
	pz, qz := excess32(z, p[0][2], p[1][2]), excess32(z, q[0][2], q[1][2])
	return int32(math.Float32bits(px*px + py*py + pz*pz)), int32(math.Float32bits(qx*qx + qy*qy + qz*qz))
}

// maxDepth bounds the depth of a tree and so the stacks of the queries: above
// heuristicDepth the surface area heuristic rules, below it ranges are halved
// by count, of which an int32 allows 31 levels.
const (
	heuristicDepth = 48
	maxDepth       = heuristicDepth + 32
)
