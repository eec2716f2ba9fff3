package finishline

import (
	"math"
	"slices"
)

// What makes a point of a profile a candidate for the finish line. Lengths
// mm, angles degrees.
const (
	leastWall   = 0.5  // wall that must lie above a finish line, descent in mm: less is no preparation
	leastTurn   = 6.0  // convex turns below this are not told from a curved root
	clearTurn   = 60.0 // turns from here on cost nothing: shoulders turn by 60 to 100
	outrun      = 65.0 // after the turn the surface must go down at least this near to the axis
	lipAllowed  = 0.15 // rise of a ledge toward its lip that is still the ledge, not the gingiva
	leastDrop   = 0.10 // descent below a finish line: a shallower step is roughness
	dropReach   = 0.6  // how far beyond the turn that descent is looked for
	peakReach   = 0.1  // candidates are the largest turn within this distance
	tangentHalf = 4    // samples to either side for the inclination of a wall
)

// Candidate is a point of a profile that may be the finish line. Cost is 0
// for a clear one and grows with what speaks against it.
type candidate struct {
	i     int
	p     point
	turn  float64
	cost  float64
	drop  float64
	climb float64
}

// walls walks down a profile and keeps what lies above each sample.
type walked struct {
	drop  []float64 // descent along steep samples so far
	climb []float64 // height above the lowest sample since the wall began
}

func (p *Profile) walk() walked {
	n := p.Len()
	w := walked{make([]float64, n), make([]float64, n)}
	drop, low := 0.0, math.Inf(1)
	for i := range n {
		if i > 0 && !p.Gap[i] {
			if l, ok := p.fit(i-tangentHalf, i+tangentHalf+1); ok && l.steeper() {
				drop += math.Max(0, p.Z[i-1]-p.Z[i])
			}
		}
		if drop > leastWall/2 {
			low = math.Min(low, p.Z[i])
			w.climb[i] = p.Z[i] - low
		}
		w.drop[i] = drop
	}
	return w
}

// candidates returns the candidates of a profile from the axis outward.
func (p *Profile) candidates(w window) []candidate {
	n := p.Len()
	walk := p.walk()
	first := 0 // below enough wall
	for first < n && walk.drop[first] < leastWall {
		first++
	}
	turns := make([]float64, n)
	for i := max(0, first-int(peakReach/Step)); i < n; i++ {
		if p.mayTurn(i, w) {
			turns[i], _, _, _ = p.turn(i, w)
		}
	}
	var out []candidate
	for i := first; i < n; i++ {
		if turns[i] < leastTurn || p.gapWithin(i, w.far) || !peak(turns, i, int(peakReach/Step)) {
			continue
		}
		_, _, after, ok := p.turn(i, w)
		if !ok || after.steep() > outrun {
			continue
		}
		c := candidate{i: i, p: point{p.R[i], p.Z[i]}, turn: turns[i], drop: p.dropAfter(i), climb: walk.climb[i]}
		c.cost = c.price(out)
		out = append(out, c)
	}
	return cheapest(out)
}

// mostCandidates is how many candidates of one profile are followed up, and
// dearest the cost from which one is not: an azimuth without a candidate
// costs less.
const (
	mostCandidates = 4
	dearest        = 1.4
)

// cheapest keeps the few cheapest candidates, in their order along the
// profile.
func cheapest(c []candidate) []candidate {
	c = slices.DeleteFunc(c, func(x candidate) bool { return x.cost > dearest })
	if len(c) <= mostCandidates {
		return c
	}
	costs := make([]float64, len(c))
	for i := range c {
		costs[i] = c[i].cost
	}
	slices.Sort(costs)
	bound := costs[mostCandidates-1]
	return slices.DeleteFunc(c, func(x candidate) bool { return x.cost > bound })
}

// gapWithin reports whether a turn at sample i would be taken over a gap: the
// rim of a hole is no finish line.
func (p *Profile) gapWithin(i, half int) bool {
	for k := max(0, i-half); k <= min(p.Len()-1, i+half); k++ {
		if p.Gap[k] {
			return true
		}
	}
	return false
}

// price says what speaks against a candidate, given those before it.
func (c *candidate) price(before []candidate) float64 {
	cost := 1 - math.Min(c.turn, clearTurn)/clearTurn
	cost += math.Max(0, c.climb-lipAllowed) / 0.3
	if c.drop < leastDrop {
		cost += 0.5
	}
	for _, b := range before {
		if b.turn > 0.6*c.turn && b.turn > 20 && b.cost < 0.7 {
			cost += 0.3
			break
		}
	}
	return cost
}

// peak reports whether v[i] is the largest within half samples; of equal ones
// the first is the peak.
func peak(v []float64, i, half int) bool {
	for k := max(0, i-half); k <= min(len(v)-1, i+half); k++ {
		if v[k] > v[i] || (v[k] == v[i] && k < i) {
			return false
		}
	}
	return true
}

// dropAfter returns how far the profile descends below sample i before it
// climbs or dropReach is walked.
func (p *Profile) dropAfter(i int) float64 {
	low := p.Z[i]
	for k := i + 1; k < min(p.Len(), i+int(dropReach/Step)); k++ {
		low = math.Min(low, p.Z[k])
		if p.Z[k] > low+0.05 {
			break
		}
	}
	return p.Z[i] - low
}
