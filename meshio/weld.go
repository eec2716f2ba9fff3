package meshio

import (
	"math"
	"math/bits"

	"crownassay/geom"
	"crownassay/mesh"
)

// welder numbers points by their exact coordinates, given as float bits with
// -0 folded to +0; equal bits get one number, in order of first sight. It is
// an open-addressing table of numbers beside a dense list of keys.
type welder[B uint32 | uint64] struct {
	slot  []int32 // number + 1 of the point there, 0 for free; a power of two
	shift uint    // 64 - log2(len(slot))
	key   [][3]B  // by number
	room  int     // points until the table grows
}

// newWelder makes a welder for about n points.
func newWelder[B uint32 | uint64](n int) *welder[B] {
	w := &welder[B]{key: make([][3]B, 0, n)}
	w.resize(uint(max(bits.Len(uint(n)), 4)) + 1)
	return w
}

// resize makes a table of 2^log slots and puts the points there again.
func (w *welder[B]) resize(log uint) {
	w.slot = make([]int32, 1<<log)
	w.shift = 64 - log
	w.room = 1<<(log-1) + 1<<(log-3) // load factor 5/8
	for i := range w.key {
		h := w.home(w.key[i])
		for w.slot[h] != 0 {
			h = (h + 1) & (len(w.slot) - 1)
		}
		w.slot[h] = int32(i + 1)
	}
	w.room -= len(w.key)
}

// Odd multipliers with well mixed bits: the golden ratio's fraction times 2^64
// (Knuth, The Art of Computer Programming 3, section 6.4) and two primes.
const (
	mixX = 0x9E3779B97F4A7C15
	mixY = 0xC2B2AE3D27D4EB4F
	mixZ = 0x165667B19E3779F9
)

// home is the slot at which the search for k begins.
func (w *welder[B]) home(k [3]B) int {
	h := uint64(k[0])*mixX + bits.RotateLeft64(uint64(k[1])*mixY, 23) + bits.RotateLeft64(uint64(k[2])*mixZ, 41)
	return int(((h ^ h>>29) * mixX) >> w.shift)
}

// number returns the number of point k.
func (w *welder[B]) number(k [3]B) int32 {
	mask := len(w.slot) - 1
	for h := w.home(k) & mask; ; h = (h + 1) & mask {
		i := w.slot[h]
		if i == 0 {
			return w.add(k, h)
		}
		if w.key[i-1] == k {
			return i - 1
		}
	}
}

// add numbers a new point, whose free slot is h.
func (w *welder[B]) add(k [3]B, h int) int32 {
	w.key = append(w.key, k)
	w.slot[h] = int32(len(w.key))
	if w.room--; w.room == 0 {
		w.resize(64 - w.shift + 1)
	}
	return int32(len(w.key) - 1)
}

// weld returns the mesh with vertices of exactly the same coordinates made
// one, in order of first sight. Indexed files need it too: many programs write
// a vertex once for each normal, colour or texture seam that meets there, and
// left apart the surface would fall into pieces along those seams.
func weld(v []geom.Vec, f [][3]int32) *mesh.Mesh {
	w := newWelder[uint64](len(v))
	number := make([]int32, len(v))
	out := make([]geom.Vec, 0, len(v))
	for i, p := range v {
		p = geom.V(p.X+0, p.Y+0, p.Z+0) // -0 + 0 = +0
		number[i] = w.number([3]uint64{math.Float64bits(p.X), math.Float64bits(p.Y), math.Float64bits(p.Z)})
		if int(number[i]) == len(out) {
			out = append(out, p)
		}
	}
	for i, t := range f {
		f[i] = [3]int32{number[t[0]], number[t[1]], number[t[2]]}
	}
	return &mesh.Mesh{V: out, F: f}
}
