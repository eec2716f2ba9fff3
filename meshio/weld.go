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
// in order of first sight. It is an open-addressing table of numbers beside
// the list of keys: small, so that more of it stays in the cache.
type welder[B uint32 | uint64] struct {
	slot  []int32       // one more than the number of the point there, 0 if free; a power of two
	shift uint          // 64 - log2(len(slot))
	key   []coordKey[B] // by number
	full  int           // how many keys the table takes before it grows
}

// weldBatch is how many points are looked up together. Their slots and then
// their keys are loaded one after the other without a decision between, so
// that the cache misses overlap: in files whose facets are in no order that is
// a third of the time of looking up one by one.
const weldBatch = 48

// newWelder makes a welder for about n points.
func newWelder[B uint32 | uint64](n int) *welder[B] {
	w := &welder[B]{key: make([]coordKey[B], 0, n)}
	w.resize(max(uint(bits.Len(uint(n)+uint(n)/2)), 7) + 1)
	return w
}

// resize makes a table of 2^log slots and puts the points there. It is full at
// one half, where a search for a point that is there takes 1.5 steps on average
// (Knuth, The Art of Computer Programming 3, section 6.4, linear probing).
func (w *welder[B]) resize(log uint) {
	w.slot = make([]int32, 1<<log)
	w.shift = 64 - log
	w.full = len(w.slot) / 2
	for i, k := range w.key {
		w.slot[w.seek(k, w.home(k))] = int32(i + 1)
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
		if i := w.slot[h]; i == 0 || w.key[i-1] == k {
			return h
		}
	}
}

// batch numbers up to weldBatch points.
func (w *welder[B]) batch(keys []coordKey[B], number []int32) {
	for len(w.key)+len(keys) > w.full {
		w.resize(64 - w.shift + 1)
	}
	var home [weldBatch]int32
	for i, k := range keys {
		h := w.home(k)
		home[i], number[i] = int32(h), w.slot[h]
	}
	var found [weldBatch]bool
	for i := range keys {
		if m := number[i]; m > 0 {
			found[i] = w.key[m-1] == keys[i]
		}
	}
	for i := range keys {
		if found[i] {
			number[i]--
		} else {
			number[i] = w.number(keys[i], int(home[i]))
		}
	}
}

// number numbers one point, seen before or new, searching from slot h on.
func (w *welder[B]) number(k coordKey[B], h int) int32 {
	h = w.seek(k, h)
	if w.slot[h] == 0 {
		w.key = append(w.key, k)
		w.slot[h] = int32(len(w.key))
	}
	return w.slot[h] - 1
}

// pointKey returns the key of p; adding 0 folds -0 to +0.
func pointKey(p geom.Vec) coordKey[uint64] {
	return coordKey[uint64]{math.Float64bits(p.X + 0), math.Float64bits(p.Y + 0), math.Float64bits(p.Z + 0)}
}

func keyPoint(k coordKey[uint64]) geom.Vec {
	return geom.V(math.Float64frombits(k[0]), math.Float64frombits(k[1]), math.Float64frombits(k[2]))
}

// weld returns the mesh with vertices of exactly the same coordinates made
// one, in order of first sight. Indexed files need it too: many programs write
// a vertex once for each normal, colour or texture seam that meets there, and
// left apart the surface would fall into pieces along those seams.
func weld(v []geom.Vec, f [][3]int32) *mesh.Mesh {
	w := newWelder[uint64](len(v))
	number := make([]int32, len(v))
	var keys [weldBatch]coordKey[uint64]
	for lo := 0; lo < len(v); lo += weldBatch {
		part := v[lo:min(lo+weldBatch, len(v))]
		for i, p := range part {
			keys[i] = pointKey(p)
		}
		w.batch(keys[:len(part)], number[lo:])
	}
	for i, t := range f {
		f[i] = [3]int32{number[t[0]], number[t[1]], number[t[2]]}
	}
	return &mesh.Mesh{V: points(w.key, keyPoint), F: f}
}

// points turns keys into points.
func points[B uint32 | uint64](key []coordKey[B], point func(coordKey[B]) geom.Vec) []geom.Vec {
	v := make([]geom.Vec, len(key))
	for i, k := range key {
		v[i] = point(k)
	}
	return v
}
