package align

import (
	"slices"

	"crownassay/geom"
)

// grid finds the samples around a place: they are sorted into cubes whose edge
// is the radius asked for.
type grid struct {
	radius  float64
	samples []sample
	at      map[[3]int32][2]int32 // first and end in order
	order   []int32
}

func newGrid(s []sample, radius float64) *grid {
	g := &grid{radius: radius, samples: s, at: map[[3]int32][2]int32{}, order: make([]int32, len(s))}
	key := make([][3]int32, len(s))
	for i := range s {
		g.order[i], key[i] = int32(i), g.key(s[i].p)
	}
	slices.SortFunc(g.order, func(a, b int32) int {
		if c := slices.Compare(key[a][:], key[b][:]); c != 0 {
			return c
		}
		return int(a - b)
	})
	for lo := 0; lo < len(s); {
		k, hi := key[g.order[lo]], lo+1
		for hi < len(s) && key[g.order[hi]] == k {
			hi++
		}
		g.at[k] = [2]int32{int32(lo), int32(hi)}
		lo = hi
	}
	return g
}

func (g *grid) key(p geom.Vec) [3]int32 {
	return [3]int32{cubeOf(p.X, g.radius), cubeOf(p.Y, g.radius), cubeOf(p.Z, g.radius)}
}

// around appends to dst[:0] the samples within the radius of p and returns
// the slice, in an order that depends on the samples alone.
func (g *grid) around(p geom.Vec, dst []int32) []int32 {
	dst = dst[:0]
	k, most := g.key(p), float64(g.radius*g.radius)
	for dx := int32(-1); dx <= 1; dx++ {
		for dy := int32(-1); dy <= 1; dy++ {
			for dz := int32(-1); dz <= 1; dz++ {
				span := g.at[[3]int32{k[0] + dx, k[1] + dy, k[2] + dz}]
				for _, i := range g.order[span[0]:span[1]] {
					if g.samples[i].p.DistSq(p) <= most {
						dst = append(dst, i)
					}
				}
			}
		}
	}
	return dst
}
