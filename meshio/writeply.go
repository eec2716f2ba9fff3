package meshio

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// WritePLY writes a PLY with vertices of type double and triangles, ASCII or
// binary (little endian). It reads back as the same mesh.
func WritePLY(w io.Writer, m *mesh.Mesh, ascii bool) error {
	b := bufio.NewWriterSize(w, 1<<16)
	format, vertex, facet := "binary_little_endian", binaryVertex, binaryFacet
	if ascii {
		format, vertex, facet = "ascii", asciiVertex, asciiFacet
	}
	fmt.Fprintf(b, "ply\nformat %s 1.0\nelement vertex %d\nproperty double x\nproperty double y\nproperty double z\n"+
		"element face %d\nproperty list uchar int vertex_indices\nend_header\n", format, len(m.V), len(m.F))
	var rec []byte
	for _, v := range m.V {
		rec = vertex(rec[:0], v)
		b.Write(rec)
	}
	for _, t := range m.F {
		rec = facet(rec[:0], t)
		b.Write(rec)
	}
	return b.Flush()
}

func binaryVertex(rec []byte, v geom.Vec) []byte {
	for _, x := range [...]float64{v.X, v.Y, v.Z} {
		rec = binary.LittleEndian.AppendUint64(rec, math.Float64bits(x))
	}
	return rec
}

func binaryFacet(rec []byte, t [3]int32) []byte {
	rec = append(rec, 3)
	for _, i := range t {
		rec = binary.LittleEndian.AppendUint32(rec, uint32(i))
	}
	return rec
}

func asciiVertex(rec []byte, v geom.Vec) []byte { return append(appendVec(rec, v)[1:], '\n') }

func asciiFacet(rec []byte, t [3]int32) []byte {
	return append(appendFacet(append(rec, '3'), t, 0), '\n')
}
