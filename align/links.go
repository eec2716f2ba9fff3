package align

import (
	"context"
	"slices"

	"crownassay/internal/par"
)

// How places that look alike are found. Lengths are in cubes of the samples.
const (
	lookRadius = 4.2 // of the descriptor: 2.5 mm at 0.6, a cusp or a fossa
	keyApart   = 2.0 // least distance of the moving surface's key samples
	mostKeys   = 500 // key samples, the most telling first
	likenesses = 4   // places on the fixed surface that a key sample is linked to
)

// likenesses links the key samples of the moving surface to the samples of the
// fixed surface that look most alike.
func alikeLinks(ctx context.Context, moving, fixed []sample, cube float64) ([]link, error) {
	gm, gf := newGrid(moving, lookRadius*cube), newGrid(fixed, lookRadius*cube)
	dm, okm, err := descriptors(ctx, gm)
	if err != nil {
		return nil, err
	}
	df, okf, err := descriptors(ctx, gf)
	if err != nil {
		return nil, err
	}
	keys := keySamples(moving, dm, okm, keyApart*cube)
	best := make([][likenesses]int32, len(keys))
	err = par.Do(ctx, len(keys), 16, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			best[k] = mostAlike(&dm[keys[k]], df, okf)
		}
	})
	if err != nil {
		return nil, err
	}
	var out []link
	for k, i := range keys {
		for _, j := range best[k] {
			if j >= 0 {
				out = append(out, link{moving[i].p, moving[i].n, fixed[j].p, fixed[j].n})
			}
		}
	}
	return out, nil
}

// keySamples picks samples that lie apart, those first whose descriptor is
// farthest from the mean one.
func keySamples(s []sample, d []descriptor, ok []bool, apart float64) []int32 {
	tell := telling(d, ok)
	var order []int32
	for i := range s {
		if ok[i] {
			order = append(order, int32(i))
		}
	}
	slices.SortStableFunc(order, func(a, b int32) int {
		switch {
		case tell[a] > tell[b]:
			return -1
		case tell[a] < tell[b]:
			return 1
		}
		return 0
	})
	g, taken := newGrid(s, apart), make([]bool, len(s))
	var out, near []int32
	for _, i := range order {
		near = g.around(s[i].p, near)
		if !slices.ContainsFunc(near, func(j int32) bool { return taken[j] }) {
			taken[i] = true
			if out = append(out, i); len(out) == mostKeys {
				break
			}
		}
	}
	return out
}

// telling is how far each descriptor lies from the mean of all.
func telling(d []descriptor, ok []bool) []float32 {
	var mean descriptor
	n := float32(0)
	for i := range d {
		if ok[i] {
			n++
			for k := range mean {
				mean[k] += d[i][k]
			}
		}
	}
	for k := range mean {
		mean[k] /= max(n, 1)
	}
	out := make([]float32, len(d))
	for i := range d {
		out[i] = d[i].distSq(&mean)
	}
	return out
}

// mostAlike returns the samples whose descriptors are nearest to h, nearest
// first, of equal ones the lowest; -1 where there are no more.
func mostAlike(h *descriptor, all []descriptor, ok []bool) [likenesses]int32 {
	var best [likenesses]int32
	var dist [likenesses]float32
	for k := range best {
		best[k] = -1
	}
	for j := range all {
		if !ok[j] {
			continue
		}
		d := h.distSq(&all[j])
		k := likenesses
		for k > 0 && (best[k-1] < 0 || d < dist[k-1]) {
			k--
		}
		if k < likenesses {
			copy(best[k+1:], best[k:likenesses-1])
			copy(dist[k+1:], dist[k:likenesses-1])
			best[k], dist[k] = int32(j), d
		}
	}
	return best
}
