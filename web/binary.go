package web

import (
	"encoding/binary"
	"math"
)

// Binary bodies are little endian.
//
// A mesh (application/vnd.crownassay.mesh):
//
//	0   4 bytes   "CAM1"
//	4   uint32    number of vertices n
//	8   uint32    number of triangles m
//	12  uint32    0
//	16  float32   x, y, z of each vertex, mm: 12 n bytes
//	    uint32    three vertices of each triangle: 12 m bytes
//
// A map (application/vnd.crownassay.map):
//
//	0   4 bytes   "CAV1"
//	4   uint32    number of vertices n
//	8   float32   smallest value, NaN when there is none
//	12  float32   largest value, NaN when there is none
//	16  float32   value at each vertex, NaN where there is none: 4 n bytes
const (
	meshType = "application/vnd.crownassay.mesh"
	mapType  = "application/vnd.crownassay.map"
	header   = 16
)

// encodeMesh writes the mesh form.
func encodeMesh(m Mesh) []byte {
	b := make([]byte, header, header+4*len(m.Positions)+4*len(m.Indices))
	copy(b, "CAM1")
	binary.LittleEndian.PutUint32(b[4:], uint32(len(m.Positions)/3))
	binary.LittleEndian.PutUint32(b[8:], uint32(len(m.Indices)/3))
	b = appendFloats(b, m.Positions)
	for _, i := range m.Indices {
		b = binary.LittleEndian.AppendUint32(b, i)
	}
	return b
}

// encodeMap writes the map form.
func encodeMap(v []float32) []byte {
	b := make([]byte, header, header+4*len(v))
	copy(b, "CAV1")
	binary.LittleEndian.PutUint32(b[4:], uint32(len(v)))
	lo, hi := span(v)
	binary.LittleEndian.PutUint32(b[8:], math.Float32bits(lo))
	binary.LittleEndian.PutUint32(b[12:], math.Float32bits(hi))
	return appendFloats(b, v)
}

func appendFloats(b []byte, v []float32) []byte {
	for _, x := range v {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
	}
	return b
}

// span returns the smallest and the largest of the values there are.
func span(v []float32) (lo, hi float32) {
	lo, hi = float32(math.NaN()), float32(math.NaN())
	for _, x := range v {
		if x != x {
			continue
		}
		if !(lo <= x) {
			lo = x
		}
		if !(hi >= x) {
			hi = x
		}
	}
	return lo, hi
}
