package measure

import (
	"context"

	"crownassay/internal/par"
	"crownassay/mesh"
)

// label divides the shell's facets into cameo and intaglio: those that
// sections cut, by which side of the margin edge more of the cut lies on, the
// others like their neighbours.
func (c *Crown) label() {
	if c.Open {
		c.Cameo = c.Shell
		return
	}
	m := c.Shell.Mesh
	inner, outer := make([]float64, len(m.F)), make([]float64, len(m.F))
	for k := range c.cameo {
		weigh(outer, &c.cameo[k])
		weigh(inner, &c.intaglio[k])
	}
	side := make([]int8, len(m.F))
	for f := range side {
		switch {
		case inner[f] > outer[f]:
			side[f] = -1
		case outer[f] > 0:
			side[f] = 1
		}
	}
	spread(m, c.Shell.adj, side)
	par.Together(context.Background(),
		func() error { c.Cameo = c.Shell.part(func(f int) bool { return side[f] >= 0 }); return nil },
		func() error { c.Intaglio = c.Shell.part(func(f int) bool { return side[f] < 0 }); return nil })
}

// weigh adds the length of each segment to its facet.
func weigh(sum []float64, u *run) {
	for i, f := range u.facet {
		if i+1 < len(u.p) {
			sum[f] += u.p[i].dist(u.p[i+1])
		}
	}
}

// spread gives facets without a side that of the neighbours that were reached
// first, ring by ring; of two sides at once the one of most edges.
func spread(m *mesh.Mesh, a *mesh.Adjacency, side []int8) {
	var ring, found []int32
	for f := range side {
		if side[f] == 0 {
			ring = append(ring, int32(f))
		}
	}
	for len(ring) > 0 {
		left, set := ring[:0], found[:0]
		for _, f := range ring {
			sum := int8(0)
			for k := range int32(3) {
				if o := a.Opposite[3*f+k]; o >= 0 {
					sum += side[o/3]
				}
			}
			switch {
			case sum > 0:
				set = append(set, f)
			case sum < 0:
				set = append(set, ^f)
			default:
				left = append(left, f)
			}
		}
		if len(set) == 0 {
			return
		}
		for _, f := range set {
			if f >= 0 {
				side[f] = 1
			} else {
				side[^f] = -1
			}
		}
		ring, found = left, set
	}
}
