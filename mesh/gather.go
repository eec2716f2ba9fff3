package mesh

import (
	"math"

	"crownassay/geom"
)

// curveBits is how many bits of each coordinate of a facet's middle order it:
// with 14, a full arch is divided into cells of 6 um.
const curveBits = 14

// Gathered returns the mesh with its facets in the order of a space-filling
// curve through their middles (G. M. Morton, 1966) and its vertices in the
// order in which the facets name them, so that what is near in space is near
// in memory. Facets keep their corners' order; vertices that no facet names
// are left out. Meshes of more than 2^21 facets stay as they are.
func Gathered(m *Mesh) *Mesh {
	const indexBits = 64 - 3*curveBits - 1 // of a key: what the place on the curve leaves for the facet's number
	if len(m.F) >= 1<<indexBits {
		return m
	}
	box := m.Box()
	size := box.Size()
	scale := (1<<curveBits - 1) / math.Max(size.X, math.Max(size.Y, size.Z))
	keys := make([]uint64, len(m.F))
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		p := a.Add(b).Add(c).Mul(1.0 / 3).Sub(box.Min).Mul(scale)
		keys[f] = curve(p)<<indexBits | uint64(f)
	}
	keys = sortedFrom(keys, indexBits)
	to := make([]int32, len(m.V)) // new number, plus 1
	out := &Mesh{V: make([]geom.Vec, 0, len(m.V)), F: make([][3]int32, len(m.F))}
	for i, k := range keys {
		for j, v := range m.F[k&(1<<indexBits-1)] {
			if to[v] == 0 {
				out.V = append(out.V, m.V[v])
				to[v] = int32(len(out.V))
			}
			out.F[i][j] = to[v] - 1
		}
	}
	return out
}

// sortedFrom sorts keys by their bits from a place on, of which there are
// three times curveBits, keeping the order of equal ones: counting sort, digit
// by digit.
func sortedFrom(keys []uint64, place int) []uint64 {
	const digit = 11 // bits: four digits, and a table that stays in the cache
	other := make([]uint64, len(keys))
	for shift := place; shift < place+3*curveBits; shift += digit {
		var at [1 << digit]int
		for _, k := range keys {
			at[k>>shift&(1<<digit-1)]++
		}
		sum := 0
		for i, n := range at {
			at[i], sum = sum, sum+n
		}
		for _, k := range keys {
			d := &at[k>>shift&(1<<digit-1)]
			other[*d] = k
			*d++
		}
		keys, other = other, keys
	}
	return keys
}

// curve interleaves the bits of the coordinates.
func curve(p geom.Vec) uint64 {
	return spreadBits(p.X) | spreadBits(p.Y)<<1 | spreadBits(p.Z)<<2
}

// spreadBits puts two zero bits between the bits of a number.
func spreadBits(x float64) uint64 {
	v := uint64(max(0, x))
	v = (v | v<<32) & 0x1f00000000ffff
	v = (v | v<<16) & 0x1f0000ff0000ff
	v = (v | v<<8) & 0x100f00f00f00f00f
	v = (v | v<<4) & 0x10c30c30c30c30c3
	return (v | v<<2) & 0x1249249249249249
}
