package bvh

import "crownassay/geom"

// prism bounds a facet by its plane and the three planes through its edges
// square to it, all seen from the centre of its leaf's patch. It gives a lower
// bound of the distance that is sharp but for queries past a corner, for a
// sixth of the work.
type prism struct {
	n          plane32 // of the facet; zero for a thin facet, whose bound is 0
	ab, bc, ca plane32 // through the edges, negative outside
}

// plane32 is x, y, z of a unit normal and the value at the origin.
type plane32 [4]float32

func newPlane32(n, p geom.Vec) plane32 {
	return plane32{float32(n.X), float32(n.Y), float32(n.Z), float32(-n.Dot(p))}
}

func (p *plane32) thin() bool { return p[0] == 0 && p[1] == 0 && p[2] == 0 }

// newPrism returns the prism of a facet that is not thin.
func newPrism(a, b, c geom.Vec) prism {
	n := geom.TriangleNormal(a, b, c).Unit()
	return prism{
		newPlane32(n, a),
		newPlane32(n.Cross(b.Sub(a)).Unit(), a),
		newPlane32(n.Cross(c.Sub(b)).Unit(), b),
		newPlane32(n.Cross(a.Sub(c)).Unit(), c),
	}
}

// prismSlack times the sum of the query's and the patch's coordinates is more
// than the error of either distance in lowerSq: each is four terms of float32,
// every one good to 3 x 2^-24 of that sum.
const prismSlack = 1e-6

// lowerSq returns the squared distance to the facet or something less, with
// an error in its root of prismSlack. Fused or not, that holds.
func (t *prism) lowerSq(x, y, z float32) float32 {
	h := t.n[0]*x + t.n[1]*y + t.n[2]*z + t.n[3]
	a := t.ab[0]*x + t.ab[1]*y + t.ab[2]*z + t.ab[3]
	b := t.bc[0]*x + t.bc[1]*y + t.bc[2]*z + t.bc[3]
	c := t.ca[0]*x + t.ca[1]*y + t.ca[2]*z + t.ca[3]
	e := min(a, b, c, 0)
	return h*h + e*e
}
