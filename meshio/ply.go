package meshio

import (
	"math"

	"crownassay/geom"
)

// plyReader reads the vertices and faces of a PLY; other elements and
// properties are passed over.
type plyReader struct {
	builder
	path     string
	src      plySource
	vertices int     // as the header counts them
	corner   []int32 // of the face, reused
}

func decodePLY(data []byte, path string) (*File, error) {
	h, err := readPLYHeader(data, path)
	if err != nil {
		return nil, err
	}
	d := &plyReader{path: path, src: h.source(data, path)}
	if err := d.check(h); err != nil {
		return nil, err
	}
	for i := range h.element {
		if err := d.element(&h.element[i]); err != nil {
			return nil, err
		}
	}
	m, err := d.finish(path)
	if err != nil {
		return nil, err
	}
	return &File{Format: h.format, Mesh: m, Notes: append(d.notes(), trailing(d.src)...)}, nil
}

// check looks for the elements that make a mesh and holds counts against the
// bytes there are.
func (d *plyReader) check(h *plyHeader) error {
	known := map[string]bool{}
	for i := range h.element {
		e := &h.element[i]
		if known[e.name] {
			return nowhere(d.path, hintAgain, "the header has the element %q twice", e.name)
		}
		known[e.name] = true
		if n := e.least(h.format == PLYASCII); n > 0 && e.count-1 > d.src.left()/n {
			return nowhere(d.path, hintAgain, "the file is cut off: the header counts %d rows of %q but %d bytes follow",
				e.count, e.name, d.src.left())
		}
		if e.name == "vertex" {
			d.vertices = e.count
		}
	}
	return d.complete(known)
}

// complete refuses a PLY without the elements of a mesh.
func (d *plyReader) complete(known map[string]bool) error {
	const hint = "export the surface as triangles"
	switch {
	case known["vertex"] && known["face"]:
		return nil
	case known["tristrips"]:
		return &UnsupportedError{d.path, "the PLY holds triangle strips, which are not read", hint}
	case known["vertex"]:
		return &UnsupportedError{d.path, "the PLY holds points but no faces", hint}
	}
	return &UnsupportedError{d.path, "the PLY has no vertices", hint}
}

func (d *plyReader) element(e *plyElement) error {
	switch e.name {
	case "vertex":
		return d.readVertices(e)
	case "face":
		return d.readFaces(e)
	}
	if len(e.property) == 0 {
		return nil
	}
	for row := range e.count {
		for _, p := range e.property {
			if err := skip(d.src, p, e, row); err != nil {
				return err
			}
		}
	}
	return nil
}

func (d *plyReader) readVertices(e *plyElement) error {
	axis := [3]int{e.find("x"), e.find("y"), e.find("z")}
	for _, i := range axis {
		if i < 0 || e.property[i].list {
			return nowhere(d.path, hintAgain, "the vertices have no x, y and z")
		}
	}
	role := make([]int, len(e.property))
	for k, i := range axis {
		role[i] = k + 1
	}
	d.v = make([]geom.Vec, 0, e.count) // bounded by check
	for row := range e.count {
		v, err := d.vertex(e, row, role)
		if err != nil {
			return err
		}
		d.v = append(d.v, v)
	}
	return nil
}

// vertex reads one row; role says which property is x, y, z (1, 2, 3).
func (d *plyReader) vertex(e *plyElement, row int, role []int) (geom.Vec, error) {
	var x [4]float64
	for i, p := range e.property {
		if role[i] == 0 {
			if err := skip(d.src, p, e, row); err != nil {
				return geom.Vec{}, err
			}
			continue
		}
		v, err := need(d.src, p.kind, e, row)
		if err == nil && !finite(v) {
			err = d.src.fail(hintAgain, "%s has a coordinate that is not a finite number", e.describe(row))
		}
		if err != nil {
			return geom.Vec{}, err
		}
		x[role[i]] = v
	}
	return geom.V(x[1], x[2], x[3]), nil
}

func (d *plyReader) readFaces(e *plyElement) error {
	at := e.find("vertex_indices", "vertex_index")
	if at < 0 || !e.property[at].list {
		return nowhere(d.path, hintAgain, "the faces have no list of vertex_indices")
	}
	d.f = make([][3]int32, 0, e.count) // bounded by check
	for row := range e.count {
		for i, p := range e.property {
			err := error(nil)
			if i == at {
				err = d.face(p, e, row)
			} else {
				err = skip(d.src, p, e, row)
			}
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// face reads one list of vertex indices.
func (d *plyReader) face(p plyProperty, e *plyElement, row int) error {
	n, err := needCount(d.src, p, e, row)
	if err != nil {
		return err
	}
	d.corner = d.corner[:0]
	for range n {
		x, err := need(d.src, p.kind, e, row)
		if err != nil {
			return err
		}
		if !(x >= 0 && x < float64(d.vertices)) || x != math.Trunc(x) {
			return d.src.fail(hintAgain, "%s names vertex %g; there are vertices 0 to %d", e.describe(row), x, d.vertices-1)
		}
		d.corner = append(d.corner, int32(x))
	}
	d.polygon(d.corner)
	return nil
}
