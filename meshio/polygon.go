package meshio

import "crownassay/geom"

// maxEars bounds the corners of a polygon that is not convex: cutting ears
// takes time with the square of it, up to the cube for a bad one.
const maxEars = 1024

// cut divides a polygon into len(corner)-2 facets that keep its direction and
// writes them to out. A convex polygon is cut as a fan, another by cutting off
// ears (G. Meisters, Polygons have ears, Amer. Math. Monthly 82, 1975), seen
// along its mean normal. It reports false for a polygon too large to cut.
func cut(v []geom.Vec, corner []int32, out [][3]int32) bool {
	p := flatten(v, corner)
	if p.convex() {
		for i := range out {
			out[i] = [3]int32{corner[0], corner[i+1], corner[i+2]}
		}
		return true
	}
	if len(corner) > maxEars {
		return false
	}
	p.cutEars(corner, out)
	return true
}

// flat is a polygon seen along its normal: counter-clockwise for a positive area.
type flat []point

type point struct{ x, y float64 }

// flatten looks at a polygon along its normal by M. Newell (area vector).
func flatten(v []geom.Vec, corner []int32) flat {
	o := v[corner[0]]
	var n geom.Vec
	for i := 1; i+1 < len(corner); i++ {
		n = n.Add(geom.TriangleNormal(o, v[corner[i]], v[corner[i+1]]))
	}
	n = n.Unit()
	e := n.Normal()
	g := n.Cross(e)
	p := make(flat, len(corner))
	for i, c := range corner {
		d := v[c].Sub(o)
		p[i] = point{d.Dot(e), d.Dot(g)}
	}
	return p
}

// turn is twice the area of abc, positive counter-clockwise.
func turn(a, b, c point) float64 {
	return float64((b.x-a.x)*(c.y-a.y)) - float64((b.y-a.y)*(c.x-a.x))
}

// convex reports whether a fan from corner 0 is right: the polygon turns left
// everywhere and goes around once, so corner 0 sees the others in order.
func (p flat) convex() bool {
	n := len(p)
	for i := range p {
		if turn(p[i], p[(i+1)%n], p[(i+2)%n]) < 0 {
			return false
		}
	}
	for i := 1; i+1 < n; i++ {
		if turn(p[0], p[i], p[i+1]) < 0 {
			return false
		}
	}
	return true
}

// cutEars cuts off the lowest ear until a triangle is left. A polygon that
// crosses itself may have none; then the lowest corner is cut.
func (p flat) cutEars(corner []int32, out [][3]int32) {
	left := make([]int, len(p))
	for i := range left {
		left[i] = i
	}
	for k := range out {
		i := p.ear(left)
		n := len(left)
		a, b, c := left[(i+n-1)%n], left[i], left[(i+1)%n]
		out[k] = [3]int32{corner[a], corner[b], corner[c]}
		left = append(left[:i], left[i+1:]...)
	}
}

// ear returns the place in left of the first corner that can be cut off.
func (p flat) ear(left []int) int {
	n := len(left)
	for i := range left {
		a, b, c := p[left[(i+n-1)%n]], p[left[i]], p[left[(i+1)%n]]
		if turn(a, b, c) > 0 && !p.occupied(left, a, b, c) {
			return i
		}
	}
	return 0
}

// occupied reports whether another corner lies in or on triangle abc. Corners
// at the same place as a, b or c do not count: polygons with holes cut open
// name a corner twice.
func (p flat) occupied(left []int, a, b, c point) bool {
	for _, i := range left {
		q := p[i]
		if q == a || q == b || q == c {
			continue
		}
		if turn(a, b, q) >= 0 && turn(b, c, q) >= 0 && turn(c, a, q) >= 0 {
			return true
		}
	}
	return false
}
