package bvh

import (
	"math"

	"crownassay/geom"
)

// box32 is a box in float32, always rounded outward: lower corner, upper
// corner.
type box32 [2][3]float32

// outward rounds a box to float32 so that it holds the original.
func outward(lo, hi geom.Vec) box32 {
	return box32{
		[3]float32{down(lo.X), down(lo.Y), down(lo.Z)},
		[3]float32{up(hi.X), up(hi.Y), up(hi.Z)},
	}
}

// down rounds to the next float32 at or below x.
func down(x float64) float32 {
	f := float32(x)
	if float64(f) > x {
		return math.Nextafter32(f, float32(math.Inf(-1)))
	}
	return f
}

// up rounds to the next float32 at or above x.
func up(x float64) float32 { return -down(-x) }

func emptyBox32() box32 {
	inf := float32(math.Inf(1))
	return box32{[3]float32{inf, inf, inf}, [3]float32{-inf, -inf, -inf}}
}

// widest returns the axis of the longest edge.
func (b *box32) widest() int {
	axis := 0
	for k := 1; k < 3; k++ {
		if b[1][k]-b[0][k] > b[1][axis]-b[0][axis] {
			axis = k
		}
	}
	return axis
}

// distSq returns the squared distance from (x, y, z), 0 inside.
func (b *box32) distSq(x, y, z float64) float64 {
	x = excess(x, b[0][0], b[1][0])
	y = excess(y, b[0][1], b[1][1])
	z = excess(z, b[0][2], b[1][2])
	return float64(x*x) + float64(y*y) + float64(z*z)
}

// excess is how far x lies outside [lo, hi], 0 inside. The comparison is made
// on the bits, where a negative float is a negative integer and positive
// floats are in order, because the integer maximum needs no branch.
func excess(x float64, lo, hi float32) float64 {
	below := int64(math.Float64bits(float64(lo) - x))
	above := int64(math.Float64bits(x - float64(hi)))
	return math.Float64frombits(uint64(max(below, above, 0)))
}
