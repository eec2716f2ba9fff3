package finishline

import (
	"context"
	"math"

	"crownassay/internal/par"
)

// How candidates of neighbouring azimuths are joined. A finish line runs
// smoothly; lengths in mm per degree of azimuth at the size of a tooth.
const (
	skipCost  = 0.95 // price of an azimuth without a candidate, about that of a hardly visible turn
	freeShift = 0.07 // shift per degree that an oblique or scalloped finish line makes
	jumpScale = 0.12 // excess shift that costs one unit
	evenScale = 0.02 // weight of the squared shift, so that the straighter of two ways wins
	widestGap = 130  // degrees: a longer stretch without candidates cannot be bridged
	anchors   = 6    // start candidates tried
)

// leadSlack is more than the rounding of costs, some hundred at most.
const leadSlack = 1e-9

// chain picks at most one candidate an azimuth so that they make the cheapest
// closed curve (dynamic programming over the circle with a fixed start, the
// best of several starts). Azimuths are evenly spaced by step degrees. The
// result holds the candidate's index or -1; cost is per azimuth.
func chain(cands [][]candidate, step float64) (pick []int, cost float64) {
	from := starts(cands)
	picks, costs := make([][]int, len(from)), make([]float64, len(from))
	par.Do(context.Background(), len(from), 1, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			picks[i], costs[i] = chainFrom(cands, step, from[i][0], from[i][1])
		}
	})
	cost = math.Inf(1)
	for i, c := range costs {
		if c < cost {
			pick, cost = picks[i], c
		}
	}
	return pick, cost / float64(len(cands))
}

// starts returns the cheapest candidate of each of several equal arcs.
func starts(cands [][]candidate) [][2]int {
	var out [][2]int
	n := len(cands)
	for k := range anchors {
		best, bestCost := [2]int{-1, -1}, math.Inf(1)
		for a := k * n / anchors; a < (k+1)*n/anchors; a++ {
			for c := range cands[a] {
				if cands[a][c].cost < bestCost {
					best, bestCost = [2]int{a, c}, cands[a][c].cost
				}
			}
		}
		if best[0] >= 0 {
			out = append(out, best)
		}
	}
	return out
}

// link is the cheapest way to a candidate.
type link struct {
	cost     float64
	az, cand int
}

// chainer holds the cheapest ways around a circle that starts and ends at one
// candidate.
type chainer struct {
	cands    [][]candidate
	step     float64
	az, cand int       // the start
	ways     [][]link  // to each candidate, by azimuths from the start
	least    []float64 // cheapest way to each azimuth
	lead     []float64 // least of those up to an azimuth, each less the price of skipping as many as precede it
}

func chainFrom(cands [][]candidate, step float64, a0, c0 int) ([]int, float64) {
	n := len(cands)
	c := chainer{cands, step, a0, c0, make([][]link, n+1), make([]float64, n+1), make([]float64, n+1)}
	own := cands[a0][c0].cost
	c.ways[0], c.least[0], c.lead[0] = []link{{cost: own}}, own, own
	store := make([]link, 0, total(cands)+1)
	for k := 1; k <= n; k++ {
		c.least[k] = math.Inf(1)
		from := len(store)
		for i, cd := range c.at(k) {
			l := c.cheapest(k, i)
			if k < n { // the start has been paid for
				l.cost += cd.cost
			}
			store = append(store, l)
			c.least[k] = math.Min(c.least[k], l.cost)
		}
		c.ways[k] = store[from:]
		c.lead[k] = math.Min(c.lead[k-1], c.least[k]-skipCost*float64(k))
	}
	return walkBack(c.ways, n, a0, c0)
}

// at returns the candidates k azimuths from the start.
func (c *chainer) at(k int) []candidate {
	if k == 0 || k == len(c.cands) {
		return c.cands[c.az][c.cand : c.cand+1]
	}
	return c.cands[(c.az+k)%len(c.cands)]
}

// cheapest is the cheapest way to candidate i at k from any before it.
func (c *chainer) cheapest(k, i int) link {
	best := link{cost: math.Inf(1)}
	to := c.at(k)[i].p
	for g := 1; g <= min(int(widestGap/c.step), k); g++ {
		if c.lead[k-g]+skipCost*float64(k-1) > best.cost+leadSlack {
			break // nor is anything before cheap enough
		}
		skipped := skipCost * float64(g-1)
		if c.least[k-g]+skipped >= best.cost {
			continue
		}
		for d, from := range c.at(k - g) {
			v := c.ways[k-g][d].cost + skipped + shiftCost(from.p, to, float64(g)*c.step)
			if v < best.cost {
				best = link{v, k - g, d}
			}
		}
	}
	return best
}

// total counts the candidates.
func total(cands [][]candidate) int {
	n := 0
	for _, c := range cands {
		n += len(c)
	}
	return n
}

// walkBack reads the picks off the ways.
func walkBack(ways [][]link, n, a0, c0 int) ([]int, float64) {
	pick := make([]int, n)
	for i := range pick {
		pick[i] = -1
	}
	end := ways[n][0]
	if math.IsInf(end.cost, 1) {
		return pick, end.cost
	}
	pick[a0] = c0
	for k, c := end.az, end.cand; k > 0; {
		pick[(a0+k)%n] = c
		l := ways[k][c]
		k, c = l.az, l.cand
	}
	return pick, end.cost
}

// shiftCost prices a step from p to q over deg degrees of azimuth.
func shiftCost(p, q point, deg float64) float64 {
	d := p.dist(q)
	return math.Max(0, d-freeShift*deg)/jumpScale + evenScale*d*d/(freeShift*freeShift*deg)
}
