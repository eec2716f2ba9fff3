package meshio

import (
	"math"
	"math/bits"

	"crownassay/geom"
	"crownassay/mesh"
)

// coordKey is a point by the bits of its coordinates, -0 folded to +0.
type coordKey[B uint32 | uint64] [3]B

// welder numbers points by their exact coordinates; equal bits get one number,
// in order of first sight. It is an open-addressing table that holds the keys
// in its slots, so that a look-up costs one cache miss and not two.
type welder[B uint32 | uint64] struct {
	slot  []weldSlot[B] // a power of two
	shift uint          // 64 - log2(len(slot))
	count int           // points numbered so far
	room  int           // points that may be added before the table grows
}

// weldSlot holds a point and one more than its number; 0 marks a free slot.
type weldSlot[B uint32 | uint64] struct {
	key  coordKey[B]
	mark int32
}

// weldBatch is how many points are looked up together. Their slots are loaded
// one after the other without a decision between, so that the cache misses
// overlap; 48 (16 facets) was the best of 12 to 192, within a few per cent.
const weldBatch = 48

// newWelder makes a welder for about n points.
func newWelder[B uint32 | uint64](n int) *welder[B] {
	w := &welder[B]{}
	w.resize(max(uint(bits.Len(uint(n)+uint(n)/2)), 7))
	return w
}

// resize makes a table of 2^log slots and moves the points there. It is full
// at 11/16, where a search for a point that is there takes 2.1 steps on average
// (Knuth, The Art of Computer Programming 3, section 6.4, linear probing).
func (w *welder[B]) resize(log uint) {
	old := w.slot
	w.slot = make([]weldSlot[B], 1<<log)
	w.shift = 64 - log
	w.room = len(w.slot)/16*11 - w.count
	for _, s := range old {
		if s.mark != 0 {
			w.slot[w.seek(s.key, w.home(s.key))] = s
		}
	}
}

// Odd multipliers with well mixed bits: the golden ratio's fraction times 2^64
// (Knuth, same section) and two primes.
const (
	mixX = 0x9E3779B97F4A7C15
	mixY = 0xC2B2AE3D27D4EB4F
	mixZ = 0x165667B19E3779F9
)

// home is the slot at which the search for k begins.
func (w *welder[B]) home(k coordKey[B]) int {
	h := uint64(k[0])*mixX + bits.RotateLeft64(uint64(k[1])*mixY, 23) + bits.RotateLeft64(uint64(k[2])*mixZ, 41)
	return int(((h ^ h>>29) * mixX) >> w.shift)
}

// seek returns the slot, from h on, that holds k or is free for it.
func (w *welder[B]) seek(k coordKey[B], h int) int {
	mask := len(w.slot) - 1
	for h &= mask; ; h = (h + 1) & mask {
		if s := &w.slot[h]; s.mark == 0 || s.key == k {
			return h
		}
	}
}

// batch numbers up to weldBatch points; fresh is called for each new one, in
// order, with its place in the batch.
func (w *welder[B]) batch(keys []coordKey[B], number []int32, fresh func(i int)) {
	for w.room < len(keys) {
		w.resize(64 - w.shift + 1)
	}
	var home, first [weldBatch]int32
	for i, k := range keys {
		h := w.home(k)
		home[i], first[i] = int32(h), w.slot[h].mark
	}
	for i, k := range keys {
		h := int(home[i])
		if first[i] == 0 || w.slot[h].key != k {
			h = w.seek(k, h)
		}
		s := &w.slot[h]
		if s.mark == 0 {
			w.count++
			w.room--
			*s = weldSlot[B]{k, int32(w.count)}
			fresh(i)
		}
		number[i] = s.mark - 1
	}
}

// pointKey returns the key of p and p with -0 folded to +0.
func pointKey(p geom.Vec) (coordKey[uint64], geom.Vec) {
	p = geom.V(p.X+0, p.Y+0, p.Z+0)
	return coordKey[uint64]{math.Float64bits(p.X), math.Float64bits(p.Y), math.Float64bits(p.Z)}, p
}

// weld returns the mesh with vertices of exactly the same coordinates made
// one, in order of first sight. Indexed files need it too: many programs write
// a vertex once for each normal, colour or texture seam that meets there, and
// left apart the surface would fall into pieces along those seams.
func weld(v []geom.Vec, f [][3]int32) *mesh.Mesh {
	w := newWelder[uint64](len(v))
	number := make([]int32, len(v))
	out := make([]geom.Vec, 0, len(v))
	var keys [weldBatch]coordKey[uint64]
	for lo := 0; lo < len(v); lo += weldBatch {
		part := v[lo:min(lo+weldBatch, len(v))]
		for i, p := range part {
			keys[i], part[i] = pointKey(p)
		}
		w.batch(keys[:len(part)], number[lo:], func(i int) { out = append(out, part[i]) })
	}
	for i, t := range f {
		f[i] = [3]int32{number[t[0]], number[t[1]], number[t[2]]}
	}
	return &mesh.Mesh{V: out, F: f}
}
