package bvh

// node holds its two children beside one another, so that one cache line
// decides about both.
type node struct {
	box [2]box32 // grown outward, see roundGrow
	ref [2]int32 // inner node if >= 0, else leaf number ^ref
	_   [2]int32 // fills the line of 64 bytes
}

// distSq returns the squared distances from (x, y, z) to both boxes.
func (n *node) distSq(x, y, z float64) (a, b float64) {
	p, q := &n.box[0], &n.box[1]
	px, qx := excess(x, p[0][0], p[1][0]), excess(x, q[0][0], q[1][0])
	py, qy := excess(y, p[0][1], p[1][1]), excess(y, q[0][1], q[1][1])
	pz, qz := excess(z, p[0][2], p[1][2]), excess(z, q[0][2], q[1][2])
	return float64(px*px) + float64(py*py) + float64(pz*pz),
		float64(qx*qx) + float64(qy*qy) + float64(qz*qz)
}

// maxDepth bounds the depth of a tree and so the stacks of the queries: above
// heuristicDepth the surface area heuristic rules, below it ranges are halved
// by count, of which an int32 allows 31 levels.
const (
	heuristicDepth = 48
	maxDepth       = heuristicDepth + 32
)

// waiting is a subtree still to be visited.
type waiting struct {
	ref int32
	at  float64 // where it begins: squared distance, or T of a ray
}
