package meshio

import (
	"bufio"
	"io"
	"strconv"

	"crownassay/mesh"
)

// appendFacet writes the vertex numbers, each after a blank, counted from base.
func appendFacet(line []byte, t [3]int32, base int64) []byte {
	for _, i := range t {
		line = strconv.AppendInt(append(line, ' '), int64(i)+base, 10)
	}
	return line
}

// WriteOBJ writes vertices and faces of an OBJ. It reads back as the same mesh.
func WriteOBJ(w io.Writer, m *mesh.Mesh) error {
	b := bufio.NewWriterSize(w, 1<<16)
	var line []byte
	for _, v := range m.V {
		line = append(appendVec(append(line[:0], 'v'), v), '\n')
		b.Write(line)
	}
	for _, t := range m.F {
		line = append(appendFacet(append(line[:0], 'f'), t, 1), '\n')
		b.Write(line)
	}
	return b.Flush()
}
