package meshio

import (
	"fmt"
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// builder gathers the vertices and polygons of an indexed file. Facets may
// come before the vertices they name, so polygons of more than three corners
// hold their places and are cut at the end.
type builder struct {
	v       []geom.Vec
	f       [][3]int32
	pending []pending
	short   int // polygons of fewer than three corners, left out
}

// pending is a polygon to be cut into the facets from index at on.
type pending struct {
	at     int
	corner []int32
}

// polygon adds a polygon; the corners are copied.
func (b *builder) polygon(corner []int32) {
	switch n := len(corner); {
	case n < 3:
		b.short++
	case n == 3:
		b.f = append(b.f, [3]int32(corner))
	default:
		b.pending = append(b.pending, pending{len(b.f), append([]int32(nil), corner...)})
		b.f = append(b.f, make([][3]int32, n-2)...)
	}
}

// finish cuts the polygons and welds the vertices. Indices must be in range.
func (b *builder) finish(path string) (*mesh.Mesh, error) {
	if len(b.f) > math.MaxInt32/3 {
		return nil, &UnsupportedError{path, fmt.Sprintf("the file has %d facets", len(b.f)), "export it with fewer"}
	}
	for _, p := range b.pending {
		if !cut(b.v, p.corner, b.f[p.at:p.at+len(p.corner)-2]) {
			return nil, &UnsupportedError{path, fmt.Sprintf("a polygon that is not convex has %d corners", len(p.corner)),
				"export the surface as triangles"}
		}
	}
	return weld(b.v, b.f), nil
}

// notes tells what was left out.
func (b *builder) notes() []string {
	if b.short == 0 {
		return nil
	}
	return []string{fmt.Sprintf("%d faces of fewer than three corners were left out", b.short)}
}
