package bvh

import (
	"context"
	"math"

	"crownassay/geom"
	"crownassay/internal/par"
)

// turns is the order in which the queries of a batch are answered: along a
// Morton curve, so that like queries follow one another and find the tree in
// the cache and a good first bound. The answers do not depend on it.
type turns struct{ index []uint64 } // key << 32 | query; nil = as they come

// turnsFrom is the count from which ordering pays.
const turnsFrom = 2048

func newTurns(n int, key func(i int) uint64) turns {
	if n < turnsFrom {
		return turns{}
	}
	index := make([]uint64, n)
	par.Do(context.Background(), n, 0, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			index[i] = key(i)<<32 | uint64(uint32(i))
		}
	})
	return turns{sortKeys(index)}
}

func (o *turns) at(k int) int {
	if o.index == nil {
		return k
	}
	return int(uint32(o.index[k]))
}

// pointTurns orders points by place.
func (t *Tree) pointTurns(pts []geom.Vec) turns {
	c := newCells(t.box)
	return newTurns(len(pts), func(i int) uint64 { return c.key(pts[i], 1) })
}

// rayTurns orders rays by the place where they enter the tree's box and, as
// finely, by direction: 5 bits an axis of each.
func (t *Tree) rayTurns(rays []Ray) turns {
	c := newCells(t.box)
	box := outward(t.box.Min, t.box.Max)
	return newTurns(len(rays), func(i int) uint64 {
		r := &rays[i]
		s := newSlabs(r.Origin, r.Dir)
		in, _ := s.meet(&box, bits(math.MaxFloat64))
		at := r.Origin.Add(r.Dir.Mul(math.Float64frombits(uint64(in))))
		place, way := c.key(at, 1.0/32), morton(r.Dir.Unit().Add(geom.Vec{X: 1, Y: 1, Z: 1}).Mul(16))
		return interleave(place, way)
	})
}

// interleave joins two keys of 15 bits in groups of 3.
func interleave(a, b uint64) uint64 {
	k := uint64(0)
	for i := 0; i < 15; i += 3 {
		k |= (a>>i&7)<<(2*i+3) | (b>>i&7)<<(2*i)
	}
	return k
}

// cells is a grid of 1024^3 over a box with room around it; what lies farther
// out is put into the outermost cells.
type cells struct {
	lo    geom.Vec
	scale float64
}

func newCells(b geom.Box) cells {
	b = b.Grow(0.25 * b.Diagonal())
	s := b.Size()
	return cells{b.Min, 1024 / max(s.X, s.Y, s.Z)}
}

// key is the Morton number of p, of cells coarser by 1/share.
func (c *cells) key(p geom.Vec, share float64) uint64 {
	return morton(p.Sub(c.lo).Mul(c.scale * share))
}

// morton interleaves the bits of the coordinates, each cut to [0, 1023].
func morton(p geom.Vec) uint64 { return spread(p.X) | spread(p.Y)<<1 | spread(p.Z)<<2 }

// spread cuts x to [0, 1023] and puts two empty bits after each of its bits.
func spread(x float64) uint64 {
	if !(x > 0) {
		return 0
	}
	u := uint64(min(x, 1023))
	u = (u | u<<16) & 0x030000ff
	u = (u | u<<8) & 0x0300f00f
	u = (u | u<<4) & 0x030c30c3
	return (u | u<<2) & 0x09249249
}

// sortKeys sorts by the 30 bits above bit 32, keeping the order of equal ones:
// counting sort by 10 bits, three times.
func sortKeys(a []uint64) []uint64 {
	b := make([]uint64, len(a))
	for shift := 32; shift < 62; shift += 10 {
		var at [1024]int
		for _, x := range a {
			at[x>>shift&1023]++
		}
		sum := 0
		for i, n := range at {
			at[i], sum = sum, sum+n
		}
		for _, x := range a {
			d := &at[x>>shift&1023]
			b[*d] = x
			*d++
		}
		a, b = b, a
	}
	return a
}
