package meshio

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strconv"

	"crownassay/geom"
	"crownassay/mesh"
)

// WriteSTL writes a binary STL. Coordinates are rounded to float32, which at
// 50 mm moves a point by 2 nm at most; one beyond float32 is an error.
func WriteSTL(w io.Writer, m *mesh.Mesh) error {
	b := bufio.NewWriterSize(w, 1<<16)
	var head [stlHead]byte
	copy(head[:], "binary STL") // must not begin with "solid"
	binary.LittleEndian.PutUint32(head[80:], uint32(len(m.F)))
	b.Write(head[:])
	var rec [stlFacet]byte
	for f := range m.F {
		p, q, r := m.Corner(int32(f))
		for k, v := range [...]geom.Vec{geom.TriangleNormal(p, q, r).Unit(), p, q, r} {
			if !finite(v.X) || !finite(v.Y) || !finite(v.Z) {
				return fmt.Errorf("encode STL: facet %d has a coordinate beyond float32", f)
			}
			putVec(rec[12*k:], v)
		}
		b.Write(rec[:])
	}
	return b.Flush()
}

func putVec(b []byte, v geom.Vec) {
	for k, x := range [...]float64{v.X, v.Y, v.Z} {
		binary.LittleEndian.PutUint32(b[4*k:], math.Float32bits(float32(x)))
	}
}

// WriteSTLASCII writes an ASCII STL with as many digits as the coordinates have.
func WriteSTLASCII(w io.Writer, m *mesh.Mesh) error {
	b := bufio.NewWriterSize(w, 1<<16)
	b.WriteString("solid surface\n")
	var line []byte
	for f := range m.F {
		p, q, r := m.Corner(int32(f))
		line = appendVec(append(line[:0], "facet normal"...), geom.TriangleNormal(p, q, r).Unit())
		line = append(line, "\nouter loop\n"...)
		for _, v := range [...]geom.Vec{p, q, r} {
			line = append(appendVec(append(line, "vertex"...), v), '\n')
		}
		b.Write(append(line, "endloop\nendfacet\n"...))
	}
	b.WriteString("endsolid surface\n")
	return b.Flush()
}

// appendVec writes the coordinates, each after a blank, so that they read back
// as the same numbers.
func appendVec(line []byte, v geom.Vec) []byte {
	for _, x := range [...]float64{v.X, v.Y, v.Z} {
		line = strconv.AppendFloat(append(line, ' '), x, 'g', -1, 64)
	}
	return line
}
