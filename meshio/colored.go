package meshio

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"image/color"
	"io"
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// Colored is a mesh with a value and its colour at each vertex, for any viewer.
type Colored struct {
	Mesh   *mesh.Mesh
	Colors []color.RGBA // sRGB, one a vertex
	Values []float64    // one a vertex; NaN where there is none
	Name   string       // what the values are, such as a reading's id
	Unit   string       // of the values

	// Up and Right are how it stands in a viewer, unit and square to one
	// another; zero for z up and x to the right.
	Up, Right geom.Vec
}

// check refuses what does not fit together.
func (c *Colored) check() error {
	if n := len(c.Mesh.V); len(c.Colors) != n || len(c.Values) != n || n == 0 || len(c.Mesh.F) == 0 {
		return fmt.Errorf("write coloured mesh: %d vertices, %d colours, %d values and %d facets do not fit together", n, len(c.Colors), len(c.Values), len(c.Mesh.F))
	}
	return nil
}

// WriteColoredPLY writes a binary PLY (little endian) with red, green, blue and
// the value of each vertex. Coordinates are those of the mesh, mm; a vertex
// without a value has NaN.
func WriteColoredPLY(w io.Writer, c *Colored) error {
	if err := c.check(); err != nil {
		return err
	}
	b := bufio.NewWriterSize(w, 1<<16)
	fmt.Fprintf(b, "ply\nformat binary_little_endian 1.0\ncomment coordinates in mm, value: %s in %s\nelement vertex %d\n"+
		"property double x\nproperty double y\nproperty double z\nproperty uchar red\nproperty uchar green\nproperty uchar blue\nproperty float value\n"+
		"element face %d\nproperty list uchar int vertex_indices\nend_header\n", c.Name, c.Unit, len(c.Mesh.V), len(c.Mesh.F))
	var rec []byte
	for i, v := range c.Mesh.V {
		k := c.Colors[i]
		rec = append(binaryVertex(rec[:0], v), k.R, k.G, k.B)
		b.Write(binary.LittleEndian.AppendUint32(rec, math.Float32bits(float32(c.Values[i]))))
	}
	for _, t := range c.Mesh.F {
		rec = binaryFacet(rec[:0], t)
		b.Write(rec)
	}
	return b.Flush()
}
