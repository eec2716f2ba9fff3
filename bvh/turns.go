package bvh

import (
	"context"

	"crownassay/geom"
	"crownassay/internal/par"
)

// turns is the order in which the queries of a batch are answered: along a
// Morton curve, so that neighbours follow one another and find the tree in the
// cache and a good first bound. The answers do not depend on it.
type turns struct{ index []uint64 } // key << 32 | query; nil = as they come

// turnsFrom is the count from which ordering pays.
const turnsFrom = 2048

func (o *turns) at(k int) int {
	if o.index == nil {
		return k
	}
	return int(uint32(o.index[k]))
}

// turns orders points.
func (t *Tree) turns(pts []geom.Vec) turns {
	if len(pts) < turnsFrom {
		return turns{}
	}
	c := newCells(t.box)
	index := make([]uint64, len(pts))
	par.Do(context.Background(), len(pts), 0, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			index[i] = c.key(pts[i])<<32 | uint64(uint32(i))
		}
	})
	return turns{sortKeys(index)}
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

func (c *cells) key(p geom.Vec) uint64 {
	return spread((p.X-c.lo.X)*c.scale) | spread((p.Y-c.lo.Y)*c.scale)<<1 | spread((p.Z-c.lo.Z)*c.scale)<<2
}

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
