package bvh

import "math"

// span is a box32 while the tree is built: its floats as integers in the same
// order, because the integer minimum needs no branch.
type span [2][3]int32

// key maps float32 to int32 in the same order; it undoes itself on the bits.
func key(f float32) int32 { return flip(int32(math.Float32bits(f))) }

func unkey(k int32) float32 { return math.Float32frombits(uint32(flip(k))) }

// flip turns the bits after the sign around for negative numbers.
func flip(i int32) int32 { return i ^ int32(uint32(i>>31)>>1) }

func newSpan(b *box32) span {
	return span{{key(b[0][0]), key(b[0][1]), key(b[0][2])}, {key(b[1][0]), key(b[1][1]), key(b[1][2])}}
}

// noSpan holds nothing: key(+Inf) to key(-Inf).
var noSpan = func() span {
	b := emptyBox32()
	return newSpan(&b)
}()

func (s *span) include(o *span) {
	s[0][0], s[1][0] = min(s[0][0], o[0][0]), max(s[1][0], o[1][0])
	s[0][1], s[1][1] = min(s[0][1], o[0][1]), max(s[1][1], o[1][1])
	s[0][2], s[1][2] = min(s[0][2], o[0][2]), max(s[1][2], o[1][2])
}

// center2 is twice the centre along one axis.
func (s *span) center2(axis int) float32 { return unkey(s[0][axis]) + unkey(s[1][axis]) }

func (s *span) box() box32 {
	return box32{{unkey(s[0][0]), unkey(s[0][1]), unkey(s[0][2])}, {unkey(s[1][0]), unkey(s[1][1]), unkey(s[1][2])}}
}

// area is half the surface area; 0 for the empty span.
func (s *span) area() float32 {
	b := s.box()
	x, y, z := b[1][0]-b[0][0], b[1][1]-b[0][1], b[1][2]-b[0][2]
	if x < 0 {
		return 0
	}
	return float32(x*y) + float32(y*z) + float32(z*x)
}
