package finishline

import (
	"context"
	"math"
	"slices"

	"crownassay/align"
	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/internal/par"
)

// How a preparation is looked for. Lengths mm.
const (
	seedCell   = 2.0  // one seed is tried per cell of this size in plan
	seedReach  = 8.0  // largest distance of a finish line from its tooth's middle
	seedCuts   = 8    // planes cut through a seed: 16 half planes
	firstCuts  = 4    // of them, cut first to see whether the rest is worth while
	brightCost = 0.75 // candidates this cheap count for that
	seedSpread = 0.35 // seeds this much dearer than the best are not looked at closely
	seedCost   = 0.72 // dearer curves are no preparation: natural teeth come out near 0.9
	sameTooth  = 3.0  // seeds that find middles this near found the same tooth
	mostSeeds  = 6    // preparations looked at closely
)

// seed is a place that may be the middle of a preparation.
type seed struct {
	at   geom.Vec
	cost float64
}

// seeds returns the likely middles of preparations, best first, looked for
// around up, the occlusal direction. With near given, only about that point.
func seeds(ctx context.Context, t *bvh.Tree, spacing float64, up geom.Vec, near *geom.Vec) ([]seed, error) {
	tops := topVertices(t, up, near)
	found := make([]seed, len(tops))
	err := par.Do(ctx, len(tops), 4, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			found[i] = weigh(t, spacing, up, tops[i])
		}
	})
	if err != nil {
		return nil, err
	}
	return thin(found), nil
}

// thin sorts seeds by cost and keeps the best one of each tooth.
func thin(found []seed) []seed {
	slices.SortStableFunc(found, func(a, b seed) int {
		if a.cost < b.cost {
			return -1
		}
		if a.cost > b.cost {
			return 1
		}
		return 0
	})
	var out []seed
	for _, s := range found {
		if s.cost > seedCost || s.cost > found[0].cost+seedSpread || len(out) == mostSeeds {
			break
		}
		if !slices.ContainsFunc(out, func(o seed) bool { return o.at.Dist(s.at) < sameTooth }) {
			out = append(out, s)
		}
	}
	return out
}

// weigh looks for a finish line around the axis through p, moves to its
// middle and looks again.
func weigh(t *bvh.Tree, spacing float64, up, p geom.Vec) seed {
	s := seed{p, math.Inf(1)}
	for range 2 {
		f := align.NewFrame(s.at, up, up.Normal(), 1)
		mid, cost, ok := ring(t, spacing, f)
		if !ok || cost >= s.cost {
			break
		}
		s.cost = cost
		if cost > seedCost+0.1 {
			break
		}
		s.at = mid
	}
	return s
}

// ring cuts a few half planes about a frame and returns the middle and the
// price of the best closed curve of candidates.
func ring(t *bvh.Tree, spacing float64, f align.Frame) (geom.Vec, float64, bool) {
	cands := make([][]candidate, 2*seedCuts)
	w := turnWindow(spacing)
	bright := 0
	cut := slicer{scan: Scan{Tree: t}, frame: f, reach: seedReach, passing: true}
	for i := range seedCuts {
		k := i * seedCuts / firstCuts % seedCuts // every other plane first, then those between
		if i >= firstCuts {
			k++
		}
		a, b := cut.cutBoth(180 * float64(k) / seedCuts)
		cands[k], cands[k+seedCuts] = a.candidates(w), b.candidates(w)
		bright += hasBright(cands[k]) + hasBright(cands[k+seedCuts])
		if i < firstCuts && bright+2*(firstCuts-1-i) < firstCuts {
			return geom.Vec{}, 0, false // nor will it be when all of the first are cut
		}
	}
	pick, cost := chain(cands, 180/float64(seedCuts))
	if pick == nil {
		return geom.Vec{}, 0, false
	}
	return middle(f, cands, pick), cost, true
}

// hasBright is 1 if there is a candidate that counts, else 0.
func hasBright(c []candidate) int {
	if slices.ContainsFunc(c, func(x candidate) bool { return x.cost < brightCost }) {
		return 1
	}
	return 0
}

// middle returns the middle of picked candidates.
func middle(f align.Frame, cands [][]candidate, pick []int) geom.Vec {
	var sum geom.Vec
	n := 0.0
	for k, c := range pick {
		if c >= 0 {
			p := cands[k][c].p
			sum, n = sum.Add(f.At(360*float64(k)/float64(len(pick)), p.r, p.z)), n+1
		}
	}
	return sum.Mul(1 / n)
}

// topVertices returns the highest vertex of each cell of a grid in plan, in
// the order of the cells; with near given, only cells within three cells of it.
func topVertices(t *bvh.Tree, up geom.Vec, near *geom.Vec) []geom.Vec {
	m := t.Mesh()
	u := up.Normal()
	v := up.Cross(u)
	type cell struct{ i, j int32 }
	best := map[cell]int32{}
	var order []cell
	for k, p := range m.V {
		if near != nil && p.Sub(*near).Reject(up).Norm() > 3*seedCell {
			continue
		}
		c := cell{int32(math.Floor(p.Dot(u) / seedCell)), int32(math.Floor(p.Dot(v) / seedCell))}
		b, seen := best[c]
		if !seen {
			order = append(order, c)
		}
		if !seen || p.Dot(up) > m.V[b].Dot(up) {
			best[c] = int32(k)
		}
	}
	slices.SortFunc(order, func(a, b cell) int {
		if a.i != b.i {
			return int(a.i - b.i)
		}
		return int(a.j - b.j)
	})
	out := make([]geom.Vec, len(order))
	for i, c := range order {
		out[i] = m.V[best[c]]
	}
	return out
}
