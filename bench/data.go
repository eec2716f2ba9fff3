package main

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"

	"crownassay/geom"
)

// readFloats reads a file of little-endian float64.
func readFloats(path string) ([]float64, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read benchmark data: %w", err)
	}
	if len(b)%8 != 0 {
		return nil, fmt.Errorf("read benchmark data %s: %d bytes are no whole number of float64", path, len(b))
	}
	x := make([]float64, len(b)/8)
	for i := range x {
		x[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	return x, nil
}

// readPoints reads a file of points, three float64 each.
func readPoints(path string) ([]geom.Vec, error) {
	x, err := readFloats(path)
	if err != nil {
		return nil, err
	}
	if len(x)%3 != 0 {
		return nil, fmt.Errorf("read points %s: %d numbers are no whole number of points", path, len(x))
	}
	p := make([]geom.Vec, len(x)/3)
	for i := range p {
		p[i] = geom.V(x[3*i], x[3*i+1], x[3*i+2])
	}
	return p, nil
}
