package bvh

// node holds its two children beside one another, so that one cache line
// decides about both.
type node struct {
	box [2]box32 // grown outward, see roundGrow
	ref [2]int32 // inner node if >= 0, else leaf number ^ref
	_   [2]int32 // fills the line of 64 bytes
}

// maxDepth bounds the depth of a tree and so the stacks of the queries: above
// heuristicDepth the surface area heuristic rules, below it ranges are halved
// by count, of which an int32 allows 31 levels.
const (
	heuristicDepth = 48
	maxDepth       = heuristicDepth + 32
)
